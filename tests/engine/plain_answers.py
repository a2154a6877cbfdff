"""What an answer says (sections 1, 3 and the states of section 4), answer by answer."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tests.engine.plain_model import Table, assembly, covered, replaced, usage
from tests.engine.plain_readings import code_months, converted

Doc = dict[str, Any]
Terms = Mapping[str, tuple[list[str], list[str]]]

SURE, UNSURE = 0.02, 0.25
STOCK = (1, 2, 4, 8, 16, 32)  # months for which parts lay in stock
BEFORE = 36  # months before the first one in which a code's candidates are counted
STEPS = 4095
STATES: dict[str | None, tuple[float, float]] = {
    None: (1, 1),
    "changed": (0, 1),
    "signs": (1, 6),
    "no-sign": (1, 0.5),
    "undisturbed": (1, 0.1),
}
NOT_SEEN = ("not-allowed", "not-visible", "no-tool", "no-time")
ACCESS = ("look", "handle", "open")
SHOWN = {"seen", "value", "read"}
GIVEN = SHOWN | {"state"}

# Disclosures whose effect on the areas of a reference needs no interpreting: (own, others).
# Any other table can be handed in.
TERMS: Terms = {
    "changed-tuners": (["area:tuners"], []),
    "player-wear": ([], []),
    "case-not-first": ([], []),
}


@dataclass(frozen=True)
class Chances:
    """O and G (the part of O from listed variants) by stock time, and B; each one number a month.

    Only date codes have more than one stock time.
    """

    o: list[list[float]]
    g: list[list[float]]
    b: list[float]


@dataclass(frozen=True)
class Witness:
    """One answered point that counts: O, G, B are its chances, `o` and `r` what its state says."""

    id: str
    point: Doc
    epsilon: float
    state: str | None
    o: float
    r: float
    chances: Chances

    @property
    def rho(self) -> float:
        return float(self.point.get("changed", 0.05))

    @property
    def is_code(self) -> bool:
        return bool(self.point["kind"] == "datecode")


def points_by_id(reference: Doc) -> dict[str, Doc]:
    return {point["id"]: point for point in reference["point"]}


def chosen_by(point: Doc, selectors: list[str]) -> bool:
    """Tell whether ids (or "prefix*"), "area:…" or "assembly:…" name this point."""
    for selector in selectors:
        kind, _, name = selector.partition(":")
        if kind == "area" and name == point["area"]:
            return True
        if kind == "assembly" and name == assembly(point):
            return True
        if selector == point["id"]:
            return True
        if selector.endswith("*") and point["id"].startswith(selector[:-1]):
            return True
    return False


def epsilon_of(answer: Doc) -> float:
    return UNSURE if answer.get("sure") is False else SURE


# --- section 3, kind by kind ---------------------------------------------------------------


def pick(point: Doc, seen: str, eps: float, span: tuple[int, int]) -> Chances:
    """O = (1−ε) U(v,t) + ε/(V+1), B = (1−ε) Q(v,t) + ε/(V+1)."""
    u = usage(point, *span)
    if not isinstance(seen, str) or seen not in u:
        raise ValueError(f"unknown variant: {seen!r}")
    return _of_variants(u, replaced(point, u), [seen], eps)


def serial(point: Doc, read: str, eps: float, span: tuple[int, int]) -> Chances:
    """As pick with the chances of the k blocks that hold the number added; none: 'other'."""
    if not re.fullmatch(point["pattern"], read, re.ASCII):
        raise ValueError(f"a serial that does not match its pattern: {read!r}")
    digits = "".join(c for c in read if c in "0123456789")
    # reads: a serial without a digit is in no block
    holding = [v for v in point["seen"] if digits and v["first"] <= int(digits) <= v["last"]]
    blocks = [v["id"] for v in holding]
    u = usage(point, *span)
    return _of_variants(u, replaced(point, u), blocks or ["other"], eps)


def _of_variants(u: Table, q: Table, shown: list[str], eps: float) -> Chances:
    size = len(u) - 1  # V: the listed variants
    noise = len(shown) * eps / (size + 1)
    months = range(len(u["other"]))
    listed = [(1 - eps) * sum(u[v][t] for v in shown if v != "other") for t in months]
    o = [(1 - eps) * sum(u[v][t] for v in shown) + noise for t in months]
    b = [(1 - eps) * sum(q[v][t] for v in shown) + noise for t in months]
    return Chances([o], [listed], b)


def normal(x: float, mean: float, sd: float) -> float:
    """N(x; mean, sd), the normal density."""
    return math.exp(-0.5 * ((x - mean) / sd) ** 2) / (sd * math.sqrt(2 * math.pi))


def carried(point: Doc, value: float) -> float:
    """Return the value that 12 bits carry: x = lowest + ⌊r + ½⌋ · width/4095.

    A value is compared with its span after rounding both to 9 decimals.
    """
    lowest, highest = point["span"]
    if not round(lowest, 9) <= round(value, 9) <= round(highest, 9):
        raise ValueError(f"a value outside its span: {value!r}")
    width = highest - lowest
    r = round((value - lowest) / width * STEPS, 6)
    return float(lowest + math.floor(r + 0.5) * width / STEPS)


def measure_at(point: Doc, x: float, eps: float, u: Table) -> Chances:
    """O = (1−ε)[Σ_v U·N(x; mean_v, √(spread_v² + tolerance²)) + U(other)/width] + ε/width."""
    width = point["span"][1] - point["span"][0]
    months = range(len(u["other"]))
    density = {
        v["id"]: normal(x, v["mean"], math.hypot(v["spread"], point["tolerance"]))
        for v in point["seen"]
    }
    listed = [(1 - eps) * sum(u[v][t] * density[v] for v in density) for t in months]
    o = [listed[t] + (1 - eps) * u["other"][t] / width + eps / width for t in months]
    return Chances([o], [listed], [1 / width] * len(o))


def measure(point: Doc, answer: Doc, eps: float, span: tuple[int, int]) -> Chances:
    """Convert and judge a value; reads: a value without a unit is in the point's own."""
    value = float(answer["value"])
    value = converted(value, answer.get("unit", point["unit"]), point["unit"])
    return measure_at(point, carried(point, value), eps, usage(point, *span))


def datecode(point: Doc, read: str, eps: float, span: tuple[int, int]) -> Chances:
    """O = (1−ε) Σ_{c≤t} [e^{−(t−c)/s} − e^{−(t−c+1)/s}] + ε·k/(T+36); B = k/(T+36).

    reads: a code that has candidates, but none within [first−36, last], stands with k = 1.
    """
    first, months = span
    last = first + months - 1
    candidates = code_months(point["scheme"], read, last // 12)
    k = max(1, sum(1 for c in candidates if first - BEFORE <= c <= last))
    noise = k / (months + BEFORE)
    o: list[list[float]] = []
    g: list[list[float]] = []
    for s in STOCK:
        lag = [_stock_chance(candidates, first + t, s) for t in range(months)]
        g.append([(1 - eps) * x for x in lag])
        o.append([(1 - eps) * x + eps * noise for x in lag])
    return Chances(o, g, [noise] * months)


def _stock_chance(candidates: list[int], month: int, s: int) -> float:
    return sum(
        math.exp(-(month - c) / s) - math.exp(-(month - c + 1) / s)
        for c in candidates
        if c <= month
    )


def chances_of(point: Doc, answer: Doc, span: tuple[int, int]) -> Chances:
    """O, G and B of one answer; nothing but a change seen: O = B = 1."""
    if not SHOWN & answer.keys():
        if answer.get("state") != "changed":
            raise ValueError(f"{point['id']}: a state needs an answer with it")
        ones = [1.0] * span[1]
        rows = [ones] * (len(STOCK) if point["kind"] == "datecode" else 1)
        return Chances(rows, rows, ones)
    eps, kind = epsilon_of(answer), point["kind"]
    try:
        if kind == "pick":
            return pick(point, answer["seen"], eps, span)
        if kind == "serial":
            return serial(point, answer["read"], eps, span)
        if kind == "datecode":
            return datecode(point, answer["read"], eps, span)
        return measure(point, answer, eps, span)
    except KeyError as missing:
        raise ValueError(f"{point['id']}: an answer of kind {kind} has {missing}") from missing


# --- section 4: states, signs, disclosures -------------------------------------------------


def checked(reference: Doc, answers: Doc) -> dict[str, Doc]:
    """Return the answers by point, refusing unknown points, states and reasons (section 1)."""
    points = points_by_id(reference)
    given: dict[str, Doc] = answers["answers"]
    for name, answer in given.items():
        if name not in points:
            raise ValueError(f"unknown point: {name!r}")
        if answer.get("state") not in STATES:
            raise ValueError(f"{name}: unknown state {answer['state']!r}")
        if "not_seen" in answer and answer["not_seen"] not in NOT_SEEN:
            raise ValueError(f"{name}: unknown reason {answer['not_seen']!r}")
        if "not_seen" in answer and GIVEN & answer.keys():
            raise ValueError(f"{name}: both seen and not seen")
    return given


def with_disclosures(reference: Doc, answers: Doc, terms: Terms) -> tuple[dict[str, Doc], set[str]]:
    """Return answers with "own" as state `changed`, and the ids that "others" makes silent.

    reads: an own point that was not answered (or was marked not seen) becomes one of which nothing
    but a change is known; a state that was given gives way to `changed`; silent outweighs own;
    sign points have no part that could be changed, so "own" leaves them alone.
    """
    given, silent = dict(checked(reference, answers)), set()
    for name in answers.get("disclosures", ()):
        if name not in terms:
            raise ValueError(f"unknown disclosure: {name!r}")
        own, others = terms[name]
        for point in reference["point"]:
            if chosen_by(point, others):
                silent.add(point["id"])
            if chosen_by(point, own) and point["kind"] != "sign":
                answer = given.get(point["id"], {})
                kept = {} if "not_seen" in answer else answer
                given[point["id"]] = {**kept, "state": "changed"}
    return given, silent


def ticked(point: Doc, answer: Doc) -> list[Doc]:
    """Return the variants ticked on a sign point; reads: 'other' bears on nothing."""
    seen = answer.get("seen", [])
    names = [seen] if isinstance(seen, str) else seen
    variants = {v["id"]: v for v in point["seen"]}
    for name in names:
        if name not in variants and name != "other":
            raise ValueError(f"{point['id']}: unknown variant {name!r}")
    return [variants[name] for name in names if name != "other"]


def signs(reference: Doc, given: dict[str, Doc]) -> tuple[dict[str, float], set[str]]:
    """Return what r is multiplied by, point by point, and the ids that signs make silent.

    reads: every ticked variant counts once for every point, however many selectors name it;
    sure, state and the rest of a sign answer change nothing; signs on the case never count.
    """
    odds = dict.fromkeys(points_by_id(reference), 1.0)
    silent: set[str] = set()
    for sign in reference["point"]:
        if sign["kind"] != "sign" or sign["id"] not in given:
            continue
        for variant in ticked(sign, given[sign["id"]]):
            if assembly(sign) == "case":
                continue
            for point in reference["point"]:
                if not chosen_by(point, sign["bears_on"]):
                    continue
                odds[point["id"]] *= variant.get("odds", 1.0)
                if variant.get("silent", False):
                    silent.add(point["id"])
    return odds, silent


def witnesses(reference: Doc, answers: Doc, terms: Terms = TERMS) -> tuple[list[Witness], set[str]]:
    """Return the witnesses in the reference's order, and the ids that were made silent.

    Points of the case and sign points are no witnesses; refusals apply to them all the same.
    """
    given, hushed = with_disclosures(reference, answers, terms)
    odds, silent = signs(reference, given)
    silent |= hushed
    found = []
    for point in reference["point"]:
        answer = given.get(point["id"])
        if answer is None or "not_seen" in answer or point["kind"] == "sign":
            continue
        chances = chances_of(point, answer, covered(reference))
        if assembly(point) == "case" or point["id"] in silent:
            continue
        o, r = STATES[answer.get("state")]
        r *= odds[point["id"]]
        found.append(
            Witness(point["id"], point, epsilon_of(answer), answer.get("state"), o, r, chances)
        )
    return found, silent
