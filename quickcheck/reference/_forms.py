"""Forms of values: how each is read, what is expected in words, what to do where it is not so."""

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from quickcheck.readings import SerialPattern, parse_month
from quickcheck.reference.pictures import LONGEST_NAME, PICTURE_NAME
from quickcheck.reference.records import OTHER

_CONTROL: Final = re.compile(
    r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
)
_NAME: Final = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_LONGEST_NAME: Final = 64
_PERIOD: Final = re.compile(r"[0-9]{4}(-[0-9]{2})?")
OUTLINES: Final = ("solid", "bass", "archtop", "flat-top")


class NotOfFormError(ValueError):
    """The value is not of the form; the form itself has the words."""


@dataclass(frozen=True, slots=True)
class Form:
    """What a value must be. ``read`` returns it or raises NotOfFormError or ReadingError.

    ``schema`` says as much of it as JSON Schema 2020-12 can; what it refuses, ``read`` refuses.
    """

    expected: str
    remedy: str
    read: Callable[[object], object]
    schema: Mapping[str, Any] = field(default_factory=dict, compare=False)


def _need(fits: bool) -> None:
    if not fits:
        raise NotOfFormError


def words(longest: int = 200) -> Form:
    """Text that says something, without control signs."""

    def read(value: object) -> str:
        if not isinstance(value, str):
            raise NotOfFormError
        _need(0 < len(value.strip()) <= longest and not _CONTROL.search(value))
        return value.strip()

    pattern = rf"^\s*\S([\s\S]{{0,{longest - 2}}}\S)?\s*$"
    return Form(
        f"text in quotes, 1 to {longest} characters",
        "Write it, or leave the key out.",
        read,
        {"type": "string", "pattern": pattern},
    )


def _read_name(value: object) -> str:
    if not isinstance(value, str):
        raise NotOfFormError
    _need(_NAME.fullmatch(value) is not None and len(value) <= _LONGEST_NAME)
    return value


def _read_own_name(value: object) -> str:
    name = _read_name(value)
    _need(name != OTHER)
    return name


_NAME_WORDS: Final = f"a to z, 0 to 9 and single hyphens, at most {_LONGEST_NAME} signs"
_NAME_SCHEMA: Final = {
    "type": "string",
    "pattern": f"^{_NAME.pattern}$",
    "maxLength": _LONGEST_NAME,
}
NAME: Final = Form(
    _NAME_WORDS, "Rename it, here and wherever it is used.", _read_name, _NAME_SCHEMA
)
OWN_NAME: Final = Form(
    f'{_NAME_WORDS}, and not "{OTHER}", which stands for whatever is not listed',
    "Rename it, here and wherever it is used.",
    _read_own_name,
    _NAME_SCHEMA | {"not": {"const": OTHER}},
)


def number(low: float, high: float, *, open_ends: str = "") -> Form:
    """Return the form of a number; ``open_ends`` names the ends that don't count: "low high"."""

    def read(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise NotOfFormError
        _need(low <= value <= high and math.isfinite(value))
        _need(
            not (("low" in open_ends and value == low) or ("high" in open_ends and value == high))
        )
        return float(value)

    least = f"above {low:.10g}" if "low" in open_ends else f"from {low:.10g}"
    joint = " and below" if "high" in open_ends else ", at most" if open_ends else " to"
    expected = f"a number {least}{joint} {high:.10g}"
    schema = {
        "type": "number",
        "exclusiveMinimum" if "low" in open_ends else "minimum": low,
        "exclusiveMaximum" if "high" in open_ends else "maximum": high,
    }
    return Form(expected, "Write a number in that range, without quotes.", read, schema)


def whole(low: int, high: int) -> Form:
    """Return the form of a whole number, both ends included."""

    def read(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise NotOfFormError
        _need(low <= value <= high and value == int(value))
        return int(value)

    schema = {"type": "integer", "minimum": low, "maximum": high}
    return Form(f"a whole number from {low} to {high}", "Write it without quotes.", read, schema)


def exactly(known: int) -> Form:
    """Return the form of the one number that is known here."""
    return Form(
        f"{known}, the format that this software reads",
        f"Write format = {known}, or use the software that the file was written for.",
        whole(known, known).read,
        {"const": known},
    )


def _read_month(value: object) -> int:
    if not isinstance(value, str):
        raise NotOfFormError
    return parse_month(value)


MONTH: Final = Form(
    'a month in quotes, like "1954-03"',
    "Put quotes round year and month, no day.",
    _read_month,
    {"type": "string", "pattern": r"^\s*(1[89][0-9]{2}|20[0-9]{2}|2100)-(0[1-9]|1[0-2])\s*$"},
)


def choice(allowed: Iterable[str]) -> Form:
    """Return the form of one word out of a list."""
    known = tuple(allowed)

    def read(value: object) -> str:
        if not isinstance(value, str) or value not in known:
            raise NotOfFormError
        return value

    schema = {"enum": [str(word) for word in known]}
    return Form(f"one of {', '.join(known)}", "Use one of these words, in quotes.", read, schema)


def _read_flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise NotOfFormError
    return value


FLAG: Final = Form(
    "true or false", "Write one of the two, without quotes.", _read_flag, {"type": "boolean"}
)


def rows(form: Form, *, least: int = 1, most: int = 100) -> Form:
    """Return the form of a list in which each is of ``form`` and none comes twice."""

    def read(value: object) -> tuple[object, ...]:
        if not isinstance(value, list):
            raise NotOfFormError
        _need(least <= len(value) <= most)
        read_rows = tuple(form.read(each) for each in value)
        _need(len(set(read_rows)) == len(read_rows))
        return read_rows

    return Form(
        f"a list of {least} to {most}, none twice, each {form.expected}",
        "Write it in square brackets.",
        read,
        {
            "type": "array",
            "items": form.schema,
            "minItems": least,
            "maxItems": most,
            "uniqueItems": True,
        },
    )


def _both(value: object, form: Form) -> tuple[object, object]:
    if not isinstance(value, list):
        raise NotOfFormError
    _need(len(value) == 2)
    return form.read(value[0]), form.read(value[1])


def pair(form: Form, *, expected: str, remedy: str) -> Form:
    """Return the form of two values in square brackets."""
    return Form(expected, remedy, lambda value: _both(value, form), _two(form.schema))


def _two(*schemas: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return the schema of a list of two; one schema stands for both."""
    both = [schemas[0], schemas[-1]]
    return {"type": "array", "prefixItems": both, "items": False, "minItems": 2}


_MEASURE: Final = number(-1e6, 1e6)
SPAN: Final = pair(
    _MEASURE,
    expected="two numbers, lowest and highest believable",
    remedy="Write span = [lowest, highest].",
)
COVERS: Final = pair(
    MONTH,
    expected="two months in quotes, first and last known",
    remedy='Write covers = ["1950-01", "1965-12"].',
)
_SHARE: Final = number(0, 1e6)


def _read_knots(value: object) -> tuple[tuple[object, object], ...]:
    if not isinstance(value, list):
        raise NotOfFormError
    _need(
        0 < len(value) <= 1200 and all(isinstance(each, list) and len(each) == 2 for each in value)
    )
    return tuple((MONTH.read(month), _SHARE.read(share)) for month, share in value)


KNOTS: Final = Form(
    "a list of pairs, month and share, no share below 0",
    'Write shares = [["1956-06", 0.1], ["1956-12", 0.9]].',
    _read_knots,
    {
        "type": "array",
        "items": _two(MONTH.schema, _SHARE.schema),
        "minItems": 1,
        "maxItems": 1200,
    },
)


def _read_picture(value: object) -> str:
    if not isinstance(value, str):
        raise NotOfFormError
    _need(PICTURE_NAME.fullmatch(value) is not None and len(value) <= LONGEST_NAME)
    return value


PICTURE: Final = Form(
    "the name of an svg, png or webp file beside the reference: letters, digits, hyphens",
    "Put the picture beside the file and give its bare name, without folders.",
    _read_picture,
    {"type": "string", "pattern": f"^{PICTURE_NAME.pattern}$", "maxLength": LONGEST_NAME},
)


def _read_outline(value: object) -> str:
    return value if isinstance(value, str) and value in OUTLINES else _read_picture(value)


OUTLINE: Final = Form(
    f"one of {', '.join(OUTLINES)}, or the name of a picture file beside the reference",
    "Use one of these words, or put the picture beside the file and give its bare name.",
    _read_outline,
    {"anyOf": [{"enum": list(OUTLINES)}, PICTURE.schema]},
)


def _read_pattern(value: object) -> SerialPattern:
    if not isinstance(value, str):
        raise NotOfFormError
    return SerialPattern.compile(value)


PATTERN: Final = Form(
    "a pattern in quotes", 'Write it like "[0-9]{3,4}".', _read_pattern, {"type": "string"}
)


def _read_output(value: object) -> Mapping[str, float]:
    if not isinstance(value, dict):
        raise NotOfFormError
    _need(len(value) <= 1300 and all(_PERIOD.fullmatch(key) for key in value))
    for key in value:
        parse_month(key if "-" in key else f"{key}-01")
    figure = number(0, 1e9, open_ends="low")
    return {key: float(str(figure.read(made))) for key, made in value.items()}


OUTPUT: Final = Form(
    'years or months in quotes, each with a number above 0, like "1952" = 380',
    "Mend the row, or leave it out where nothing is known.",
    _read_output,
    {
        "type": "object",
        "patternProperties": {f"^{_PERIOD.pattern}$": number(0, 1e9, open_ends="low").schema},
        "additionalProperties": False,
        "maxProperties": 1300,
    },
)


def _read_table(value: object) -> Mapping[str, object]:
    if not isinstance(value, dict) or not all(isinstance(each, dict) for each in value.values()):
        raise NotOfFormError
    return value


def _read_tables(value: object) -> list[object]:
    if not isinstance(value, list) or not all(isinstance(each, dict) for each in value):
        raise NotOfFormError
    return value


def tables_by_name(example: str) -> Form:
    """Return the form of entries that stand under a name each."""
    expected, schema = f"tables with a name each, like {example}", {"type": "object"}
    return Form(expected, f"Write {example}.", _read_table, schema)


def table_list(example: str) -> Form:
    """Return the form of a list of tables."""
    expected, schema = f"tables, each under {example}", {"type": "array"}
    return Form(expected, f"Write {example} above each.", _read_tables, schema)
