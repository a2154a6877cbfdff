"""Forms that take what a person typed and give documents that the engine takes.

Each message says what came and what is expected; what was typed stays in the field.
"""

from collections.abc import Mapping
from typing import Any, Final

from werkzeug.datastructures import MultiDict
from wtforms import (
    BooleanField,
    Form,
    RadioField,
    SelectChoice,
    SelectMultipleField,
    StringField,
    TextAreaField,
)
from wtforms.validators import Length, Optional, ValidationError

from quickcheck.errors import QuickcheckError, shown
from quickcheck.readings import month_of, month_text, parse_month
from quickcheck.reference import DISCLOSURES, Access, Reference
from quickcheck.web.words import ACCESS_WORDS, tool_words

PARTS: Final[Mapping[str, tuple[str, int, int]]] = {
    "whole": ("The whole year", 0, 11),
    "early": ("Early (Jan–Apr)", 0, 3),
    "mid": ("Mid (May–Aug)", 4, 7),
    "late": ("Late (Sep–Dec)", 8, 11),
    "circa": ("Circa: a year either side", -12, 23),
    "two": ("This year or the next", 0, 23),
}
"""Part of a year → its words and its first and last month, counted from January."""


def check_month(_: Form, field: StringField) -> None:
    """Refuse what is no month, in the words of the reading."""
    try:
        parse_month(field.data or "", where=field.label.text)
    except QuickcheckError as error:
        raise ValidationError(str(error)) from None


def check_month_if_given(form: Form, field: StringField) -> None:
    """Ask for both exact months or neither."""
    if field.data:
        check_month(form, field)
    elif form.first.data:
        raise ValidationError(
            f"{field.label.text}: expected a month, because a first one was given; got nothing. "
            "Write the last month of the claim, like 1954-03."
        )


def check_offered(_: Form, field: RadioField) -> None:
    """Refuse a choice that was not among those shown; None is nothing chosen."""
    offered = [choice.value for choice in field.choices]
    for value in field.data if isinstance(field.data, list) else [field.data]:
        if value not in offered:
            raise ValidationError(
                f"{field.label.text}: expected one of those shown; got {shown(value or '')}. "
                "Choose one of them."
            )


def _choices(words: Mapping[str, str]) -> list[SelectChoice]:
    return [SelectChoice(value, label) for value, label in words.items()]


def _one_of(label: str, choices: Mapping[str, str], default: str | None = None) -> RadioField:
    return RadioField(
        label,
        [check_offered],
        choices=_choices(choices),
        default=default,
        validate_choice=False,
    )


def _some_of(label: str, choices: Mapping[str, str]) -> SelectMultipleField:
    return SelectMultipleField(
        label, [check_offered], choices=_choices(choices), validate_choice=False
    )


class ClaimForm(Form):  # type: ignore[misc]  # WTForms has no types
    """What is claimed, what the owner allows and admits, what is in the bag."""

    year = RadioField("Year", validate_choice=False)
    part = _one_of("Which part of it", {key: word for key, (word, _, _) in PARTS.items()}, "whole")
    first = StringField("From month", [Optional(), check_month])
    last = StringField("To month", [check_month_if_given])
    name = StringField("A name for this inspection", [Length(max=80)])
    serial_text = StringField("Serial, as it reads", [Length(max=16)])
    claim_words = TextAreaField("The claim, in the owner’s own words", [Length(max=500)])
    nothing_changed = BooleanField("The claim includes “nothing changed”")
    access = _one_of("What the owner allows", ACCESS_WORDS, "look")
    tools = _some_of("In the bag", {})
    disclosures = _some_of(
        "What the owner says was changed", {key: found.term for key, found in DISCLOSURES.items()}
    )

    def __init__(self, reference: Reference, formdata: Any = None, **kwargs: Any) -> None:
        super().__init__(formdata, **kwargs)
        self.reference = reference
        first, last = reference.covers
        years = map(str, range(first // 12, last // 12 + 1))
        self.year.choices = _choices({year: year for year in years})
        tools = sorted({tool for point in reference.points for tool in point.tools})
        self.tools.choices = _choices({tool: tool_words(tool) for tool in tools})
        if not formdata:
            self.tools.data = tools  # a bag is full until somebody says what was left at home

    def validate_year(self, field: RadioField) -> None:
        """Ask for a year, unless exact months were given."""
        if self.first.data or self.last.data:
            return
        if not field.data:
            raise ValidationError(
                "Year: expected a year or exact months; got nothing. Tap a year, or give months."
            )
        check_offered(self, field)

    @property
    def parts(self) -> str:
        """The parts of a year for the script that makes the same window: ``early:0:3 …``."""
        return " ".join(f"{key}:{first}:{last}" for key, (_, first, last) in PARTS.items())

    @property
    def window(self) -> tuple[str, str]:
        """First and last month claimed, as written in documents."""
        if self.first.data or self.last.data:
            return (self.first.data or self.last.data).strip(), self.last.data.strip()
        _, first, last = PARTS[self.part.data]
        january = month_of(int(self.year.data), 1)
        return month_text(january + first), month_text(january + last)

    def document(self) -> dict[str, Any]:
        """Return the claim as the head of an answers document."""
        return {
            "reference": self.reference.id,
            "window": list(self.window),
            "claim": {
                "words": self.claim_words.data or "",
                "nothing_changed": bool(self.nothing_changed.data),
            },
            "name": (self.name.data or "").strip(),
            "access": self.access.data,
            "tools": list(self.tools.data or ()),
            "serial_text": (self.serial_text.data or "").strip(),
            "disclosures": list(self.disclosures.data or ()),
        }


def claim_data(document: Mapping[str, Any]) -> MultiDict[str, str]:
    """Return a document's claim as the fields that would have made it, to fill the form again."""
    claim = document.get("claim", {})
    fields: MultiDict[str, str] = MultiDict(
        {
            "first": document["window"][0],
            "last": document["window"][1],
            "name": document.get("name", ""),
            "serial_text": document.get("serial_text", ""),
            "claim_words": claim.get("words", ""),
            "access": document.get("access", Access.OPEN.value),
        }
    )
    if claim.get("nothing_changed"):
        fields["nothing_changed"] = "y"
    fields.setlist("tools", list(document.get("tools", ())))
    fields.setlist("disclosures", list(document.get("disclosures", ())))
    return fields
