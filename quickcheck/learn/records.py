"""What learning takes and gives, as frozen values; months are whole numbers, times are months."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from math import sqrt
from typing import Any

from quickcheck.engine import Answer

Tell = Callable[[float], None]
"""Is told how much is done, from 0 to 1."""


def silent(_: float) -> None:
    """Hear how much is done, and say nothing."""


def within(tell: Tell, start: float, end: float) -> Tell:
    """Return who is told how much is done of a part, which is so much of all: 0 to 1."""

    def told(share: float) -> None:
        tell(start + (end - start) * share)

    return told


@dataclass(frozen=True, slots=True)
class Example:
    """One documented instrument: when it was built, how sure that is, what it shows."""

    name: str
    first: int  # documented months, both inclusive
    last: int
    doubt: float  # standard deviation of the middle of these, in months
    answers: Mapping[str, Answer]

    @property
    def middle(self) -> float:
        """The middle of the documented months, on a half month."""
        return (self.first + self.last + 1) / 2


class Method(StrEnum):
    """How a point was learned."""

    SUCCESSION = "succession"  # one variant after the other: a change-over each
    OVERLAP = "overlap"  # variants side by side, or coming back: shares by month
    LINE = "line"  # a measure that drifts along a line
    SMOOTHED = "smoothed"  # a measure along its months' own means
    KEPT = "kept"  # nothing was learned: as the points file has it


@dataclass(frozen=True, slots=True)
class ChangeOver:
    """A change from one variant to the next: the posterior of its month."""

    old: str
    new: str
    low: float  # 5 %, as a month with a fraction: 5 % of the posterior lies before
    middle: float  # 50 %
    high: float  # 95 %
    lapse: float  # posterior mean of ε, the share of examples that say the opposite
    before: int  # examples with the old variant or an earlier one
    after: int


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate, and what was counted for it."""

    rate: float
    counted: int
    of: int


@dataclass(frozen=True, slots=True)
class LearnedPoint:
    """One point: what is written of it, and what the report tells.

    ``seen`` is, by variant, the keys that the file gets; where ``replaces`` these are all variants
    there are. ``table`` is U as learned, before it is put into the form of a file, (V, T).
    """

    id: str
    method: Method
    rows: int
    counts: Mapping[str, int] = field(default_factory=dict)  # variant or "other" → examples
    seen: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    replaces: bool = False
    table: tuple[tuple[float, ...], ...] = ()
    change_overs: tuple[ChangeOver, ...] = ()
    changed: Rate | None = None
    other: Rate | None = None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Check:
    """How well examples are dated by a reference that was learned without them."""

    dated: int  # examples
    alone: bool  # each was left out by itself; otherwise in parts
    parts: int
    coverage: Mapping[int, float]  # nominal per cent → share of documented months held
    mean_error: float  # months, of the posterior's median
    log_score: float  # mean ln of the posterior at the documented month
    width: float  # median months between 5 and 95 %

    @property
    def is_bad(self) -> bool:
        """Whether the 90 % intervals hold far fewer than they say: two standard errors and more."""
        error = sqrt(0.9 * 0.1 / max(1, self.dated))
        return self.coverage[90] < 0.9 - max(0.04, 2 * error)


@dataclass(frozen=True, slots=True)
class Learned:
    """All that was learned."""

    points: tuple[LearnedPoint, ...]
    sets: Mapping[str, Rate]
    rows: int
    kappa: float | None  # by leaving out; None: too few rows, the engine's own stands
    check: Check | None
