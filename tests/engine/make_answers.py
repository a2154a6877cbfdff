"""Answers to a reference, made up choice by choice: mostly of one month, as on a real instrument."""

from collections.abc import Sequence
from typing import Any

from tests.engine.choosing import Chooser, maybe
from tests.engine.plain_readings import converted, month_number, month_text

Doc = dict[str, Any]

STATES = (
    None,
    None,
    None,
    None,
    None,
    None,
    "no-sign",
    "no-sign",
    "signs",
    "undisturbed",
    "changed",
)
NOT_SEEN = ("not-allowed", "not-visible", "no-tool", "no-time")
SAME_KIND = (("in", "mm"), ("lb", "oz", "kg", "g"), ("ohm", "kohm"))
TERMS = ("changed-tuners", "player-wear", "case-not-first")


def make_answers(choose: Chooser, reference: Doc, terms: Sequence[str] = TERMS) -> Doc:
    first, last = (month_number(text) for text in reference["covers"])
    lo, hi = _window(choose, last - first + 1)
    built = choose.whole(lo, hi) if choose.chance(70) else choose.whole(0, last - first)
    month = min(max(first + built, first), last)
    thorough = choose.chance(50)
    answers: Doc = {
        "reference": reference["id"],
        "window": [month_text(first + lo), month_text(first + hi)],
        "answers": {},
        **maybe(choose, "access", (None, None, "look", "handle", "open")),
    }
    if choose.chance(30):
        answers["tools"] = sorted({choose.one_of(("lamp", "gauge", "meter")) for _ in range(2)})
    if choose.chance(20):
        answers["disclosures"] = [choose.one_of(tuple(terms))]
    for point in reference["point"]:
        answer = _answer(choose, point, month, thorough=thorough)
        if answer is not None:
            answers["answers"][point["id"]] = answer
    return answers


def _window(choose: Chooser, months: int) -> tuple[int, int]:
    """Inside what is covered, over an edge of it, or all of it and more."""
    if choose.chance(8):
        return -choose.whole(0, 2), months - 1 + choose.whole(0, 2)
    length = choose.whole(1, min(24, months + 6))
    lo = choose.whole(1 - length, months - 1) if choose.chance(25) else choose.whole(0, months - 1)
    return lo, lo + length - 1


def _answer(choose: Chooser, point: Doc, month: int, *, thorough: bool) -> Doc | None:
    """One answer, not seen, nothing but a change, or none at all."""
    fate = choose.whole(0, 79 if thorough else 99)
    if fate >= 88:
        return None
    if fate >= 82:
        return {"not_seen": choose.one_of(NOT_SEEN)}
    if point["kind"] == "sign":
        return _signs(choose, point)
    if fate >= 78:
        return {"state": "changed"}
    kind = {"pick": _seen, "measure": _value, "serial": _serial, "datecode": _code}
    answer = kind[point["kind"]](choose, point, month)
    if not thorough or choose.chance(25):
        answer |= maybe(choose, "state", STATES)
    return answer | maybe(choose, "sure", (None, None, True, False))


def _signs(choose: Chooser, point: Doc) -> Doc:
    names = [variant["id"] for variant in point["seen"]]
    if not point["many"] or choose.chance(50):
        return {"seen": choose.one_of((*names, names[0], "other"))}
    return {"seen": [name for name in names if choose.chance(70)] or names[:1]}


def _variant(choose: Chooser, point: Doc, month: int) -> Doc:
    """Mostly one that was fitted in this month, else any."""
    fitting = [v for v in point["seen"] if _holds(v, month)]
    return dict(choose.one_of(fitting if fitting and choose.chance(85) else point["seen"]))


def _holds(variant: Doc, month: int) -> bool:
    after = "from" not in variant or month >= month_number(variant["from"])
    return after and ("to" not in variant or month <= month_number(variant["to"]))


def _seen(choose: Chooser, point: Doc, month: int) -> Doc:
    variant = _variant(choose, point, month)
    return {"seen": "other" if choose.chance(5) else variant["id"]}


def _value(choose: Chooser, point: Doc, month: int) -> Doc:
    """Near a variant's mean, or anywhere in the span with both its ends, in any unit of its kind."""
    lowest, highest = point["span"]
    steps = choose.whole(-30, 30) if choose.chance(80) else choose.whole(-1000, 1000)
    mean = _variant(choose, point, month)["mean"]
    value = round(min(max(mean + steps * (highest - lowest) / 1000, lowest), highest), 5)
    answer: Doc = {"value": value} | maybe(choose, "unit", (point["unit"], None))
    if choose.chance(30) and lowest < value < highest:
        units = next(units for units in SAME_KIND if point["unit"] in units)
        unit = choose.one_of(units)
        away = round(converted(value, point["unit"], unit), 6)
        if lowest <= converted(away, unit, point["unit"]) <= highest:
            answer = {"value": away, "unit": unit}
    return answer


def _serial(choose: Chooser, point: Doc, month: int) -> Doc:
    """Answer with a number of a block, or any number of three or four digits."""
    block = _variant(choose, point, month)
    number = choose.whole(block["first"], block["last"])
    if choose.chance(15):
        number = choose.whole(100, 9999)
    letter = choose.one_of(("", "B")) if point["pattern"].startswith("[A") else ""
    return {"read": f"{letter}{number}"}


def _code(choose: Chooser, point: Doc, month: int) -> Doc:
    """Answer with a week some months before the instrument was built, now and then any week at all."""
    month -= choose.whole(0, 8)
    year, week = month // 12, 1 + (month % 12) * 52 // 12 + choose.whole(0, 3)
    if choose.chance(15):
        year, week = choose.whole(1946, 1975), choose.whole(1, 52)
    year = max(year, 1946)
    if point["scheme"] == "year-week":
        return {"read": f"{year % 100:02d}-{week:02d}"}
    forms = (
        "137 {d}{w:02d}",
        "137-{y:02d}{w:02d}",
        "137{d}{w:02d}",
        "1376 {d}{w:02d}",
        "137{y:02d}{w:02d}",
        "137-{y:02d}-{w:02d}",
        "1376{y:02d}{w:02d}",
    )
    return {"read": choose.one_of(forms).format(d=year % 10, y=year % 100, w=week)}
