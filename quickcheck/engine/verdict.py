"""The verdict on one sheet: whether the things seen agree with the months claimed.

Pure: model and sheet in, verdict out. The steps stand in modules of their own, in this order:
`witnesses` (answers → chances), `dating` (chances → date), `parts` (date → parts), `rules`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from quickcheck.engine import dating as dates
from quickcheck.engine import parts
from quickcheck.engine.constants import RULES, RULES_REVISION, r9
from quickcheck.engine.dating import Body, Dating, Run
from quickcheck.engine.model import Model
from quickcheck.engine.rules import Findings, decide
from quickcheck.engine.sheet import Sheet
from quickcheck.engine.witnesses import Evidence, find_witnesses, gather
from quickcheck.readings import month_text
from quickcheck.reference.records import Assembly

_MARRIED = (Assembly.NECK, Assembly.BODY)

Months = tuple[int, int]
"""First and last month, both inclusive."""


@dataclass(frozen=True, slots=True)
class AssemblyFit:
    """One assembly judged by itself."""

    points: int
    ratio_to_best: float
    reads_as: tuple[Months, ...]


@dataclass(frozen=True, slots=True)
class BestWindow:
    """The window of the claim's length that fits best, and what would be flagged there."""

    window: Months
    flagged: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChangedCount:
    """How many parts are changed by expectation, and how many are usually found."""

    expected: float
    usual: float
    tail: float  # chance of at least as many as were found, on a genuine instrument


@dataclass(frozen=True, slots=True)
class PartFit:
    """One witness: chance of a change, chance of a fit, and where it leans."""

    changed: float
    fits: float
    leaning: str  # within | earlier | later | silent


@dataclass(frozen=True)
class Verdict:
    """What was found; months are numbers, ids stand in the reference's order."""

    verdict: str
    claimed: Months
    window: Months
    rules: int
    groups: int
    speaking: int
    temper: float
    likeliest: int
    reads_as: tuple[Months, ...]
    equally: Months
    ratio_to_best: float
    bayes_factor: float | None
    in_window: float
    ruled_out: float
    flagged: tuple[str, ...]
    odd: tuple[str, ...]
    declared: tuple[str, ...]
    apart: tuple[str, ...]
    assemblies: Mapping[str, AssemblyFit]
    best_window: BestWindow
    changed_count: ChangedCount
    points: Mapping[str, PartFit]
    posterior: tuple[float, ...]
    because: tuple[str, ...]  # every reason of the rule that decided; `rules.TABLE`

    @property
    def found(self) -> tuple[str, ...]:
        """What was found and not declared: flagged first, then odd."""
        return tuple(p for p in self.flagged + self.odd if p not in self.declared)

    def as_json(self) -> dict[str, object]:
        """Return the verdict as plain data, months as text."""
        return {
            "verdict": self.verdict,
            "claimed": _texts(self.claimed),
            "window": _texts(self.window),
            "rules": self.rules,
            "groups": self.groups,
            "speaking": self.speaking,
            "temper": self.temper,
            "likeliest": month_text(self.likeliest),
            "reads_as": [_texts(run) for run in self.reads_as],
            "equally": _texts(self.equally),
            "ratio_to_best": self.ratio_to_best,
            "bayes_factor": self.bayes_factor,
            "in_window": self.in_window,
            "ruled_out": self.ruled_out,
            "flagged": list(self.flagged),
            "odd": list(self.odd),
            "declared": list(self.declared),
            "apart": list(self.apart),
            "assemblies": {name: _assembly_json(fit) for name, fit in self.assemblies.items()},
            "best_window": {
                "window": _texts(self.best_window.window),
                "flagged": list(self.best_window.flagged),
            },
            "changed_count": {
                "expected": self.changed_count.expected,
                "usual": self.changed_count.usual,
                "tail": self.changed_count.tail,
            },
            "points": {
                name: {"changed": part.changed, "fits": part.fits, "leaning": part.leaning}
                for name, part in self.points.items()
            },
            "posterior": list(self.posterior),
        }


def _texts(run: Months) -> list[str]:
    return [month_text(run[0]), month_text(run[1])]


def _assembly_json(fit: AssemblyFit) -> dict[str, object]:
    return {
        "points": fit.points,
        "ratio_to_best": fit.ratio_to_best,
        "reads_as": [_texts(run) for run in fit.reads_as],
    }


@dataclass(frozen=True, slots=True)
class _Parts:
    """The witnesses one by one, in the reference's order."""

    points: Mapping[str, PartFit]
    flagged: tuple[str, ...]
    odd: tuple[str, ...]
    flagged_at_best: tuple[str, ...]


def judge(model: Model, sheet: Sheet) -> Verdict:
    """Return the verdict on a sheet."""
    witnesses = find_witnesses(model, sheet)
    evidence = gather(model, witnesses)
    by_month = parts.chances(evidence)
    window = (model.index(sheet.window[0]), model.index(sheet.window[1]))
    logs = np.log(by_month.groups)
    members = parts.lasting(evidence)
    bodies = [Body(logs.sum(axis=0), int(dates.speaks(by_month.groups).sum()))]
    bodies += [parts.body_apart(evidence, by_month.alone, chosen) for chosen in members.values()]
    datings = dates.date(bodies, model.weights, kappa=model.reference.kappa)
    reads_as = [_months(model, runs) for runs in dates.reads_as(datings)]
    assemblies = {
        name.value: AssemblyFit(len(chosen), dates.ratio_to_best(fitted, window), runs)
        for (name, chosen), fitted, runs in zip(
            members.items(), datings[1:], reads_as[1:], strict=True
        )
    }
    dating = datings[0]
    best = dates.best_window(dating, window[1] - window[0] + 1)
    seen = _parts(evidence, by_month, dating, windows=(window, best))
    declared = tuple(w.point.id for w in witnesses if w.declared)
    apart = tuple(
        name.value
        for name in _MARRIED
        if name in assemblies and _far(assemblies[name].ratio_to_best)
    )
    found = [w for w in witnesses if w.point.id in seen.flagged + seen.odd and not w.declared]
    usual, tail = parts.usual_count(witnesses, len(found))
    findings = Findings(
        speaking=dating.speaking,
        ratio=dates.ratio_to_best(dating, window),
        ratio_without_any=lambda: dates.ratio_without_any(dating, logs, window),
        bayes_factor=dates.bayes_factor(dating, window),
        ruled_out=dates.ruled_out(dating, window),
        apart=bool(apart),
        found=bool(found),
        found_never_changed=any(r9(w.point.changed) <= RULES.never_changed for w in found),
        tail=tail,
        unfit=bool(seen.flagged or seen.odd),
    )
    verdict, because = decide(findings)
    return Verdict(
        verdict=verdict,
        claimed=sheet.claimed,
        window=sheet.window,
        rules=RULES_REVISION,
        groups=len(by_month.groups),
        speaking=dating.speaking,
        temper=dating.temper,
        likeliest=model.month(dates.likeliest(dating)),
        reads_as=reads_as[0],
        equally=_months(model, [dates.equally(dating, window)])[0],
        ratio_to_best=findings.ratio,
        bayes_factor=findings.bayes_factor,
        in_window=dates.in_window(dating, window),
        ruled_out=findings.ruled_out,
        flagged=seen.flagged,
        odd=seen.odd,
        declared=declared,
        apart=apart,
        assemblies=assemblies,
        best_window=BestWindow(_months(model, [best])[0], seen.flagged_at_best),
        changed_count=ChangedCount(sum(part.changed for part in seen.points.values()), usual, tail),
        points=seen.points,
        posterior=tuple(dating.posterior.tolist()),
        because=because,
    )


def _far(ratio: float) -> bool:
    return r9(ratio) < r9(1 / RULES.fair)


def _months(model: Model, runs: Sequence[Run]) -> tuple[Months, ...]:
    return tuple((model.month(first), model.month(last)) for first, last in runs)


def _parts(
    evidence: Evidence, by_month: parts.Chances, dating: Dating, *, windows: tuple[Run, Run]
) -> _Parts:
    """Return what is said of each witness in the claim's window, and flagged in the best one."""
    changed = parts.over_windows(by_month.changed, dating, windows).tolist()
    fits = parts.over_windows(by_month.fits, dating, windows[:1]).tolist()
    leanings = parts.leanings(by_month.alone, dating, windows[0])
    rows = sorted(
        zip(evidence.witnesses, changed, fits, leanings, strict=True),
        key=lambda row: row[0].place,
    )
    points = {w.point.id: PartFit(c[0], f[0], leaning) for w, c, f, leaning in rows}
    flagged = tuple(name for name, part in points.items() if r9(part.changed) >= RULES.likely)
    return _Parts(
        points,
        flagged,
        tuple(
            name
            for name, part in points.items()
            if name not in flagged and r9(part.fits) < RULES.likely
        ),
        tuple(w.point.id for w, c, *_ in rows if r9(c[1]) >= RULES.likely),
    )
