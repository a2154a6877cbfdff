"""Examples counted by documented month and doubt: beyond here nothing depends on how many rows.

Times are months since the reference begins; the month t lies from t to t + 1, so its middle is
t + ½ and a change-over "from month a on" is at a. All middles lie on half months.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from quickcheck.learn.records import Example

Floats = NDArray[np.float64]
Whole = NDArray[np.intp]

_PHI_AT: Final = np.linspace(-9, 9, 18001)


def _phi_table() -> Floats:
    """Return Φ at `_PHI_AT`, by the sum of its density (Simpson), to about 1e-13."""
    half = np.linspace(-9, 9, 36001)
    density = np.exp(-0.5 * half * half) / np.sqrt(2 * np.pi)
    step = _PHI_AT[1] - _PHI_AT[0]
    pieces = (density[:-2:2] + 4 * density[1::2] + density[2::2]) * step / 6
    table: Floats = np.concatenate([[0.0], pieces.cumsum()])
    return table


_PHI: Final = _phi_table()


def phi(x: Floats) -> Floats:
    """Return Φ(x), interpolated: off by 3e-8 at most."""
    found: Floats = np.interp(x, _PHI_AT, _PHI)
    return found


@dataclass(frozen=True, slots=True, eq=False)
class Bins:
    """The distinct documented months with their doubts, and which of them each row is in."""

    at: Floats  # (B,), middles
    doubt: Floats  # (B,), standard deviations
    of_row: Whole  # (rows,)
    part: Whole  # (rows,): the part that a row is left out with
    parts: int


def bins_of(examples: Sequence[Example], begins: int, *, parts: int) -> Bins:
    """Return the bins of examples; rows are dealt into parts in turn along their months."""
    at = np.array([example.middle - begins for example in examples], dtype=float)
    doubt = _rounded(np.array([example.doubt for example in examples], dtype=float))
    pairs, of_row = np.unique(np.stack([at, doubt], axis=1), axis=0, return_inverse=True)
    order = np.argsort(at, kind="stable")
    part = np.empty(len(examples), dtype=np.intp)
    part[order] = np.arange(len(examples)) % max(1, parts)
    return Bins(pairs[:, 0], pairs[:, 1], of_row.reshape(-1), part, parts)


def _rounded(doubt: Floats) -> Floats:
    """Return doubts in half months up to 8 and in eighths of a doubling above: few differ."""
    coarse = 2 ** (np.round(8 * np.log2(np.maximum(doubt, 1.0))) / 8)
    return np.where(doubt <= 8, np.round(2 * doubt) / 2, np.round(coarse, 2))


def trainings(bins: Bins, rows: Whole, values: Floats) -> Floats:
    """Return sums of values by bin: of all rows, then without each part, (1 + parts, B, …).

    ``rows`` are those that have a value, ``values`` (rows, …) what they add.
    """
    size = (bins.parts, len(bins.at), *values.shape[1:])
    by_part = np.zeros(size)
    np.add.at(by_part, (bins.part[rows], bins.of_row[rows]), values)
    whole = by_part.sum(axis=0)
    left: Floats = whole - by_part if bins.parts > 1 else by_part[:0]
    return np.concatenate([whole[None], left])
