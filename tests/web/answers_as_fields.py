"""An answer as the form fields that a browser would send for it, written without the app."""

from collections.abc import Mapping
from typing import Any

from quickcheck.reference import Point


def fields(point: Point, given: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return the fields of one point's form."""
    name = point.id
    seen = given.get("seen", [])
    found = [("_point", name)]
    found += [(name, one) for one in ([seen] if isinstance(seen, str) else seen)]
    found += [(f"{name}.where", place) for place in given.get("where", [])]
    if "value" in given:
        found += [(name, f"{given['value']:.12g}"), (f"{name}.unit", given["unit"])]
    if "read" in given:
        found.append((name, given["read"]))
    if given.get("sure") is False:
        found.append((f"{name}.unsure", "1"))
    for part, key in (("state", "state"), ("not-seen", "not_seen"), ("note", "note")):
        if key in given:
            found.append((f"{name}.{part}", given[key]))
    return found
