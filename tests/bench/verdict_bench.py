"""How long a verdict takes, against the same arithmetic in bare numpy and exact inference.

``python -m tests.bench.verdict_bench`` prints a table. Twenty answers on 144 months: picks,
measures, a serial, two sets. All of them are given the same answers and the same tables; the
posteriors are compared before anything is timed. Times are of the processor, not of the clock on
the wall, best of many short rounds: what else the machine does should not count.
"""

import platform
import time
import timeit
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quickcheck.engine import (
    Model,
    Sheet,
    compile_model,
    judge,
    next_looks,
    parts,
    read_sheet,
)
from quickcheck.engine import dating as dates
from quickcheck.engine.witnesses import find_witnesses, gather
from quickcheck.readings import month_text, parse_month
from quickcheck.reference import Kind, Reference
from tests.engine.network import Network, chances
from tests.engine.small import point, reference, sets, variant

Floats = NDArray[np.float64]
FIRST = parse_month("1952-01")
COVERS = (FIRST, FIRST + 143)
WINDOW = ("1957-03", "1957-08")
ROUNDS = 15


def made() -> tuple[Reference, dict[str, Any]]:
    """Return a reference of twenty points of four variants, and answers of early 1957."""
    together = ["hardware"] * 4 + ["rewire"] * 3 + [None] * 13
    points, answers = [], {}
    for i in range(20):
        cuts = [month_text(FIRST + 5 + 3 * i + 38 * j) for j in range(3)]
        ends = [month_text(parse_month(cut) - 1) for cut in cuts]
        edges = list(zip([None, *cuts], [*ends, None], strict=True))
        age = parse_month(WINDOW[0]) - FIRST
        at = sum(age >= 5 + 3 * i + 38 * j for j in range(3))
        name, more = f"p{i}", {"changed": 0.05 + 0.01 * (i % 8), "changed_with": together[i]}
        if i >= 16:
            seen = [
                variant(f"v{j}", a, z, mean=1.0 + 0.1 * j, spread=0.03)
                for j, (a, z) in enumerate(edges)
            ]
            more |= {"kind": Kind.MEASURE, "unit": "in", "span": (0.8, 1.5), "tolerance": 0.01}
            answers[name] = {"value": 1.01 + 0.1 * at}
        else:
            seen = [variant(f"v{j}", a, z) for j, (a, z) in enumerate(edges)]
            answers[name] = {"seen": f"v{at}", "sure": i % 5 > 0}
        points.append(point(name, *seen, **more))
    output = {str(year): 100.0 + year % 7 for year in range(1952, 1964)}
    rates = sets(hardware=0.05, rewire=0.06)
    return reference(*points, covers=COVERS, sets=rates, output=output, kappa=3.0), answers


class Bare:
    """The sums alone: everything that can be prepared is, and nothing is checked or named."""

    def __init__(self, model: Model, sheet: Sheet) -> None:
        points = sorted(model.reference.points, key=lambda p: p.changed_with or f"point:{p.id}")
        both = [chances(model, p, sheet.answers[p.id]) for p in points]
        self.made = np.array([o for o, _ in both])
        self.changed = np.array([b for _, b in both])
        self.rate = np.array([p.changed for p in points])[:, None]
        self.weights = model.weights
        names = [p.changed_with or p.id for p in points]
        groups = list(dict.fromkeys(names))
        self.first = [names.index(g) for g in groups]
        self.size = [names.count(g) for g in groups]
        self.together = np.array(
            [model.reference.sets[g].changed if g in model.reference.sets else 0.0 for g in groups]
        )[:, None]
        self.window = slice(62, 68)

    def _products(self, rows: Floats) -> Floats:
        products: Floats = rows[self.first]
        for i, (at, n) in enumerate(zip(self.first, self.size, strict=True)):
            if n > 1:
                products[i] = rows[at : at + n].prod(axis=0)
        return products

    def _posterior(self, chance: Floats) -> Floats:
        logs = np.log(chance).sum(axis=0)
        speaking = (chance.max(axis=1) >= 2 * chance.min(axis=1)).sum()
        fit = self.weights * np.exp(min(1, 3.0 / np.sqrt(speaking)) * (logs - logs.max()))
        posterior: Floats = fit / fit.sum()
        return posterior

    def posterior(self) -> Floats:
        """Return p."""
        alone = (1 - self.rate) * self.made + self.rate * self.changed
        each, all_of_it = self._products(alone), self._products(self.changed)
        return self._posterior((1 - self.together) * each + self.together * all_of_it)

    def whole(self) -> tuple[Floats, Floats, Floats]:
        """Return p, and q and f of every part over the window."""
        first, later = (1 - self.rate) * self.made, self.rate * self.changed
        alone = first + later
        each = (1 - self.together) * self._products(alone)
        all_of_it = self.together * self._products(self.changed)
        chance = each + all_of_it
        posterior = self._posterior(chance)
        inside = posterior[self.window] / posterior[self.window].sum()
        others = each.repeat(self.size, axis=0) / alone
        under = chance.repeat(self.size, axis=0)
        changed = (later * others + all_of_it.repeat(self.size, axis=0)) / under
        fits = first * others / under
        return posterior, changed[:, self.window] @ inside, fits[:, self.window] @ inside


def posterior_alone(model: Model, sheet: Sheet) -> Floats:
    """Return the engine's posterior and nothing else."""
    groups = parts.group_chances(gather(model, find_witnesses(model, sheet)))
    body = dates.Body(np.log(groups).sum(axis=0), int(dates.speaks(groups).sum()))
    return dates.date([body], model.weights, kappa=model.reference.kappa)[0].posterior


def fastest(works: dict[str, Callable[[], object]]) -> dict[str, float]:
    """Return the best time of one call of each, in µs of processor; all take turns."""
    timers = {name: timeit.Timer(work, timer=time.process_time) for name, work in works.items()}
    counts = {name: max(1, timer.autorange()[0] // 4) for name, timer in timers.items()}
    best = dict.fromkeys(works, float("inf"))
    for _ in range(ROUNDS):
        for name, timer in timers.items():
            best[name] = min(best[name], timer.timeit(counts[name]) / counts[name] * 1e6)
    return best


def main() -> None:
    """Print the table."""
    made_reference, answers = made()
    model = compile_model(made_reference)
    sheet = read_sheet(
        made_reference,
        {"reference": "small", "window": list(WINDOW), "answers": answers, "access": "open"},
    )
    verdict, network, bare = judge(model, sheet), Network(model, sheet), Bare(model, sheet)
    tempered = np.array(verdict.posterior)
    np.testing.assert_allclose(bare.posterior(), tempered, rtol=1e-9)
    np.testing.assert_allclose(bare.whole()[1].sum(), verdict.changed_count.expected, rtol=1e-9)
    exact = network.joint("date") ** verdict.temper * model.weights ** (1 - verdict.temper)
    np.testing.assert_allclose(exact / exact.sum(), tempered, rtol=1e-6)
    times = fastest(
        {
            "engine: whole verdict": lambda: judge(model, sheet),
            "engine: posterior alone": lambda: posterior_alone(model, sheet),
            "engine: what to look at next": lambda: next_looks(model, sheet, verdict),
            "bare numpy: posterior": bare.posterior,
            "bare numpy: posterior and parts": bare.whole,
            "pgmpy: posterior, network ready": lambda: network.joint("date"),
            "pgmpy: network and posterior": lambda: Network(model, sheet).joint("date"),
        }
    )
    print(f"Python {platform.python_version()}, numpy {np.__version__}, {platform.machine()}")
    print(f"20 answers, 144 months, 15 groups, two of them sets; best of {ROUNDS} rounds\n")
    for name, taken in times.items():
        print(f"{name:<34}{taken:>12,.0f} µs")
    whole, alone = times["engine: whole verdict"], times["engine: posterior alone"]
    exact_time = times["pgmpy: posterior, network ready"]
    print(f"\npgmpy / engine's posterior        {exact_time / alone:>12.1f} ×   (aim: at least 20)")
    print(f"pgmpy / engine's whole verdict    {exact_time / whole:>12.1f} ×")
    ratio = alone / times["bare numpy: posterior"]
    print(f"engine's posterior / bare numpy   {ratio:>12.1f} ×   (aim: at most 10)")
    ratio = whole / times["bare numpy: posterior and parts"]
    print(f"whole verdict / bare numpy        {ratio:>12.1f} ×   (aim: at most 10)")


if __name__ == "__main__":
    main()
