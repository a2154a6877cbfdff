"""The verdict on one sheet: whether the things seen agree with the months claimed.

Pure: model and sheet in, verdict out. The steps stand in modules of their own, in this order:
`witnesses` (answers → chances), `parts.chances` (chances of groups and parts), `dating` (chances →
date), `parts` (date → parts), `rules` (what was found → verdict).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from quickcheck.engine import dating as dates
from quickcheck.engine import parts
from quickcheck.engine.constants import RULES, RULES_REVISION, r9
from quickcheck.engine.dating import Body, Dating, Run
from quickcheck.engine.model import Floats, Model
from quickcheck.engine.result import (
    AssemblyFit,
    BestWindow,
    ChangedCount,
    Months,
    PartFit,
    Verdict,
)
from quickcheck.engine.rules import Findings, decide
from quickcheck.engine.sheet import Sheet
from quickcheck.engine.witnesses import Evidence, Witness, find_witnesses, gather
from quickcheck.reference.records import Assembly

_MARRIED = (Assembly.NECK, Assembly.BODY)


@dataclass(frozen=True, slots=True)
class _Parts:
    """The witnesses one by one, in the reference's order."""

    points: Mapping[str, PartFit]
    flagged: tuple[str, ...]
    odd: tuple[str, ...]
    flagged_at_best: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Whole:
    """Everything computed on one sheet, before the rules are asked."""

    window: Run
    dating: Dating
    logs: Floats  # ln P, (groups, T)
    assemblies: Mapping[str, AssemblyFit]
    reads_as: tuple[Months, ...]
    best: Run
    parts: _Parts
    found: tuple[Witness, ...]
    count: ChangedCount


def judge(model: Model, sheet: Sheet) -> Verdict:
    """Return the verdict on a sheet."""
    witnesses = find_witnesses(model, sheet)
    whole = _whole(model, sheet, witnesses)
    apart = tuple(_apart(whole.assemblies))
    findings = _findings(whole, apart=bool(apart))
    verdict, because = decide(findings)
    dating, window, seen = whole.dating, whole.window, whole.parts
    return Verdict(
        verdict=verdict,
        claimed=sheet.claimed,
        window=sheet.window,
        rules=RULES_REVISION,
        groups=len(whole.logs),
        speaking=dating.speaking,
        temper=dating.temper,
        likeliest=model.month(dates.likeliest(dating)),
        reads_as=whole.reads_as,
        equally=_months(model, [dates.equally(dating, window)])[0],
        ratio_to_best=findings.ratio,
        bayes_factor=findings.bayes_factor,
        in_window=dates.in_window(dating, window),
        ruled_out=findings.ruled_out,
        flagged=seen.flagged,
        odd=seen.odd,
        declared=tuple(w.point.id for w in witnesses if w.declared),
        apart=apart,
        assemblies=whole.assemblies,
        best_window=BestWindow(_months(model, [whole.best])[0], seen.flagged_at_best),
        changed_count=whole.count,
        points=seen.points,
        posterior=tuple(dating.posterior.tolist()),
        because=because,
    )


def _whole(model: Model, sheet: Sheet, witnesses: tuple[Witness, ...]) -> _Whole:
    """Return what the arithmetic says, in one pass over the arrays."""
    evidence = gather(model, witnesses)
    by_month = parts.chances(evidence)
    window = (model.index(sheet.window[0]), model.index(sheet.window[1]))
    logs = np.log(by_month.groups)
    members = parts.lasting(evidence)
    bodies = [Body(logs.sum(axis=0), int(dates.speaks(by_month.groups).sum()))]
    bodies += [parts.body_apart(evidence, by_month.alone, chosen) for chosen in members.values()]
    dating, *others = datings = dates.date(bodies, model.weights, kappa=model.reference.kappa)
    reads_as, *reads = (_months(model, runs) for runs in dates.reads_as(datings))
    best = dates.best_window(dating, window[1] - window[0] + 1)
    seen = _parts(evidence, by_month, dating, windows=(window, best))
    unfit = {*seen.flagged, *seen.odd}
    found = tuple(w for w in witnesses if w.point.id in unfit and not w.declared)
    expected = sum(part.changed for part in seen.points.values())
    return _Whole(
        window=window,
        dating=dating,
        logs=logs,
        assemblies={
            name.value: AssemblyFit(len(chosen), dates.ratio_to_best(fitted, window), runs)
            for (name, chosen), fitted, runs in zip(members.items(), others, reads, strict=True)
        },
        reads_as=reads_as,
        best=best,
        parts=seen,
        found=found,
        count=ChangedCount(expected, *parts.usual_count(witnesses, len(found))),
    )


def _findings(whole: _Whole, *, apart: bool) -> Findings:
    """Return what the rules look at."""
    return Findings(
        speaking=whole.dating.speaking,
        ratio=dates.ratio_to_best(whole.dating, whole.window),
        ratio_without_any=lambda: dates.ratio_without_any(whole.dating, whole.logs, whole.window),
        bayes_factor=dates.bayes_factor(whole.dating, whole.window),
        ruled_out=dates.ruled_out(whole.dating, whole.window),
        apart=apart,
        found=bool(whole.found),
        found_never_changed=any(r9(w.point.changed) <= RULES.never_changed for w in whole.found),
        tail=whole.count.tail,
        unfit=bool(whole.parts.flagged or whole.parts.odd),
    )


def _apart(assemblies: Mapping[str, AssemblyFit]) -> Iterator[str]:
    """Yield neck and body where the claim is far from what they say by themselves."""
    for name in _MARRIED:
        fit = assemblies.get(name.value)
        if fit and r9(fit.ratio_to_best) < r9(1 / RULES.fair):
            yield name.value


def _months(model: Model, runs: Sequence[Run]) -> tuple[Months, ...]:
    return tuple((model.month(first), model.month(last)) for first, last in runs)


def _parts(
    evidence: Evidence, by_month: parts.Chances, dating: Dating, *, windows: tuple[Run, Run]
) -> _Parts:
    """Return what is said of each witness in the claim's window, and flagged in the best one."""
    names = [witness.point.id for witness in evidence.witnesses]
    changed = parts.over_windows(by_month.changed, dating, windows)
    fits = parts.over_windows(by_month.fits, dating, windows[:1])[:, 0]
    likely = changed.round(9) >= RULES.likely
    odd = ~likely[:, 0] & (fits.round(9) < RULES.likely)
    leanings = parts.leanings(by_month.alone, dating, windows[0])
    found = zip(changed[:, 0].tolist(), fits.tolist(), leanings, strict=True)
    order = np.argsort([witness.place for witness in evidence.witnesses]).tolist()
    all_parts = [PartFit(*part) for part in found]
    return _Parts(
        {names[i]: all_parts[i] for i in order},
        *(
            tuple(names[i] for i in order if chosen[i])
            for chosen in (likely[:, 0].tolist(), odd.tolist(), likely[:, 1].tolist())
        ),
    )
