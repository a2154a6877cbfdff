"""From answers to chances: what each witness says of every month.

For a witness and month t: ``O`` is the chance of the answer if the part is the first one and the
instrument was built in t; ``B`` the chance if it was changed; ``G`` the part of O in which it was
read right and is a listed variant. They are kept scaled by what is known about change:

    first = (1−ρ)·o·O      later = ρ·r·B      swapped = r·B      listed = (1−ρ)·o·G

Date codes share one unknown, how long parts lay in stock; they carry an axis for it in a block of
their own. All other witnesses stand sorted by group, so that a group is one stretch of rows.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np

from quickcheck.engine.answers import Answer, measure_step, measure_value
from quickcheck.engine.constants import LAG_TABLE, LAGS, RULES, STATES
from quickcheck.engine.model import CODES, Floats, Model, Rows, Standing, densities, width
from quickcheck.engine.sheet import Sheet
from quickcheck.reference.disclosures import DISCLOSURES
from quickcheck.reference.records import Kind, Point, Variant

_CHANGED: Final = "changed"
_KEPT: Final = 1024
"""Answers kept: some thirty inspections' worth, under 10 MB."""


class Witness(NamedTuple):
    """A point whose answer may speak, with what is known about change of the part."""

    point: Point
    standing: Standing
    answer: Answer
    state: str
    odds: float  # of the signs that bear on it
    place: int  # in the reference's order

    @property
    def declared(self) -> bool:
        """Whether it is certain, or the owner says, that the part was changed."""
        return self.state == _CHANGED


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Witnesses as arrays: months on the last axis, witnesses on the one before."""

    first: Floats
    later: Floats
    swapped: Floats
    listed: Floats
    alone: Floats  # M, the chance of each answer by itself: first + later
    sizes: tuple[int, ...]  # witnesses in each group
    together: tuple[float, ...]  # γ of each group


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """Everything that speaks; `witnesses` are those of `plain` and then those of `codes`."""

    witnesses: tuple[Witness, ...]
    plain: Block
    codes: Block  # with an axis of lags in front


def slip_of(answer: Answer) -> float:
    """Return ε: how often such a look is wrong."""
    return RULES.misread_sure if answer.sure else RULES.misread_unsure


# Which points speak


def known_changes(model: Model, sheet: Sheet) -> tuple[frozenset[str], frozenset[str]]:
    """Return the points that disclosures declare changed, and those that say nothing any more."""
    own: set[str] = set()
    silent: set[str] = set()
    for name in sheet.disclosures:
        changed, mute = DISCLOSURES[name].effects(model.reference)
        own |= changed
        silent |= mute
    for sign, variant in _signs(model, sheet):
        if variant.silent:
            silent |= model.bears_on[sign]
    return frozenset(own), frozenset(silent)


def find_witnesses(model: Model, sheet: Sheet) -> tuple[Witness, ...]:
    """Return the witnesses of a sheet, in the reference's order."""
    own, silent = known_changes(model, sheet)
    odds = _odds(model, sheet)
    nothing = Answer()
    found = []
    for place, (name, standing) in enumerate(model.standing.items()):
        if name in silent:
            continue
        answer = sheet.answers.get(name, nothing)
        state = _CHANGED if name in own else answer.state or ""
        if state or answer.has_reading:
            found.append(
                Witness(standing.point, standing, answer, state, odds.get(name, 1.0), place)
            )
    return tuple(found)


def _signs(model: Model, sheet: Sheet) -> Iterator[tuple[str, Variant]]:
    """Yield each sign ticked, with the variant that was."""
    for sign in model.bears_on.keys() & sheet.answers.keys():
        for variant in model.reference.by_id[sign].seen:
            if variant.id in sheet.answers[sign].seen:
                yield sign, variant


def _odds(model: Model, sheet: Sheet) -> Mapping[str, float]:
    """Return the factor that signs put on "changed", by point."""
    odds: dict[str, float] = {}
    for sign, variant in sorted(_signs(model, sheet), key=lambda pair: (pair[0], pair[1].id)):
        for point_id in model.bears_on[sign]:
            odds[point_id] = odds.get(point_id, 1.0) * (variant.odds or 1.0)
    return odds


# What an answer says


@lru_cache(maxsize=_KEPT)
def _chances(model: Model, point_id: str, answer: Answer, *, state: str, odds: float) -> Floats:
    """Return first, later, swapped, listed and alone of one answer, (5, [lags,] T).

    Kept, as each tap at an instrument changes one answer and all are judged again.
    """
    point = model.reference.by_id[point_id]
    made, changed, listed = _read(model, point, answer)
    keeps, factor = STATES[state]
    first = (1 - point.changed) * keeps
    swapped = factor * odds * changed
    later = point.changed * swapped
    own = first * made
    chances: Floats = np.stack(
        np.broadcast_arrays(own, later, swapped, first * listed, own + later)
    )
    chances.setflags(write=False)
    return chances


def _read(model: Model, point: Point, answer: Answer) -> tuple[Floats, Floats, Floats]:
    """Return O, B and G of one answer."""
    if not answer.has_reading:  # nothing but a change is known: it speaks for no month
        return np.ones(model.months), np.ones(model.months), np.zeros(model.months)
    return _READ[point.kind](model, point, answer)


def _picked(model: Model, point: Point, answer: Answer) -> tuple[Floats, Floats, Floats]:
    rows = model.rows[point.id]
    return _held(model, rows, [rows.index[answer.seen[0]]], slip_of(answer))


def _numbered(model: Model, point: Point, answer: Answer) -> tuple[Floats, Floats, Floats]:
    """Return O, B and G of a serial: the chances of all blocks that hold it, else of "other"."""
    rows = model.rows[point.id]
    number = -1 if answer.number is None else answer.number
    held = [
        rows.start + i
        for i, variant in enumerate(point.seen)
        if variant.block and variant.block[0] <= number <= variant.block[1]
    ]
    return _held(model, rows, held or [rows.other], slip_of(answer))


def _held(  # noqa: PLR0917  # one sum, and what it is over
    model: Model, rows: Rows, held: Sequence[int], slip: float
) -> tuple[Floats, Floats, Floats]:
    made, changed = ((1 - slip) * table[held].sum(axis=0) for table in (model.made, model.changed))
    misread = len(held) * slip / rows.count
    listed = made if rows.other not in held else np.zeros(model.months)
    return made + misread, changed + misread, listed


def _measured(model: Model, point: Point, answer: Answer) -> tuple[Floats, Floats, Floats]:
    """Return O, B and G of a measured value; a changed part may have any value of the span."""
    rows = model.rows[point.id]
    table = model.made[rows.start : rows.stop]
    slip, flat = slip_of(answer), 1 / width(point)
    heights = densities(rows, measure_value(point, measure_step(point, answer.value or 0.0)))
    listed: Floats = ((1 - slip) * np.array(heights)) @ table[:-1]
    made = listed + (1 - slip) * flat * table[-1] + slip * flat
    return made, np.full(model.months, flat), listed


def _dated(model: Model, _: Point, answer: Answer) -> tuple[Floats, Floats, Floats]:
    """Return O, B and G of a date code, by lag: (lags, T)."""
    first, last = model.reference.covers
    months = np.array(answer.months)
    ages = np.arange(first, last + 1) - months[:, None]
    ages[(ages < 0) | (ages >= LAG_TABLE.shape[1])] = -1  # the table's last column is 0
    slip = slip_of(answer)
    listed = (1 - slip) * LAG_TABLE[:, ages].sum(axis=1)
    near = int(((months >= first - RULES.code_lead) & (months <= last)).sum())
    by_chance = max(1, near) / (model.months + RULES.code_lead)
    return listed + slip * by_chance, np.full(model.months, by_chance), listed


_READ: Final[Mapping[Kind, Callable[[Model, Point, Answer], tuple[Floats, Floats, Floats]]]] = {
    Kind.PICK: _picked,
    Kind.SERIAL: _numbered,
    Kind.MEASURE: _measured,
    Kind.DATECODE: _dated,
}


# All answers together


def gather(model: Model, witnesses: tuple[Witness, ...]) -> Evidence:
    """Return what the witnesses say, as arrays."""
    plain = [w for w in witnesses if w.standing.group != CODES]
    plain.sort(key=lambda w: w.standing.group)  # stable: the reference's order within a group
    codes = [w for w in witnesses if w.standing.group == CODES]
    return Evidence(tuple(plain + codes), _plain_block(model, plain), _codes_block(model, codes))


def _plain_block(model: Model, witnesses: Sequence[Witness]) -> Block:
    empty = np.zeros((5, 0, model.months))
    rows = [_said(model, w) for w in witnesses]
    return _block(np.stack(rows, axis=1) if rows else empty, witnesses)


def _codes_block(model: Model, witnesses: Sequence[Witness]) -> Block:
    """Return date codes, and what shares their set, with lags before witnesses."""
    shape = (5, len(LAGS), model.months)
    rows = [np.broadcast_to(_by_lag(_said(model, w)), shape) for w in witnesses]
    return _block(np.stack(rows, axis=2) if rows else np.zeros((5, len(LAGS), 0, 0)), witnesses)


def _said(model: Model, witness: Witness) -> Floats:
    return _chances(model, witness.point.id, witness.answer, state=witness.state, odds=witness.odds)


def _by_lag(chances: Floats) -> Floats:
    """Return what says the same at every lag with an axis for it."""
    return chances if chances.ndim > 2 else chances[:, None]


def _block(arrays: Floats, witnesses: Sequence[Witness]) -> Block:
    together = {w.standing.group: w.standing.together for w in witnesses}
    sizes = Counter(w.standing.group for w in witnesses)
    first, later, swapped, listed, alone = arrays
    return Block(
        first=first,
        later=later,
        swapped=swapped,
        listed=listed,
        alone=alone,
        sizes=tuple(sizes.values()),
        together=tuple(together.values()),
    )
