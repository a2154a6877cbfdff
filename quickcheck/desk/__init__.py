"""The use cases: gather references, open an inspection, answer, undo, judge, make and read a card.

Every function takes what it works on (store, shelf, keys, time) as an argument; the shells only read
their input, call one of these and show what comes back.
"""

from quickcheck.desk.codes import Pixels, card_in, card_in_photo, grey, reads_pictures
from quickcheck.desk.expecting import Expected, ExpectedPoint, expected, parse_window
from quickcheck.desk.inspecting import (
    DISCARDED,
    amend_claim,
    discard,
    keep_photo,
    open_inspection,
    record,
    seed_book,
    takes_photos,
    undo,
)
from quickcheck.desk.issuing import (
    correct_card,
    issue_card,
    issuer_here,
    make_card,
    seal_again,
    signer_here,
    signer_needed,
    withdraw_card,
)
from quickcheck.desk.judging import Document, Judged, judge_saved, judge_sheet
from quickcheck.desk.learning import (
    Lesson,
    PointsFile,
    example_of,
    learn_from,
    read_examples,
    read_points,
    write_lesson,
)
from quickcheck.desk.pairing import code_words, pair_address
from quickcheck.desk.receiving import Receipt, receive
from quickcheck.desk.shelf import Folders, Shelf, gather, reference_paths, shelf_from
from quickcheck.desk.showing import CardOfInspection, ShownCard, cards_of, read_card, signed_recalls
from quickcheck.desk.versions import Version, bring_back, versions
from quickcheck.desk.writing import (
    Affected,
    affected,
    keep_text,
    read_text,
    rows_of_table,
    text_of,
)

__all__ = [
    "DISCARDED",
    "Affected",
    "CardOfInspection",
    "Document",
    "Expected",
    "ExpectedPoint",
    "Folders",
    "Judged",
    "Lesson",
    "Pixels",
    "PointsFile",
    "Receipt",
    "Shelf",
    "ShownCard",
    "Version",
    "affected",
    "amend_claim",
    "bring_back",
    "card_in",
    "card_in_photo",
    "cards_of",
    "code_words",
    "correct_card",
    "discard",
    "example_of",
    "expected",
    "gather",
    "grey",
    "issue_card",
    "issuer_here",
    "judge_saved",
    "judge_sheet",
    "keep_photo",
    "keep_text",
    "learn_from",
    "make_card",
    "open_inspection",
    "pair_address",
    "parse_window",
    "read_card",
    "read_examples",
    "read_points",
    "read_text",
    "reads_pictures",
    "receive",
    "record",
    "reference_paths",
    "rows_of_table",
    "seal_again",
    "seed_book",
    "shelf_from",
    "signed_recalls",
    "signer_here",
    "signer_needed",
    "takes_photos",
    "text_of",
    "undo",
    "versions",
    "withdraw_card",
    "write_lesson",
]
