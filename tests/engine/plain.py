"""The verdict, in plain loops: a second implementation that the engine is held against.

It was written from the text of the arithmetic alone and shares no line with the package. Section
numbers are those of that text; "reads: …" marks every sentence that could be read otherwise.
Documents are the parsed TOML of a valid reference and the JSON of its answers.
"""

import math
from typing import Any

from tests.engine.plain_answers import TERMS, Doc, Terms, witnesses
from tests.engine.plain_dates import (
    Dating,
    Window,
    at_least,
    bayes_factor,
    below,
    best_window,
    dated,
    equally,
    grouped,
    judged_window,
    likeliest_first,
    reads_as,
    ruled_out,
    tempered,
)
from tests.engine.plain_model import covered
from tests.engine.plain_next import plain_next
from tests.engine.plain_parts import Part, assemblies, changed_count, leaning, parts_over
from tests.engine.plain_readings import month_text

RULES = 1

# --- section 7: the verdict ----------------------------------------------------------------


def survives_dropping(dating: Dating, window: Window) -> bool:
    """Tell whether the ratio is still < 1/8 after dropping any one group, λ kept.

    reads: any one of all the groups, whether it speaks or not.
    """
    months = range(window.months)
    for left_out in range(len(dating.p_groups)):
        kept = [p for g, p in enumerate(dating.p_groups) if g != left_out]
        log_p = [math.fsum(math.log(p[t]) for p in kept) for t in months]
        likelihood = tempered(log_p, dating.temper)
        if not below(max(likelihood[t] for t in window.inside()), 1 / 8):
            return False
    return True


def verdict_of(dating: Dating, window: Window, parts: list[Part], facts: dict[str, Any]) -> str:
    """First rule that applies; no outside at all rules nothing out, which is rule 4."""
    ratio, bayes = facts["ratio_to_best"], facts["bayes_factor"]
    found = [part for part in parts if part.found]
    if dating.speaking < 3:
        doubt = dating.speaking == 2 and below(ratio, 1 / 32)
        return "in-doubt" if doubt else "too-little-seen"
    if below(ratio, 1 / 32) and survives_dropping(dating, window):
        return "disagrees"
    if below(ratio, 1 / 8) or facts["apart"] or doubtful(found, facts["changed_count"]["tail"]):
        return "in-doubt"
    if dating.speaking < 5 or below(facts["ruled_out"], 0.5) or bayes is None or below(bayes, 2):
        return "too-little-seen"
    return "agrees-with-changes" if any(p.flagged or p.odd for p in parts) else "agrees"


def doubtful(found: list[Part], tail: float) -> bool:
    """Something found that hardly ever changes, or more found than a genuine one has."""
    seldom = any(at_least(0.02, part.witness.rho) for part in found)
    return seldom or (bool(found) and below(tail, 0.01))


# --- section 10: the result ----------------------------------------------------------------


def plain_verdict(
    reference: Doc,
    answers: Doc,
    window: tuple[str, str] | None = None,
    *,
    terms: Terms = TERMS,
) -> dict[str, Any]:
    """Return the whole result, numbers unrounded; ValueError where the answers are refused."""
    span = judged_window(reference, list(window or answers["window"]))
    found, silent = witnesses(reference, answers, terms)
    groups = grouped(reference, found)
    dating = dated(reference, groups)
    parts = parts_over(reference, groups, dating, span.inside())
    result = dict(_dates(reference, dating, span), groups=len(groups), rules=RULES)
    result.update(_parts(reference, parts, dating, span))
    best = best_window(dating, span)
    at_best = parts_over(reference, groups, dating, best.inside())
    result["best_window"] = {
        "window": _months(reference, best.lo, best.hi),
        "flagged": [part.witness.id for part in at_best if part.flagged],
    }
    result["changed_count"] = changed_count(groups, parts)
    result["assemblies"] = assemblies(reference, found, span)
    result["apart"] = [
        name
        for name in ("neck", "body")
        if name in result["assemblies"]
        and below(result["assemblies"][name]["ratio_to_best"], 1 / 8)
    ]
    result["verdict"] = verdict_of(dating, span, parts, result)
    answered = {w.id for w in found} | silent
    result["next"] = plain_next(reference, answers, dating.p, span.inside(), answered)
    return result


def _months(reference: Doc, a: int, z: int) -> list[str]:
    first, _ = covered(reference)
    return [month_text(first + a), month_text(first + z)]


def _dates(reference: Doc, dating: Dating, window: Window) -> dict[str, Any]:
    first, _ = covered(reference)
    return {
        "claimed": window.claimed,
        "window": _months(reference, window.lo, window.hi),
        "speaking": dating.speaking,
        "temper": dating.temper,
        "likeliest": month_text(first + likeliest_first(dating.p)[0]),
        "reads_as": reads_as(reference, dating.p),
        "equally": _months(reference, *equally(dating, window)),
        "ratio_to_best": dating.best_in(window.inside()),
        "bayes_factor": bayes_factor(dating, window),
        "in_window": math.fsum(dating.p[t] for t in window.inside()),
        "ruled_out": ruled_out(dating, window),
        "posterior": dating.p,
    }


def _parts(reference: Doc, parts: list[Part], dating: Dating, window: Window) -> dict[str, Any]:
    """List the parts; reads: `declared` names witnesses only, not silent points or those of the case."""
    return {
        "flagged": [part.witness.id for part in parts if part.flagged],
        "odd": [part.witness.id for part in parts if part.odd],
        "declared": [part.witness.id for part in parts if part.declared],
        "points": {
            part.witness.id: {
                "changed": part.changed,
                "fits": part.fits,
                "leaning": leaning(part.witness, dating, window),
            }
            for part in parts
        },
    }
