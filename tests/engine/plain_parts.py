"""Part by part (section 6 of the arithmetic), in plain loops."""

import math
from dataclasses import dataclass
from typing import Any

from tests.engine.plain_answers import Doc, Witness
from tests.engine.plain_dates import (
    Dating,
    Group,
    Window,
    at_least,
    below,
    dated,
    m_of,
    p_group,
    reads_as,
    set_rate,
)
from tests.engine.plain_model import assembly

ASSEMBLIES = ("neck", "body", "electrics", "hardware")


def part_in(group: Group, i: int, t: int) -> tuple[float, float]:
    """Return q_i(t) and f_i(t); numerators and P_g are each averaged over the stock times."""
    me, gamma = group.members[i], group.gamma
    changed = fits = 0.0
    for lag in range(group.lags):
        others, at_once = 1.0, 1.0
        for j, w in enumerate(group.members):
            if j != i:
                others *= m_of(w, lag, t)
            at_once *= w.r * w.chances.b[t]
        mine = me.rho * me.r * me.chances.b[t]
        right = (1 - me.rho) * me.o * me.chances.g[lag][t]
        changed += (1 - gamma) * mine * others + gamma * at_once
        fits += (1 - gamma) * right * others
    p = p_group(group, t) * group.lags
    return changed / p, fits / p


@dataclass(frozen=True)
class Part:
    """One witness judged over a window."""

    witness: Witness
    changed: float
    fits: float

    @property
    def flagged(self) -> bool:
        return at_least(self.changed, 0.5)

    @property
    def odd(self) -> bool:
        return not self.flagged and below(self.fits, 0.5)

    @property
    def declared(self) -> bool:
        return self.witness.state == "changed"

    @property
    def found(self) -> bool:
        """Flagged or odd, and not declared: honesty is not punished."""
        return (self.flagged or self.odd) and not self.declared


def parts_over(
    reference: Doc, groups: list[Group], dating: Dating, months: list[int]
) -> list[Part]:
    """changed_i = Σ_W p_W q_i and fits_i = Σ_W p_W f_i, in the reference's order."""
    held = math.fsum(dating.p[t] for t in months)
    parts = {}
    for group in groups:
        for i, w in enumerate(group.members):
            pairs = [(dating.p[t] / held, part_in(group, i, t)) for t in months]
            changed = math.fsum(p * q for p, (q, _) in pairs)
            fits = math.fsum(p * f for p, (_, f) in pairs)
            parts[w.id] = Part(w, changed, fits)
    return [parts[point["id"]] for point in reference["point"] if point["id"] in parts]


def leaning(w: Witness, dating: Dating, window: Window) -> str:
    """Where M_i is largest; reads: of two sides that are equal, the earlier."""
    lags = range(len(w.chances.o))
    m = [sum(m_of(w, lag, t) for lag in lags) / len(lags) for t in range(window.months)]
    means = {"within": dating.w_mean(m, window.inside())}
    for side, months in (("earlier", window.earlier()), ("later", window.later())):
        if months:
            means[side] = dating.w_mean(m, months)
    top = max(means.values())
    if below(top, 2 * min(means.values())):
        return "silent"
    if at_least(means["within"], top / 2):
        return "within"
    return next(
        side for side in ("earlier", "later") if side in means and at_least(means[side], top)
    )


def counted(chances: list[float]) -> list[float]:
    """Return the Poisson-binomial distribution of a count, by exact convolution."""
    pmf = [1.0]
    for c in chances:
        longer = [0.0] * (len(pmf) + 1)
        for n, p in enumerate(pmf):
            longer[n] += p * (1 - c)
            longer[n + 1] += p * c
        pmf = longer
    return pmf


def convolved(a: list[float], b: list[float]) -> list[float]:
    out = [0.0] * (len(a) + len(b) - 1)
    for i, x in enumerate(a):
        for j, y in enumerate(b):
            out[i + j] += x * y
    return out


def found_rate(w: Witness) -> float:
    """ρ + (1−ρ)(1 − (1−ε)(1−other)).

    reads: ε is the answer's own, `other` the point's (0.02 where it gives none, date codes too).
    """
    other = w.point.get("other", 0.02)
    return float(w.rho + (1 - w.rho) * (1 - (1 - w.epsilon) * (1 - other)))


def changed_count(groups: list[Group], parts: list[Part]) -> dict[str, float]:
    """Return expected, usual and tail, the last two on the undeclared points alone."""
    pmf = [1.0]
    for group in groups:
        rates = [found_rate(w) for w in group.members if w.state != "changed"]
        singly = [(1 - group.gamma) * p for p in counted(rates)]
        singly[-1] += group.gamma
        pmf = convolved(pmf, singly)
    found = sum(1 for part in parts if part.found)
    return {
        "expected": math.fsum(part.changed for part in parts),
        "usual": math.fsum(n * p for n, p in enumerate(pmf)),
        "tail": math.fsum(pmf[found:]),
    }


def lasting(reference: Doc, w: Witness) -> bool:
    """Tell whether the larger of ρ and its set's γ is at most 0.1."""
    return at_least(0.1, max(w.rho, set_rate(reference, w)))


def without_sets(found: list[Witness]) -> list[Group]:
    """Each witness by itself; date codes still share the stock time; reads: γ = 0 for all."""
    codes = [w for w in found if w.is_code]
    alone = [Group(0.0, [w]) for w in found if not w.is_code]
    return alone + ([Group(0.0, codes)] if codes else [])


def assemblies(reference: Doc, found: list[Witness], window: Window) -> dict[str, dict[str, Any]]:
    """Judge each assembly with three lasting witnesses or more by the same arithmetic.

    reads: witnesses declared changed are among the three; λ comes from the assembly's own F.
    """
    judged = {}
    for name in ASSEMBLIES:
        members = [w for w in found if assembly(w.point) == name and lasting(reference, w)]
        if len(members) >= 3:
            dating = dated(reference, without_sets(members))
            judged[name] = {
                "points": len(members),
                "ratio_to_best": dating.best_in(window.inside()),
                "reads_as": reads_as(reference, dating.p),
            }
    return judged
