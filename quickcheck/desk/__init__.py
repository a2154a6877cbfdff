"""The use cases: gather references, open an inspection, answer, undo, judge, make and read a card.

Every function takes what it works on (store, shelf, keys, time) as an argument; the shells only read
their input, call one of these and show what comes back.
"""

from quickcheck.desk.codes import Pixels, card_in, card_in_photo, grey, reads_pictures
from quickcheck.desk.day import DaySheet, day_sheet, finish_day
from quickcheck.desk.expecting import Expected, ExpectedPoint, expected, parse_window
from quickcheck.desk.exporting import Exported, check_export, export_book
from quickcheck.desk.health import report_health
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
    examples_in,
    learn_from,
    points_in,
    read_examples,
    read_points,
    sent_points,
    write_lesson,
)
from quickcheck.desk.packages import unpacked
from quickcheck.desk.pairing import code_words, pair_address
from quickcheck.desk.papers import (
    documented_counts,
    example_of,
    examples_of_book,
    papers_of,
    say_papers,
    together,
)
from quickcheck.desk.pictures import add_picture, held, held_picture, hold
from quickcheck.desk.receiving import Receipt, receive
from quickcheck.desk.shelf import Folders, Shelf, gather, reference_paths, shelf_from
from quickcheck.desk.showing import CardOfInspection, ShownCard, cards_of, read_card, signed_recalls
from quickcheck.desk.versions import Version, bring_back, versions
from quickcheck.desk.workshop import Learning, Stage, Workshop, result_of
from quickcheck.desk.writing import (
    Affected,
    affected,
    keep_text,
    pictures_beside,
    read_text,
    rows_of_table,
    text_of,
    with_edition,
)

__all__ = [
    "Affected",
    "CardOfInspection",
    "DaySheet",
    "Document",
    "Expected",
    "ExpectedPoint",
    "Exported",
    "Folders",
    "Judged",
    "Learning",
    "Lesson",
    "Pixels",
    "PointsFile",
    "Receipt",
    "Shelf",
    "ShownCard",
    "Stage",
    "Version",
    "Workshop",
    "add_picture",
    "affected",
    "amend_claim",
    "bring_back",
    "card_in",
    "card_in_photo",
    "cards_of",
    "check_export",
    "code_words",
    "correct_card",
    "day_sheet",
    "documented_counts",
    "example_of",
    "examples_in",
    "examples_of_book",
    "expected",
    "export_book",
    "finish_day",
    "gather",
    "grey",
    "held",
    "held_picture",
    "hold",
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
    "papers_of",
    "parse_window",
    "pictures_beside",
    "points_in",
    "read_card",
    "read_examples",
    "read_points",
    "read_text",
    "reads_pictures",
    "receive",
    "record",
    "reference_paths",
    "report_health",
    "result_of",
    "rows_of_table",
    "say_papers",
    "seal_again",
    "seed_book",
    "sent_points",
    "shelf_from",
    "signed_recalls",
    "signer_here",
    "signer_needed",
    "text_of",
    "together",
    "undo",
    "unpacked",
    "versions",
    "with_edition",
    "withdraw_card",
    "write_lesson",
]
