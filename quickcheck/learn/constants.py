"""Every number of the learning, once, each with its reason; times are months.

The grids of the change-over follow a simulation (300 runs a cell, 144 months, a date's standard
deviation of 4 months, 5 % misdated, 3 % misread) in which they covered 90–94 % with 5 to 100 rows.
"""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Learning:
    """The numbers of the learning."""

    doubt: float = 4.0  # standard deviation of a documented month where nothing is said

    scales: tuple[float, ...] = (0.5, 1, 2, 4, 8, 16, 32)  # s of a change-over, log-uniform
    lapses: tuple[float, ...] = (0.005, 0.02, 0.05, 0.1, 0.2)  # ε: misread, misdated, old stock
    lapse_beta: tuple[float, float] = (1.0, 9.0)  # ε ~ Beta: one in ten on average, rarely more
    beyond: int = 12  # months beyond both ends in which a change-over may lie

    bandwidths: tuple[float, ...] = (0.7, 1.5, 3, 6, 12, 24, 48)  # of the kernel, log-spaced
    strengths: tuple[float, ...] = (0.5, 2, 8)  # examples that the overall shares are worth
    least_share: float = 0.001  # no listed variant is impossible
    for_overlap: float = 2.0  # nats by which overlap must be better: a change-over is simpler

    edges: tuple[float, ...] = tuple(round(0.3 * 1.12**i, 2) for i in range(47))  # widths to try
    table_off: float = 0.06  # share by which edges may differ from the posterior mean …
    area_off: float = 0.6  # … or months of area between: an edge stands on a whole month
    knot_off: float = 0.01  # by which a line between knots may differ, as a share …
    knot_off_log: float = 0.1  # … and as a ratio

    fewest_measures: int = 3  # a drift has two numbers and a spread
    fewest_smoothed: int = 30  # from here on a kernel, below a line
    flat: float = 0.04  # of measures that show anything in the span, as the engine has it
    step: float = 0.7  # spreads between two neighbouring means: their mixture stays one hump
    clipped: float = 3.0  # robust deviations beyond which a residual is an outlier

    rate_worth: float = 20.0  # examples that a rate in the points file is worth
    fewest_for_kappa: int = 60  # below, κ by leave-one-out is noise
    fewest_for_check: int = 5  # below, leaving one out says nothing
    kappas: tuple[float, ...] = tuple(round(0.5 + 0.1 * i, 1) for i in range(26))
    all_apart: int = 60  # rows up to which each is left out by itself
    parts: int = 10  # beyond: left out in so many parts
    most_dated: int = 500  # rows that are dated, evenly drawn where there are more


LEARNING: Final = Learning()
