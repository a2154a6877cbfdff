"""Scale length and frets from the distance of one fret, in equal temperament.

A fret n lies at L (1 - 2^(-n/12)) from the nut. Older benches divided by 18 instead, each fret an
18th of what is left: L (1 - (17/18)^n); both lengths are given.
"""

import re
from typing import Final

from quickcheck.readings.records import Meaning, Reading, measured
from quickcheck.readings.scheme import refused
from quickcheck.readings.units import convert, parse_quantity

ABOUT: Final = "Which fret, then its distance from the nut with its unit."
EXAMPLE: Final = "12th 12 3/4 in"
SOURCES: Final = (
    "equal temperament, 12 equal steps to an octave: table for 647.7 mm at onlycalculators.com",
    "rule of 18: arithmetic; its use on old benches: common practice, no source",
)
_FORM: Final = re.compile(
    r"(?:fret )?(?P<fret>[0-9]{1,2})(?:st|nd|rd|th)?(?: fret)?[ :,=]{1,2}(?P<length>.+)",
    re.IGNORECASE | re.ASCII,
)
_MOST: Final = 36
_SHOWN: Final = 24
_MISS_MM: Final = 0.5


def fret_at(scale: float, fret: int) -> float:
    """Return the distance of a fret from the nut, in the unit of the scale length."""
    return scale * (1 - 2 ** (-fret / 12))


def fret_by_18(scale: float, fret: int) -> float:
    """Return the distance of a fret from the nut by the rule of 18."""
    return float(scale * (1 - (17 / 18) ** fret))


def read_scale(text: str) -> Reading:
    """Return scale length and frets, in mm and inches; raise ReadingError for another form."""
    found = _FORM.fullmatch(text)
    fret = int(found["fret"]) if found else 0
    if not found or not 1 <= fret <= _MOST or not re.search(r"[^0-9., /-]", found["length"]):
        raise refused(
            "scale-length",
            text,
            f"a fret from 1 to {_MOST} and its distance from the nut with its unit, "
            f"like {EXAMPLE} or 7 215.4 mm",
            remedy="Measure from the nut's edge to the middle of the fret.",
        )
    distance = parse_quantity(found["length"], "mm").to("mm")
    if not 0 < distance < 5000:
        raise refused(
            "scale-length", text, "a distance above 0 and under 5 m", remedy="Measure again."
        )
    scale = distance / fret_at(1, fret)
    meanings = _meanings(scale, distance / fret_by_18(1, fret))
    miss = _MISS_MM / fret_at(1, fret)
    says = (
        f"{meanings[0].says}, if fret {fret} lies at {distance:.2f} mm in equal temperament. "
        f"A slip of {_MISS_MM} mm in measuring makes {miss:.1f} mm. The string itself is a little "
        "longer, as saddles are set back."
    )
    return Reading("scale-length", text, meanings, says, None, None, SOURCES)


def _meanings(scale: float, by_18: float) -> tuple[Meaning, ...]:
    return (
        _length("scale length", scale, says="Scale length"),
        _length(
            "scale length by the rule of 18",
            by_18,
            says="by the rule of 18 (common practice, no source):",
        ),
        *(
            _length("fret", fret_at(scale, fret), says=f"fret {fret}:", fret=fret)
            for fret in range(1, _SHOWN + 1)
        ),
    )


def _length(what: str, length: float, *, says: str, **more: object) -> Meaning:
    inches = round(convert(length, "mm", "in"), 4)
    words = f"{says} {_both(length)}"
    return measured(what, round(length, 3), "mm", says=words, inches=inches, **more)


def _both(length: float) -> str:
    return f"{length:.2f} mm ({convert(length, 'mm', 'in'):.3f} in)"
