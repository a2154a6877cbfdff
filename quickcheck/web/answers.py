"""One point's form fields → its answer, and back.

Field names: the point's own id for what was seen or read, and ``<id>.<part>`` for the rest.
"""

from collections.abc import Mapping
from typing import Any

from werkzeug.datastructures import MultiDict

from quickcheck.readings import parse_quantity
from quickcheck.reference import Kind, Place, Point

Fields = MultiDict[str, str]


def answer_of(point: Point, fields: Fields) -> dict[str, Any] | None:
    """Return the answer that was filled in at a point, or None if nothing was.

    Raises ReadingError where a number can't be read; whether the reference has a place for the
    answer is checked by whoever records it.
    """
    answer = _ANSWERS[point.kind](point, fields)
    if fields.get(f"{point.id}.unsure"):
        answer["sure"] = False
    for part, key in (("state", "state"), ("not-seen", "not_seen"), ("note", "note")):
        if text := fields.get(f"{point.id}.{part}", "").strip():
            answer[key] = text
    if answer.keys() <= {"sure"}:
        return None
    return answer


def _picked(point: Point, fields: Fields) -> dict[str, Any]:
    seen = fields.get(point.id, "").strip()
    return {"seen": seen} if seen else {}


def _ticked(point: Point, fields: Fields) -> dict[str, Any]:
    seen = [variant for variant in fields.getlist(point.id) if variant.strip()]
    if not seen:
        return {}
    answer: dict[str, Any] = {"seen": seen if point.many else seen[0]}
    where = [place for place in fields.getlist(f"{point.id}.where") if place in set(Place)]
    return {**answer, "where": where} if where else answer


def _measured(point: Point, fields: Fields) -> dict[str, Any]:
    text = fields.get(point.id, "").strip()
    if not text:
        return {}
    quantity = parse_quantity(text, fields.get(f"{point.id}.unit") or point.unit or "")
    return {"value": quantity.value, "unit": quantity.unit}


def _read(point: Point, fields: Fields) -> dict[str, Any]:
    text = fields.get(point.id, "").strip()
    return {"read": text} if text else {}


_ANSWERS = {
    Kind.PICK: _picked,
    Kind.SIGN: _ticked,
    Kind.MEASURE: _measured,
    Kind.SERIAL: _read,
    Kind.DATECODE: _read,
}


def fields_of(point: Point, answer: Mapping[str, Any]) -> Fields:
    """Return the fields that would give this answer, to fill a point's form again."""
    fields: Fields = MultiDict()
    if "seen" in answer:
        seen = answer["seen"]
        fields.setlist(point.id, [seen] if isinstance(seen, str) else list(seen))
    if "value" in answer:
        fields[point.id] = f"{answer['value']:.12g}"
        fields[f"{point.id}.unit"] = answer.get("unit") or point.unit or ""
    if "read" in answer:
        fields[point.id] = answer["read"]
    if answer.get("sure") is False:
        fields[f"{point.id}.unsure"] = "1"
    for part, key in (("state", "state"), ("not-seen", "not_seen"), ("note", "note")):
        if key in answer:
            fields[f"{point.id}.{part}"] = answer[key]
    fields.setlist(f"{point.id}.where", list(answer.get("where", ())))
    return fields
