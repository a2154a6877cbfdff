"""What to look at next: which open point would tell most about the window, per minute of work."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from quickcheck.engine.constants import STILL_OPEN, r9
from quickcheck.engine.model import Floats, Model
from quickcheck.engine.result import Verdict
from quickcheck.engine.sheet import Sheet
from quickcheck.engine.witnesses import known_changes
from quickcheck.reference.records import Point


@dataclass(frozen=True, slots=True)
class NextLook:
    """One candidate: bits about "in the window or not", bits about the month, minutes it takes."""

    point: str
    window_bits: float
    date_bits: float
    minutes: float

    def as_json(self) -> dict[str, object]:
        """Return it as plain data."""
        return {
            "point": self.point,
            "window_bits": self.window_bits,
            "date_bits": self.date_bits,
            "minutes": self.minutes,
        }


def next_looks(model: Model, sheet: Sheet, verdict: Verdict) -> tuple[NextLook, ...]:
    """Return every point that can still be looked at, the most telling per minute first."""
    posterior = np.array(verdict.posterior)
    first, last = model.index(verdict.window[0]), model.index(verdict.window[1])
    whole = first == 0 and last == model.months - 1
    window_bits, date_bits = _bits(model, posterior, (first, last))
    candidates = _open_points(model, sheet)
    looks = [
        NextLook(name, window_bits[i], date_bits[i], candidates[name].minutes)
        for i, name in enumerate(model.look.points)
        if name in candidates
    ]
    return tuple(
        sorted(looks, key=lambda x: -r9((x.date_bits if whole else x.window_bits) / x.minutes))
    )


def _open_points(model: Model, sheet: Sheet) -> Mapping[str, Point]:
    """Return the points that may be looked at with the access and the tools at hand."""
    own, silent = known_changes(model, sheet)
    return {
        point.id: point
        for point in model.reference.points
        if _is_open(sheet, point) and point.id not in own | silent
    }


def _is_open(sheet: Sheet, point: Point) -> bool:
    answer = sheet.answers.get(point.id)
    if answer and (answer.looked or answer.not_seen not in (None, STILL_OPEN)):
        return False
    if point.access.rank > sheet.access.rank:
        return False
    return sheet.tools is None or sheet.tools.issuperset(point.tools)


def _bits(
    model: Model, posterior: Floats, window: tuple[int, int]
) -> tuple[list[float], list[float]]:
    """Return window_bits and date_bits of every point of the look table."""
    look = model.look
    if not look.points:
        return [], []
    inside = np.zeros(model.months)
    inside[window[0] : window[1] + 1] = 1
    within, rest = posterior * inside, posterior * (1 - inside)
    shown = look.chances @ posterior
    date_bits = np.add.reduceat(_surprise(shown), look.starts) - look.entropy @ posterior
    if not rest.any():  # the window fills what the reference covers: nothing to tell it from
        return [0.0] * len(look.points), date_bits.tolist()
    in_window = 0.5 * (look.chances @ (within / within.sum()))
    elsewhere = 0.5 * (look.chances @ (rest / rest.sum()))
    answer = in_window + elsewhere
    chance = in_window / answer
    left = answer * (_surprise(chance) + _surprise(1 - chance))
    return (1 - np.add.reduceat(left, look.starts)).tolist(), date_bits.tolist()


def _surprise(chance: Floats) -> Floats:
    """Return −x·log₂x; no chance here is 0, as every look may be misread."""
    bits: Floats = -chance * np.log2(chance)
    return bits
