"""The same posterior by exact inference in a Bayesian network (pgmpy), for tests and the bench.

Nodes: the month of building; whether a whole set was changed; how long parts lay in stock; whether
each part was changed; and the answers, which are observed. Only the tables U and Q are taken from
the engine: what an answer says of a month is written out here again.
"""

import math
import warnings
from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quickcheck.engine import Answer, Model, Sheet
from quickcheck.reference import Kind, Point

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # pgmpy warns of its own old modules on import
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

Floats = NDArray[np.float64]

LAGS = (1, 2, 4, 8, 16, 32)
STATES = {
    None: (1, 1),
    "changed": (0, 1),
    "signs": (1, 6),
    "no-sign": (1, 0.5),
    "undisturbed": (1, 0.1),
}


def _normal(x: float, mean: float, deviation: float) -> float:
    z = (x - mean) / deviation
    return math.exp(-z * z / 2) / deviation / math.sqrt(2 * math.pi)


def chances(model: Model, point: Point, answer: Answer) -> tuple[Floats, Floats]:
    """Return O and B of one answer, months last; a date code has lags before months."""
    slip = 0.02 if answer.sure else 0.25
    months = model.months
    if not answer.has_reading:
        return np.ones(months), np.ones(months)
    if point.kind is Kind.DATECODE:
        return _code(model, answer, slip)
    rows = model.rows[point.id]
    made = model.made[rows.start : rows.stop]
    changed = model.changed[rows.start : rows.stop]
    if point.kind is Kind.MEASURE:
        low, high = point.span or (0.0, 1.0)
        flat = 1 / (high - low)
        step = math.floor(round((answer.value - low) * flat * 4095, 6) + 0.5)  # type: ignore[operator]
        x = low + step / flat / 4095
        right = flat * made[-1]
        for variant, share in zip(point.seen, made[:-1], strict=True):
            deviation = math.sqrt(variant.spread**2 + point.tolerance**2)  # type: ignore[operator]
            right = right + share * _normal(x, variant.mean, deviation)  # type: ignore[arg-type]
        return (1 - slip) * right + slip * flat, np.full(months, flat)
    held = _held(point, answer)
    share = len(held) * slip / len(made)
    return (1 - slip) * made[held].sum(axis=0) + share, (1 - slip) * changed[held].sum(
        axis=0
    ) + share


def _held(point: Point, answer: Answer) -> list[int]:
    if point.kind is Kind.PICK:
        names = [v.id for v in point.seen] + ["other"]
        return [names.index(answer.seen[0])]
    blocks = [v.block for v in point.seen]
    held = [i for i, (a, z) in enumerate(blocks) if a <= answer.number <= z]  # type: ignore[misc, operator]
    return held or [len(blocks)]


def _code(model: Model, answer: Answer, slip: float) -> tuple[Floats, Floats]:
    first, last = model.reference.covers
    near = max(1, sum(first - 36 <= c <= last for c in answer.months))
    by_chance = near / (model.months + 36)
    right = np.zeros((len(LAGS), model.months))
    for i, scale in enumerate(LAGS):
        for t in range(model.months):
            ages = [first + t - c for c in answer.months if c <= first + t]
            right[i, t] = sum(math.exp(-a / scale) - math.exp(-(a + 1) / scale) for a in ages)
    return (1 - slip) * right + slip * by_chance, np.full(model.months, by_chance)


class Network:
    """The network of one sheet, ready to be asked."""

    def __init__(self, model: Model, sheet: Sheet) -> None:
        self._table = TabularCPD
        self._tables: list[Any] = []
        self._edges: list[tuple[str, str]] = []
        self.evidence: dict[str, int] = {}
        weights = model.weights / model.weights.sum()
        self._root("date", weights)
        points = [p for p in model.reference.points if p.is_witness and p.id in sheet.answers]
        if any(p.kind is Kind.DATECODE for p in points):
            self._root("lag", np.full(len(LAGS), 1 / len(LAGS)))
        for name in sorted({p.changed_with for p in points if p.changed_with}):
            together = model.reference.sets[name].changed
            self._root(f"all-{name}", np.array([1 - together, together]))
        for point in points:
            self._add(model, point, sheet.answers[point.id])
        network = DiscreteBayesianNetwork(self._edges)
        network.add_nodes_from(["date"])
        network.add_cpds(*self._tables)
        self.network = network
        self._ask = VariableElimination(network)

    def joint(self, *nodes: str) -> Floats:
        """Return the joint posterior of some nodes, axes in the order asked for."""
        found = self._ask.query(list(nodes), evidence=self.evidence, show_progress=False)
        order = [found.variables.index(node) for node in nodes]
        values: Floats = np.transpose(found.values, order)
        return values

    def _root(self, name: str, chances: Floats) -> None:
        self._tables.append(self._table(name, len(chances), chances[:, None]))

    def _child(self, name: str, table: Floats, parents: Iterable[tuple[str, int]]) -> None:
        names, sizes = [p for p, _ in parents], [n for _, n in parents]
        self._edges += [(parent, name) for parent in names]
        self._tables.append(self._table(name, 2, table, evidence=names, evidence_card=sizes))

    def _add(self, model: Model, point: Point, answer: Answer) -> None:
        """Add whether a part was changed, and the answer to it."""
        changed, seen = f"changed-{point.id}", f"seen-{point.id}"
        rate = point.changed
        if point.changed_with:
            table = np.array([[1 - rate, 0.0], [rate, 1.0]])
            self._child(changed, table, [(f"all-{point.changed_with}", 2)])
        else:
            self._root(changed, np.array([1 - rate, rate]))
        keeps, factor = STATES[answer.state]
        made, later = chances(model, point, answer)
        both = np.stack(np.broadcast_arrays(keeps * made, factor * later))
        both = both / (1.01 * both.max())  # only ratios matter; densities may be above 1
        flat = both.reshape(1, -1)
        parents = [(changed, 2), ("date", model.months)]
        if point.kind is Kind.DATECODE and answer.has_reading:
            parents.insert(1, ("lag", len(LAGS)))
        self._child(seen, np.vstack([flat, 1 - flat]), parents)
        self.evidence[seen] = 0
