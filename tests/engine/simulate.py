"""Instruments drawn by chance, to see how often a verdict is right.

A `Maker` says how they come about: as the engine assumes, or in a way that breaks what it assumes.
The truth (month of building, parts changed) is kept beside the answers, and nothing but the answers
reaches the engine.
"""

import functools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from quickcheck.engine import Model, Sheet, compile_model, judge, read_sheet
from quickcheck.engine.constants import LAGS, RULES
from quickcheck.readings import SerialPattern
from quickcheck.reference import Reference
from quickcheck.reference.records import Assembly, Kind, Point, Variant

Run = tuple[int, int]
Answer = dict[str, object]

PER_ERA_DRAW = 20
"""Instruments drawn from one set of shifted change-overs: many sets, so that none decides."""

NECK_SET = "neck"
"""The set that stands for a whole neck from another instrument."""

_EARLIEST_CODE = 12 * 1930  # a lag that leads further back is drawn again (chance below 1e-2)
_OFF = 24  # months: "two years off"


@dataclass(frozen=True)
class Maker:
    """How instruments come about; by default as the engine assumes."""

    name: str
    answers: int = 14  # how many points are answered, drawn at random from all witnesses
    unsure: float = 0.15  # share of answers said to be unsure, and as often wrong as that means
    married: float | None = 0.03  # share whose whole neck is another instrument's; None: as the
    # reference's own set of neck parts says, each part by itself
    shift: float = 0.0  # months, one sd: all change-overs of an era are off by the same amount
    era: int = 36  # months
    rates: float = 1.0  # factor on every change rate
    gives: float = 1.0  # factor on every half-width

    def describe(self) -> str:
        """Return what sets it apart, in words."""
        necks = "as the neck set says" if self.married is None else f"{self.married:.0%} swapped"
        return (
            f"change-overs of {self.era} months off together by {self.shift:g} months (one sd), "
            f"change rates × {self.rates:g}, gives × {self.gives:g}, necks {necks}"
        )


AS_ASSUMED = Maker("as the engine assumes", married=None)
MARRIED = Maker("as assumed, necks swapped whole")
BROKEN = Maker("assumptions broken", shift=4.0, rates=2.0, gives=0.5)


@dataclass(frozen=True)
class Instrument:
    """What is true of one instrument, and what was seen on it."""

    month: int
    answers: Mapping[str, Answer]
    changed: frozenset[str]  # of the points answered
    misread: frozenset[str]
    married: bool  # has another instrument's neck


@dataclass(frozen=True)
class Finding:
    """What the engine said of one claim."""

    verdict: str
    because: tuple[str, ...]


@dataclass(frozen=True)
class Outcome:
    """One instrument judged: with true claims of 6 and 12 months, and with claims far off."""

    genuine: Finding
    wide: Finding
    off: tuple[Finding, ...]  # two years too early, two years too late; where covered
    married: bool
    changed: frozenset[str]
    gone: frozenset[str]  # changed into what was hardly ever fitted in the true month
    misread: frozenset[str]
    flagged: frozenset[str]
    said: float  # sum over the flagged of how likely a change is said to be
    found: int
    usual: float
    tail: float
    covered: bool  # the true month is in reads_as
    width: int  # months in reads_as


def outcomes(
    reference: Reference, maker: Maker, *, count: int, seed: int | tuple[int, ...]
) -> list[Outcome]:
    """Draw instruments and judge them; the same seed gives the same ones."""
    rng = np.random.default_rng(seed)
    judged: list[Outcome] = []
    while len(judged) < count:
        drawer = Drawer(reference, maker, rng)
        several = min(PER_ERA_DRAW, count - len(judged))
        judged += [_judged(reference, drawer.draw(), rng) for _ in range(several)]
    return judged


# Drawing


class Drawer:
    """Draws instruments of one maker, with one set of true change-overs."""

    def __init__(self, reference: Reference, maker: Maker, rng: np.random.Generator) -> None:
        self._maker, self._rng = maker, rng
        self._first = reference.covers[0]
        told = compile_model(reference)
        self._weights = told.weights / told.weights.sum()
        self._true = told if _is_told(maker) else _shifted(reference, maker, rng)
        self._names = [s.point.id for s in told.standing.values()]

    def draw(self) -> Instrument:
        """Draw one instrument and what is seen on it."""
        rng, maker = self._rng, self._maker
        month = self._month()
        married = maker.married is not None and rng.random() < maker.married
        neck_month = self._month() if married else month
        swapped = self._sets_changed()
        other_neck = married or NECK_SET in swapped
        lag = float(rng.choice(LAGS))  # how long parts lay in stock, one for the instrument
        asked = rng.choice(self._names, size=min(maker.answers, len(self._names)), replace=False)
        answers: dict[str, Answer] = {}
        changed, misread = set(), set()
        for name in sorted(asked.tolist()):
            point = self._true.standing[name].point
            of_neck = married and point.assembly is Assembly.NECK
            later = self._true.standing[name].group in swapped or self._happens(point.changed)
            sure = rng.random() >= maker.unsure
            wrong = rng.random() < (RULES.misread_sure if sure else RULES.misread_unsure)
            look = _Look(neck_month if of_neck else month, later, wrong, lag)
            answers[name] = self._answer(point, look) | ({} if sure else {"sure": False})
            if later or of_neck:
                changed.add(name)
            if wrong:
                misread.add(name)
        return Instrument(
            month + self._first, answers, frozenset(changed), frozenset(misread), other_neck
        )

    def _month(self) -> int:
        return int(self._rng.choice(len(self._weights), p=self._weights))

    def _happens(self, rate: float) -> bool:
        return bool(self._rng.random() < min(0.95, rate * self._maker.rates))

    def _sets_changed(self) -> frozenset[str]:
        """Draw the sets changed in one go; a neck swapped whole stands in place of its set."""
        sets = self._true.reference.sets.values()
        drawn = {s.id for s in sets if self._happens(s.changed)}
        return frozenset(drawn if self._maker.married is None else drawn - {NECK_SET})

    def _answer(self, point: Point, look: "_Look") -> Answer:
        if point.kind is Kind.DATECODE:
            return {"read": self._stamp(look)}
        if point.kind is Kind.MEASURE:
            return {"value": self._value(point, look), "unit": point.unit}
        row = self._row(point, look)
        if point.kind is Kind.SERIAL:
            return {"read": self._serial(point, row)}
        return {"seen": point.seen[row].id if row < len(point.seen) else "other"}

    def _row(self, point: Point, look: "_Look") -> int:
        """Draw which variant is seen; the last is "other"."""
        rows = self._true.rows[point.id]
        if look.wrong:
            return int(self._rng.integers(rows.count))
        table = self._true.changed if look.later else self._true.made
        chances = table[rows.start : rows.stop, look.month]
        return int(self._rng.choice(rows.count, p=chances / chances.sum()))

    def _value(self, point: Point, look: "_Look") -> float:
        low, high = point.span or (0.0, 1.0)
        if not (look.wrong or look.later):
            row = self._row(point, look)
            if row < len(point.seen):
                return self._near(point, point.seen[row])
        return float(self._rng.uniform(low, high))

    def _near(self, point: Point, variant: Variant) -> float:
        low, high = point.span or (0.0, 1.0)
        deviation = math.hypot(variant.spread or 0.0, point.tolerance)
        while True:
            value = float(self._rng.normal(variant.mean, deviation))
            if low <= value <= high:
                return value

    def _serial(self, point: Point, row: int) -> str:
        numbers = _outside(point) if row == len(point.seen) else point.seen[row].block
        assert numbers is not None
        return str(self._rng.integers(numbers[0], numbers[1] + 1))

    def _stamp(self, look: "_Look") -> str:
        """Draw a stamp, year and week, with a lag before the instrument was built."""
        if look.later or look.wrong:
            month = int(self._rng.integers(-RULES.code_lead, len(self._weights))) + self._first
        else:
            month = 0
            while month < _EARLIEST_CODE:
                lag = math.floor(self._rng.exponential(look.lag))
                month = self._first + look.month - lag
        year, of_year = divmod(month, 12)
        week = 1 + (30 * of_year + int(self._rng.integers(3, 27))) // 7
        return f"{year % 100:02d}-{week:02d}"


@dataclass(frozen=True)
class _Look:
    """One part and one look at it."""

    month: int  # index; the month its instrument was built in
    later: bool  # put on later
    wrong: bool  # looked at wrongly
    lag: float  # months that parts lay in stock, on average


@functools.cache
def _outside_of(pattern: str, blocks: tuple[Run, ...]) -> Run:
    allowed = SerialPattern.compile(pattern)
    beyond = max(last for _, last in blocks) + 1
    last = beyond
    while allowed.matches(str(last + 1)):
        last += 1
    assert allowed.matches(str(beyond)), "no number lies beyond the last block"
    return beyond, last


def _outside(point: Point) -> Run:
    """Return numbers that no block holds."""
    return _outside_of(str(point.pattern), tuple(v.block for v in point.seen if v.block))


def _is_told(maker: Maker) -> bool:
    """Return whether parts were fitted when the reference says."""
    return maker.shift == 0 and maker.gives == 1


def _shifted(reference: Reference, maker: Maker, rng: np.random.Generator) -> Model:
    """Return what was truly fitted when: every era's change-overs earlier or later together."""
    first, last = reference.covers
    eras = (last + 1 - first) // maker.era + 1
    shifts = rng.normal(0.0, maker.shift, size=eras).round().astype(int).tolist()

    def moved(variant: Variant) -> Variant:
        at, to = variant.first, variant.last
        return replace(
            variant,
            give=variant.give * maker.gives,
            first=None if at is None else at + shifts[(at - first) // maker.era],
            last=None if to is None else to + shifts[(to + 1 - first) // maker.era],
        )

    points = tuple(replace(p, seen=tuple(map(moved, p.seen))) for p in reference.points)
    name = f"{reference.hash} {maker.gives} {shifts}"
    return compile_model(replace(reference, points=points, hash=name))


# Judging


def window_around(
    reference: Reference, month: int, length: int, *, rng: np.random.Generator
) -> Run:
    """Draw a window of a length that holds a month and lies inside what is covered."""
    low = max(reference.covers[0], month - length + 1)
    high = min(reference.covers[1] - length + 1, month)
    first = int(rng.integers(low, high + 1))
    return first, first + length - 1


def _off_windows(reference: Reference, window: Run) -> Iterator[Run]:
    for months in (-_OFF, _OFF):
        first, last = window[0] + months, window[1] + months
        if reference.covers[0] <= first and last <= reference.covers[1]:
            yield first, last


def _claim(sheet: Sheet, window: Run) -> Sheet:
    return replace(sheet, claimed=window, window=window)


def _judged(reference: Reference, drawn: Instrument, rng: np.random.Generator) -> Outcome:
    model = compile_model(reference)
    window = window_around(reference, drawn.month, 6, rng=rng)
    document: dict[str, Any] = {"reference": reference.id, "answers": drawn.answers}
    sheet = read_sheet(reference, document, window=window)
    verdict = judge(model, sheet)
    wide = judge(model, _claim(sheet, window_around(reference, drawn.month, 12, rng=rng)))
    off = [judge(model, _claim(sheet, other)) for other in _off_windows(reference, window)]
    return Outcome(
        genuine=Finding(verdict.verdict, verdict.because),
        wide=Finding(wide.verdict, wide.because),
        off=tuple(Finding(v.verdict, v.because) for v in off),
        married=drawn.married,
        changed=drawn.changed,
        gone=frozenset(name for name in drawn.changed if _is_gone(model, drawn, name)),
        misread=drawn.misread,
        flagged=frozenset(verdict.flagged),
        said=sum(verdict.points[name].changed for name in verdict.flagged),
        found=len(verdict.found),
        usual=verdict.changed_count.usual,
        tail=verdict.changed_count.tail,
        covered=any(first <= drawn.month <= last for first, last in verdict.reads_as),
        width=sum(last - first + 1 for first, last in verdict.reads_as),
    )


def _is_gone(model: Model, drawn: Instrument, name: str) -> bool:
    """Return whether a changed part shows: picked as what was hardly fitted in the true month."""
    seen = drawn.answers[name].get("seen")
    if seen is None:
        return False
    row = model.rows[name].index[str(seen)]
    return float(model.made[row, model.index(drawn.month)]) < 0.05
