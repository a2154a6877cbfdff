"""From answers to chances: what each witness says of every month.

For a witness and month t: ``O`` is the chance of the answer if the part is the first one and the
instrument was built in t; ``B`` the chance if it was changed; ``G`` the part of O in which it was
read right and is a listed variant. They are kept scaled by what is known about change:

    first = (1−ρ)·o·O      later = ρ·r·B      swapped = r·B      listed = (1−ρ)·o·G

Date codes share one unknown, how long parts lay in stock; they carry an axis for it in a block of
their own. All other witnesses stand sorted by group, so that a group is one stretch of rows.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from quickcheck.engine.answers import Answer, measure_step, measure_value
from quickcheck.engine.constants import LAG_TABLE, LAGS, RULES, STATES
from quickcheck.engine.model import CODES, Floats, Model, Standing, densities, width
from quickcheck.engine.sheet import Sheet
from quickcheck.reference.disclosures import DISCLOSURES
from quickcheck.reference.records import Kind, Point, Variant

_CHANGED: Final = "changed"


@dataclass(frozen=True, slots=True)
class Witness:
    """A point whose answer may speak, with what is known about change of the part."""

    standing: Standing
    answer: Answer
    state: str
    odds: float  # of the signs that bear on it
    place: int  # in the reference's order

    @property
    def point(self) -> Point:
        """The point that was answered."""
        return self.standing.point

    @property
    def declared(self) -> bool:
        """Whether it is certain, or the owner says, that the part was changed."""
        return self.state == _CHANGED

    @property
    def slip(self) -> float:
        """ε: how often such a look is wrong."""
        return RULES.misread_sure if self.answer.sure else RULES.misread_unsure


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Witnesses as arrays: months on the last axis, witnesses on the one before."""

    first: Floats
    later: Floats
    swapped: Floats
    listed: Floats
    sizes: tuple[int, ...]  # witnesses in each group
    together: tuple[float, ...]  # γ of each group

    @property
    def alone(self) -> Floats:
        """M: the chance of each answer by itself."""
        return self.first + self.later


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """Everything that speaks; `witnesses` are those of `plain` and then those of `codes`."""

    witnesses: tuple[Witness, ...]
    plain: Block
    codes: Block  # with an axis of lags in front


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
            found.append(Witness(standing, answer, state, odds.get(name, 1.0), place))
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


def _sums(model: Model, witnesses: Sequence[Witness]) -> tuple[Floats, Floats, Floats]:
    """Return O, B and G of each answer, (witnesses, T).

    Most answers are one row of the model's tables: these are taken in one go. The others are
    mixtures of rows and follow one by one, as a product of whole matrices would wake more threads
    than so little work is worth.
    """
    read = model.read
    rows, mixed = [], []
    for i, witness in enumerate(witnesses):
        held = _rows(model, witness)
        rows.append(held[0] + (0 if witness.answer.sure else read.unsure))
        if len(held) > 1:
            mixed.append((i, held))
    made, changed, listed = read.made[rows], read.changed[rows], read.listed[rows]
    for i, held in mixed:
        mixture = _measured if witnesses[i].point.kind is Kind.MEASURE else _numbered
        made[i], changed[i], listed[i] = mixture(model, witnesses[i], held)
    return made, changed, listed


def _rows(model: Model, witness: Witness) -> Sequence[int]:
    """Return the rows that an answer is a mixture of; row 0 says nothing of the date."""
    point, answer = witness.point, witness.answer
    if point.kind is Kind.DATECODE or not answer.has_reading:
        return (0,)  # what a code says is no sum of rows: `_read_code`
    rows = model.rows[point.id]
    if point.kind is Kind.PICK:
        return (rows.index[answer.seen[0]],)
    if point.kind is Kind.MEASURE:
        return range(rows.start, rows.stop)
    number = -1 if answer.number is None else answer.number
    held = [
        rows.start + i
        for i, variant in enumerate(point.seen)
        if variant.block and variant.block[0] <= number <= variant.block[1]
    ]
    return held or (rows.other,)


def _numbered(model: Model, witness: Witness, held: Sequence[int]) -> tuple[Floats, Floats, Floats]:
    """Return O, B and G of a serial that several blocks hold: their chances add up."""
    right = 1 - witness.slip
    misread = len(held) * witness.slip / model.rows[witness.point.id].count
    made, changed = (right * table[held].sum(axis=0) for table in (model.made, model.changed))
    return made + misread, changed + misread, made


def _measured(model: Model, witness: Witness, held: Sequence[int]) -> tuple[Floats, float, Floats]:
    """Return O, B and G of a measured value; a changed part may have any value of the span."""
    point, value = witness.point, witness.answer.value or 0.0
    table = model.made[held[0] : held[-1] + 1]
    right = 1 - witness.slip
    flat = 1 / width(point)
    heights = densities(model.rows[point.id], measure_value(point, measure_step(point, value)))
    listed = (right * np.array(heights)) @ table[:-1]
    return listed + right * flat * table[-1] + witness.slip * flat, flat, listed


def _read_code(witness: Witness, model: Model) -> tuple[Floats, float]:
    """Return G of a date code, (lags, T), and how likely its months are by chance."""
    first, last = model.reference.covers
    months = np.array(witness.answer.months)
    ages = np.arange(first, last + 1) - months[:, None]
    ages[(ages < 0) | (ages >= LAG_TABLE.shape[1])] = -1  # the table's last column is 0
    right = (1 - witness.slip) * LAG_TABLE[:, ages].sum(axis=1)
    near = int(((months >= first - RULES.code_lead) & (months <= last)).sum())
    return right, max(1, near) / (model.months + RULES.code_lead)


# All answers together


def gather(model: Model, witnesses: tuple[Witness, ...]) -> Evidence:
    """Return what the witnesses say, as arrays."""
    plain = [w for w in witnesses if w.standing.group != CODES]
    plain.sort(key=lambda w: w.standing.group)  # stable: the reference's order within a group
    codes = [w for w in witnesses if w.standing.group == CODES]
    return Evidence(
        tuple(plain + codes),
        _block(plain, _sums(model, plain)),
        _block(codes, _codes(model, codes)),
    )


def _codes(model: Model, witnesses: Sequence[Witness]) -> tuple[Floats, Floats, Floats]:
    """Return O, B and G of date codes and what shares their set; O and G by lag, (lags, …)."""
    made, changed, listed = _sums(model, witnesses)
    made, listed = (table[None].repeat(len(LAGS), axis=0) for table in (made, listed))
    for i, witness in enumerate(witnesses):
        if witness.answer.months:
            right, by_chance = _read_code(witness, model)
            listed[:, i] = right
            made[:, i] = right + witness.slip * by_chance
            changed[i] = by_chance
    return made, changed, listed


def _block(witnesses: Sequence[Witness], chances: tuple[Floats, Floats, Floats]) -> Block:
    """Scale O, B and G by what is known about change."""
    made, changed, listed = chances
    known = np.array([_scales(w) for w in witnesses]).reshape(-1, 3)
    first, rate, factor = known.T[:, :, None]
    together = {w.standing.group: w.standing.together for w in witnesses}
    sizes = Counter(w.standing.group for w in witnesses)
    swapped = factor * changed
    return Block(
        first=first * made,
        later=rate * swapped,
        swapped=swapped,
        listed=first * listed,
        sizes=tuple(sizes.values()),
        together=tuple(together.values()),
    )


def _scales(witness: Witness) -> tuple[float, float, float]:
    """Return (1−ρ)·o, ρ and r of a witness."""
    keeps, factor = STATES[witness.state]
    rate = witness.point.changed
    return (1 - rate) * keeps, rate, factor * witness.odds
