"""The format as a JSON Schema (draft 2020-12, json-schema.org), for editors that can use one.

Made from the reader's own tables, so the two can't drift apart. A file that it refuses the reader
refuses; the reader knows more: what entries must be to each other, and what pictures hold.
"""

from typing import Any, Final

from quickcheck.reference import _fields as fields
from quickcheck.reference._forms import NAME
from quickcheck.reference.records import Kind

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


def json_schema() -> dict[str, Any]:
    """Return the schema of a whole reference, as parsed from TOML."""
    schema = _object(fields.REFERENCE)
    kinds = [{"$ref": f"#/$defs/{kind}"} for kind in Kind]
    points = {"type": "array", "maxItems": fields.MOST_POINTS, "items": {"oneOf": kinds}}
    schema["properties"] |= {
        "source": _named(fields.SOURCE),
        "set": _named(fields.SET),
        "point": points,
    }
    definitions = {str(kind): _point(kind) for kind in Kind}
    head = {"$schema": DIALECT, "title": f"A reference, format {fields.FORMAT}"}
    return {**head, **schema, "$defs": definitions}


def _object(table: fields.Table) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": {key: {**field.form.schema} for key, field in table.items()},
        "required": [key for key, field in table.items() if field.needed],
        "additionalProperties": False,
    }


def _named(table: fields.Table) -> dict[str, Any]:
    return {
        "type": "object",
        "propertyNames": {**NAME.schema},
        "additionalProperties": _object(table),
    }


def _point(kind: Kind) -> dict[str, Any]:
    point = _object(fields.POINT[kind])
    point["properties"]["kind"] = {"const": str(kind)}
    if "seen" in point["properties"]:
        variants = {"items": _object(fields.VARIANT[kind]), "maxItems": fields.MOST_VARIANTS}
        point["properties"]["seen"] = {"type": "array", **variants}
    return point
