"""The use cases: gather references, open an inspection, answer, undo, judge, make and read a card.

Every function takes what it works on (store, shelf, keys, time) as an argument; the shells only read
their input, call one of these and show what comes back.
"""

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
from quickcheck.desk.shelf import Shelf, gather, reference_paths
from quickcheck.desk.showing import CardOfInspection, ShownCard, cards_of, read_card, signed_recalls
from quickcheck.desk.versions import Version, bring_back, versions

__all__ = [
    "CardOfInspection",
    "Document",
    "Judged",
    "Lesson",
    "PointsFile",
    "Receipt",
    "Shelf",
    "ShownCard",
    "Version",
    "amend_claim",
    "bring_back",
    "cards_of",
    "correct_card",
    "example_of",
    "gather",
    "issue_card",
    "issuer_here",
    "judge_saved",
    "judge_sheet",
    "keep_photo",
    "learn_from",
    "make_card",
    "open_inspection",
    "read_card",
    "read_examples",
    "read_points",
    "receive",
    "record",
    "reference_paths",
    "seal_again",
    "seed_book",
    "signed_recalls",
    "signer_here",
    "signer_needed",
    "undo",
    "versions",
    "withdraw_card",
    "write_lesson",
]
