"""Every way of reading a marking or a gauge, by name: help, forms and documents come from here."""

from collections.abc import Mapping
from functools import partial
from types import MappingProxyType
from typing import Final

from quickcheck.errors import ReadingError, shown
from quickcheck.readings import coils, frets, marks, patents, scales, stamps
from quickcheck.readings.datecodes import WEEK_CODES, read_weeks
from quickcheck.readings.records import Reading
from quickcheck.readings.scheme import LONGEST_MARK, Scheme, spaced


def _weeks(name: str, title: str) -> Scheme:
    code = WEEK_CODES[name]
    return Scheme(title, code.about, code.example, partial(read_weeks, name), dates=True)


SCHEMES: Final[Mapping[str, Scheme]] = MappingProxyType(
    {
        "year-week": _weeks("year-week", "Year and week"),
        "source-week": _weeks("source-week", "Source and week"),
        "date-stamp": Scheme(
            "Date stamp", stamps.ABOUT, stamps.EXAMPLE, stamps.read_stamp, dates=True
        ),
        "patent-us": Scheme(
            "US patent number",
            patents.ABOUT,
            patents.EXAMPLE,
            patents.read_patent,
            longest=LONGEST_MARK,
        ),
        "postal-us": Scheme(
            "US address",
            marks.POSTAL_ABOUT,
            marks.POSTAL_EXAMPLE,
            marks.read_postal,
            longest=LONGEST_MARK,
        ),
        "mark": Scheme(
            "Mark", marks.MARK_ABOUT, marks.MARK_EXAMPLE, marks.read_mark, longest=LONGEST_MARK
        ),
        "scale-length": Scheme("Scale length", frets.ABOUT, frets.EXAMPLE, frets.read_scale),
        "resistance": Scheme(
            "Resistance", coils.ABOUT, coils.EXAMPLE, coils.read_resistance, longest=80
        ),
        "weight": Scheme("Weight", scales.ABOUT, scales.EXAMPLE, scales.read_weight),
    }
)

DATE_SCHEMES: Final[Mapping[str, Scheme]] = MappingProxyType(
    {name: scheme for name, scheme in SCHEMES.items() if scheme.dates}
)
"""Those that a point of a reference may be read by: every meaning is a run of days."""


def read_text(scheme: str, text: str) -> Reading:
    """Return what a text means by any scheme; raise ReadingError where it means nothing."""
    return _read(SCHEMES, scheme, text)


def read_code(scheme: str, text: str) -> Reading:
    """Return every meaning of a date code, each a run of days; refuse schemes that date nothing."""
    return _read(DATE_SCHEMES, scheme, text)


def _read(known: Mapping[str, Scheme], name: str, text: str) -> Reading:
    if name not in known:
        raise ReadingError.of(
            "scheme",
            expected=f"one of {', '.join(known)}",
            came=shown(name),
            remedy="Use one of these.",
        )
    scheme = known[name]
    plain = spaced(text)
    if len(text) > scheme.longest:
        raise ReadingError.of(
            "code",
            expected=f"a code like {scheme.example}. {scheme.about}",
            came=shown(text),
            remedy="Copy the stamp again.",
        )
    return scheme.read(plain)
