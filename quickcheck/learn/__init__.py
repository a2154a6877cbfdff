"""From documented instruments to a reference: no files, clock or network.

The README of this room has what is done, why, and what it was measured to be worth.
"""

from quickcheck.learn.document import apply, with_room_for_measures
from quickcheck.learn.learning import Points, learn
from quickcheck.learn.points import Tell, Training
from quickcheck.learn.records import ChangeOver, Check, Example, Learned, LearnedPoint, Method, Rate
from quickcheck.learn.report import Story, check_words, kappa_words, range_words, report
from quickcheck.learn.table import Table, read_table

__all__ = [
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
    "kappa_words",
    "learn",
    "range_words",
    "read_table",
    "report",
    "with_room_for_measures",
]
