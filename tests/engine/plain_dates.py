"""Window, groups and date (sections 1, 4 and 5 of the arithmetic), in plain loops."""

import math
from dataclasses import dataclass

from tests.engine.plain_answers import Doc, Witness
from tests.engine.plain_model import covered, output
from tests.engine.plain_readings import month_number, month_text

KAPPA = 1.7
NEAR = 60  # months on either side of the window that count as outside


def r9(x: float) -> float:
    """Every comparison is made after rounding both sides to 9 decimals (section 2)."""
    return round(x, 9)


def below(a: float, b: float) -> bool:
    return r9(a) < r9(b)


def at_least(a: float, b: float) -> bool:
    return r9(a) >= r9(b)


# --- section 1: the window -----------------------------------------------------------------


@dataclass(frozen=True)
class Window:
    """Indices of the first and last month judged, out of `months`, and the months as claimed."""

    lo: int
    hi: int
    months: int
    claimed: list[str]

    def inside(self) -> list[int]:
        return list(range(self.lo, self.hi + 1))

    def earlier(self) -> list[int]:
        return list(range(max(0, self.lo - NEAR), self.lo))

    def later(self) -> list[int]:
        return list(range(self.hi + 1, min(self.months, self.hi + 1 + NEAR)))

    def outside(self) -> list[int]:
        return self.earlier() + self.later()


def judged_window(reference: Doc, claimed: list[str]) -> Window:
    first, months = covered(reference)
    lo, hi = (month_number(text) - first for text in claimed)
    if lo > hi:
        raise ValueError("window reversed")
    if hi < 0 or lo >= months:
        raise ValueError("window wholly outside what the reference covers")
    return Window(max(lo, 0), min(hi, months - 1), months, list(claimed))


# --- section 4: groups ---------------------------------------------------------------------


@dataclass(frozen=True)
class Group:
    """One witness: γ and the members; `lags` is 6 for date codes, else 1."""

    gamma: float
    members: list[Witness]

    @property
    def lags(self) -> int:
        return len(self.members[0].chances.o)


def grouped(reference: Doc, found: list[Witness]) -> list[Group]:
    """Group by sets, points in no set, and all date codes together (γ of `codes`, 0 where not declared)."""
    by_name: dict[str, list[Witness]] = {}
    for w in found:
        name = (
            "set codes"
            if w.is_code
            else f"set {w.point['changed_with']}"
            if ("changed_with" in w.point)
            else f"point {w.id}"
        )
        by_name.setdefault(name, []).append(w)
    return [Group(set_rate(reference, members[0]), members) for members in by_name.values()]


def set_rate(reference: Doc, w: Witness) -> float:
    name = "codes" if w.is_code else w.point.get("changed_with")
    return float(reference.get("set", {}).get(name, {}).get("changed", 0.0))


def m_of(w: Witness, lag: int, t: int) -> float:
    """M = (1−ρ) o O + ρ r B."""
    return (1 - w.rho) * w.o * w.chances.o[lag][t] + w.rho * w.r * w.chances.b[t]


def p_group(group: Group, t: int) -> float:
    """P_g(t) = (1−γ) Π M_i + γ Π r_i B_i, averaged over the stock times."""
    total = 0.0
    for lag in range(group.lags):
        singly, at_once = 1.0, 1.0
        for w in group.members:
            singly *= m_of(w, lag, t)
            at_once *= w.r * w.chances.b[t]
        total += (1 - group.gamma) * singly + group.gamma * at_once
    return total / group.lags


# --- section 5: the date -------------------------------------------------------------------


@dataclass(frozen=True)
class Dating:
    """What the groups say of the date: P_g(t) by group, λ, F, L(t), w(t) and p(t)."""

    p_groups: list[list[float]]
    temper: float
    speaking: int
    likelihood: list[float]
    w: list[float]
    p: list[float]

    def w_mean(self, values: list[float], months: list[int]) -> float:
        return math.fsum(self.w[t] * values[t] for t in months) / math.fsum(
            self.w[t] for t in months
        )

    def best_in(self, months: list[int]) -> float:
        """Return max L over these months; max of L over all of them is 1."""
        return max(self.likelihood[t] for t in months)


def speaks(p: list[float]) -> bool:
    """Tell whether max P_g ≥ 2 · min P_g; reads: both sides are rounded as they stand, not their quotient."""
    return at_least(max(p), 2 * min(p))


def tempered(log_p: list[float], temper: float) -> list[float]:
    """L(t) = exp(λ (ℓ(t) − max ℓ))."""
    return [math.exp(temper * (x - max(log_p))) for x in log_p]


def dated(reference: Doc, groups: list[Group]) -> Dating:
    """λ = min(1, κ/√F); reads: 1 where F = 0."""
    w = output(reference)
    months = range(len(w))
    p_groups = [[p_group(group, t) for t in months] for group in groups]
    speaking = sum(1 for p in p_groups if speaks(p))
    kappa = reference.get("kappa", KAPPA)
    temper = min(1.0, kappa / math.sqrt(speaking)) if speaking else 1.0
    log_p = [math.fsum(math.log(p[t]) for p in p_groups) for t in months]
    likelihood = tempered(log_p, temper)
    total = math.fsum(w[t] * likelihood[t] for t in months)
    p = [w[t] * likelihood[t] / total for t in months]
    return Dating(p_groups, temper, speaking, likelihood, w, p)


def likeliest_first(p: list[float]) -> list[int]:
    """Months by p rounded to 12 decimals, then the earlier one."""
    return sorted(range(len(p)), key=lambda t: (-round(p[t], 12), t))


def reads_as(reference: Doc, p: list[float]) -> list[list[str]]:
    """Return the smallest set of months holding 90 % of p, as runs."""
    first, _ = covered(reference)
    held, months = 0.0, []
    for t in likeliest_first(p):
        if at_least(held, 0.9):
            break
        held += p[t]
        months.append(t)
    runs: list[list[int]] = []
    for t in sorted(months):
        if runs and runs[-1][1] == t - 1:
            runs[-1][1] = t
        else:
            runs.append([t, t])
    return [[month_text(first + a), month_text(first + z)] for a, z in runs]


def bayes_factor(dating: Dating, window: Window) -> float | None:
    if not window.outside():
        return None
    inside = dating.w_mean(dating.likelihood, window.inside())
    return inside / dating.w_mean(dating.likelihood, window.outside())


def ruled_out(dating: Dating, window: Window) -> float:
    """w-share of the outside whose L < max-in-window/8."""
    outside = window.outside()
    if not outside:
        return 0.0
    top = dating.best_in(window.inside())
    gone = [t for t in outside if below(dating.likelihood[t], top / 8)]
    return math.fsum(dating.w[t] for t in gone) / math.fsum(dating.w[t] for t in outside)


def equally(dating: Dating, window: Window) -> tuple[int, int]:
    """Return the window, and the months on either side without a break in which L ≥ ½ max.

    reads: this may go on to the ends of what is covered, not only for 60 months.
    """
    half = 0.5 * dating.best_in(window.inside())
    a, z = window.lo, window.hi
    while a > 0 and at_least(dating.likelihood[a - 1], half):
        a -= 1
    while z + 1 < window.months and at_least(dating.likelihood[z + 1], half):
        z += 1
    return a, z


def best_window(dating: Dating, window: Window) -> Window:
    """Return the window of the same length with the highest w-mean of L; ties: earlier."""
    length = window.hi - window.lo
    best, top = 0, -1.0
    for a in range(window.months - length):
        mean = round(dating.w_mean(dating.likelihood, list(range(a, a + length + 1))), 12)
        if mean > top:
            best, top = a, mean
    return Window(best, best + length, window.months, [])
