"""Every constant of the arithmetic, once, each with its reason.

Verdicts and cards carry `RULES_REVISION`, because a card read later is judged again: change a
number here and the revision goes up. What each one does is in the README of this room.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np

RULES_REVISION: Final = 1


@dataclass(frozen=True, slots=True)
class Rules:
    """The numbers of the arithmetic; shares and chances are fractions, times are months."""

    z90: float = 1.6448536269514722  # Φ⁻¹(0.95): `give` is half of a central 90 % band
    floor_of_total: float = 0.5  # of the smallest share: a gap is "none of these", not a 50:50 tie
    later_production: float = 0.9  # of replaced parts come from later production (judgement)
    other_weight: float = 0.1  # share for "other" beside `if_changed` weights that leave it out
    no_figure: float = 0.1  # output of a month without a figure, against the mean of the others

    misread_sure: float = 0.02  # a careful look is wrong once in fifty (judgement)
    misread_unsure: float = 0.25  # said to be unsure: wrong once in four (judgement)
    measure_steps: int = 4095  # a card carries 12 bits of a measure: judge what it can carry
    step_decimals: int = 6  # so that 0.935 in and its twin in mm give the same step
    code_lead: int = 36  # months before the reference begins in which a part may be stamped

    kappa: float = 1.7  # λ = κ/√F; fitted on open data, where 90 % intervals covered 89–95 %
    speaks: float = 2.0  # a witness speaks where its chances differ by this factor
    interval: float = 0.9  # `reads_as` holds this share of the posterior
    around: int = 60  # months on each side of the window that it is held against: five years
    fair: float = 8.0  # Royall 1997, ch. 1: fairly strong evidence
    strong: float = 32.0  # Royall 1997, ch. 1: strong evidence
    equally: float = 0.5  # months at least half as good as the window's best fit it as well

    likely: float = 0.5  # flagged where a change is likelier than not; odd where a fit isn't
    lasting: float = 0.1  # change rate up to which a part is taken to stay with its assembly
    fewest_lasting: int = 3  # witnesses that an assembly needs to be judged by itself
    never_changed: float = 0.02  # parts that hardly anyone changes: one found is worth a doubt
    rare_tail: float = 0.01  # so many found on one genuine instrument in a hundred, or fewer

    fewest_doubt: int = 2  # below three speaking witnesses: doubt only when two agree strongly
    fewest: int = 3  # no verdict by dates below this
    enough: int = 5  # no "agrees" below this
    ruled_out: float = 0.5  # an "agrees" must rule out half of what lies around the window
    bayes_factor: float = 2.0  # and the window must fit twice as well as what lies around it

    look_bins: int = 41  # equal bins of a measure's span, for what a look would tell


RULES: Final = Rules()

STATES: Final[Mapping[str, tuple[float, float]]] = MappingProxyType(
    {
        "": (1.0, 1.0),  # not looked for
        "changed": (0.0, 1.0),  # certain, or the owner says so
        "signs": (1.0, 6.0),  # extra holes, disturbed solder, overspray
        "no-sign": (1.0, 0.5),  # looked for, none seen: many a change leaves no mark
        "undisturbed": (1.0, 0.1),  # could hardly have been changed unseen
    }
)
"""What was noticed about change → factors (o, r) on "first one" and "changed" (judgement)."""

NOT_SEEN: Final = ("not-allowed", "not-visible", "no-tool", "no-time")
STILL_OPEN: Final = "no-time"  # the only one of these that a later look can mend at this table

LAGS: Final[tuple[int, ...]] = (1, 2, 4, 8, 16, 32)
"""Mean months that parts lay in stock: unknown, so averaged over a log scale (judgement)."""

_LAG_MONTHS = 2400
"""Two centuries: e^(−2400/32) < 1e-32 adds nothing to any chance."""


def _lag_table() -> np.ndarray:
    """Return the chance of a lag of d whole months, one row a scale; the last column is 0."""
    ages = np.arange(_LAG_MONTHS + 1) / np.array(LAGS, dtype=float)[:, None]
    table: np.ndarray = np.zeros((len(LAGS), _LAG_MONTHS + 1))
    table[:, :-1] = np.exp(-ages[:, :-1]) - np.exp(-ages[:, 1:])
    table.setflags(write=False)
    return table


LAG_TABLE: Final = _lag_table()


def r9(value: float) -> float:
    """Return a value as it is compared: with 9 decimals, so that two languages compare alike."""
    return round(value, 9)
