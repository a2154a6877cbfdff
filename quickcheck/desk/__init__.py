"""The use cases: gather references, open an inspection, answer, undo, judge, make and read a card.

Every function takes what it works on (store, shelf, keys, time) as an argument; the shells only read
their input, call one of these and show what comes back.
"""

from quickcheck.desk.codes import Pixels, card_in, card_in_photo, grey, reads_pictures
from quickcheck.desk.doors import (
    LOCAL_PORT,
    LOOPBACK,
    Doors,
    Lan,
    Proxy,
    Tls,
    checked_base_url,
    is_private,
    words_on_base_url,
)
from quickcheck.desk.expecting import Expected, ExpectedPoint, expected, parse_window
from quickcheck.desk.inspecting import (
    amend_claim,
    keep_photo,
    open_inspection,
    record,
    seed_book,
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
    "LOCAL_PORT",
    "LOOPBACK",
    "Affected",
    "CardOfInspection",
    "Document",
    "Doors",
    "Expected",
    "ExpectedPoint",
    "Folders",
    "Judged",
    "Lan",
    "Lesson",
    "Pixels",
    "PointsFile",
    "Proxy",
    "Receipt",
    "Shelf",
    "ShownCard",
    "Tls",
    "Version",
    "affected",
    "amend_claim",
    "bring_back",
    "card_in",
    "card_in_photo",
    "cards_of",
    "checked_base_url",
    "correct_card",
    "example_of",
    "expected",
    "gather",
    "grey",
    "is_private",
    "issue_card",
    "issuer_here",
    "judge_saved",
    "judge_sheet",
    "keep_photo",
    "keep_text",
    "learn_from",
    "make_card",
    "open_inspection",
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
    "text_of",
    "undo",
    "versions",
    "withdraw_card",
    "words_on_base_url",
    "write_lesson",
]
