"""From documented instruments to a reference: no files, clock or network.

The README of this room has what is done, why, and what it was measured to be worth.
"""

from quickcheck.learn.document import apply, with_room_for_measures
from quickcheck.learn.learning import Points, learn
from quickcheck.learn.points import Training
from quickcheck.learn.records import (
    ChangeOver,
    Check,
    Example,
    Learned,
    LearnedPoint,
    Method,
    Rate,
    Tell,
    within,
)
from quickcheck.learn.report import Story, check_words, kappa_words, range_words, report, told
from quickcheck.learn.table import MOST_DOUBT, Table, doubt_of, read_table

__all__ = [
    "MOST_DOUBT",
    "ChangeOver",
    "Check",
    "Example",
    "Learned",
    "LearnedPoint",
    "Method",
    "Points",
    "Rate",
    "Story",
    "Table",
    "Tell",
    "Training",
    "apply",
    "check_words",
    "doubt_of",
    "kappa_words",
    "learn",
    "range_words",
    "read_table",
    "report",
    "told",
    "with_room_for_measures",
    "within",
]
