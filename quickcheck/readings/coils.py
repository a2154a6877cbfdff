"""Resistance of a coil at 20 °C, and how much wire and how many turns it may be.

Copper: resistivity 1/58 ohm mm²/m at 20 °C, coefficient 0.00393 per kelvin (IEC 60028). A gauge's
diameter is 0.127 mm · 92^((36 - n)/39), or that rounded to 0.1 mil as in ASTM B258; resistances by
the two differ by up to 3 %, so both are told. Wire that was wound by hand differs by more.
"""

import math
import re
from dataclasses import dataclass
from typing import Final

from quickcheck.errors import ReadingError
from quickcheck.readings.records import Meaning, Reading, measured
from quickcheck.readings.scheme import refused
from quickcheck.readings.units import parse_quantity
from quickcheck.readings.wording import status_words

ABOUT: Final = (
    "Resistance and the temperature of the coil; then, if known, the gauge of the wire and the mean "
    "length of a turn."
)
EXAMPLE: Final = "7.4k 27C 42AWG 145mm"
SOURCES: Final = (
    "IEC 60028, summary: copper, 1/58 ohm mm²/m at 20 °C, 0.00393 per kelvin",
    "AWG: 0.127 mm × 92^((36 - n)/39); rounded to 0.1 mil: ASTM B258, NBS Handbook 100",
)
RESISTIVITY: Final = 1 / 58
"""Of copper at 20 °C, ohm mm²/m."""
COEFFICIENT: Final = 0.00393
"""Of copper at 20 °C, per kelvin."""
_MIL: Final = 0.0254  # mm
_TEMPERATURE: Final = re.compile(
    r"(?:at |@ ?)?(?P<t>-?[0-9]{1,3}(?:[.,][0-9]+)?) ?(?:°|deg)? ?(?P<u>[CF])\b",
    re.IGNORECASE | re.ASCII,
)
_GAUGE: Final = re.compile(
    r"\b(?:(?P<a>[0-9]{2}) ?(?:awg|ga(?:uge)?)|awg ?(?P<b>[0-9]{2}))\b", re.IGNORECASE | re.ASCII
)
_TURN: Final = re.compile(
    r"(?P<length>[0-9.,]+ ?(?:mm|in))(?: ?(?:a|per|/) ?turn)?(?=[ ,;]|$)", re.IGNORECASE | re.ASCII
)
_GAPS: Final = re.compile(r"[,;]? +|[,; ]+$")
_GAUGES: Final = range(30, 51)


@dataclass(frozen=True, slots=True)
class _Coil:
    ohms: float
    celsius: float
    gauge: int | None
    turn_mm: float | None


def at_20(ohms: float, celsius: float) -> float:
    """Return the resistance that copper has at 20 °C."""
    return ohms / (1 + COEFFICIENT * (celsius - 20))


def diameter(gauge: int, *, rounded: bool = False) -> float:
    """Return the diameter of a bare wire, mm; ``rounded`` to 0.1 mil."""
    exact: float = 0.127 * 92 ** ((36 - gauge) / 39)
    return round(exact / _MIL, 1) * _MIL if rounded else exact


def ohms_per_metre(gauge: int, *, rounded: bool = False) -> float:
    """Return the resistance of a metre of bare copper wire at 20 °C."""
    return RESISTIVITY / (math.pi / 4 * diameter(gauge, rounded=rounded) ** 2)


def read_resistance(text: str) -> Reading:
    """Return the resistance at 20 °C, wire and turns; raise ReadingError for another form."""
    coil = _parse(text)
    cold = at_20(coil.ohms, coil.celsius)
    meanings = [
        measured(
            "resistance at 20 °C",
            round(cold, 2),
            "ohm",
            says=f"{coil.ohms:,.0f} ohm at {coil.celsius:.1f} °C are {cold:,.0f} ohm at 20 °C",
            measured_ohm=coil.ohms,
            celsius=round(coil.celsius, 2),
        )
    ]
    if coil.gauge is not None:
        for rounded in (False, True):
            meanings += _wire(cold, coil, rounded=rounded)
    return Reading("resistance", text, tuple(meanings), _says(meanings, coil), None, None, SOURCES)


def _parse(text: str) -> _Coil:
    rest, warm = _taken(text, _TEMPERATURE)
    rest, gauge = _taken(rest, _GAUGE)
    rest, turn = _taken(rest, _TURN)
    rest = _GAPS.sub(" ", rest).strip()
    if warm is None or not re.search(r"[a-zΩ\u2126ω]", rest, re.IGNORECASE | re.ASCII):
        raise _refused(text)
    celsius = float(warm["t"].replace(",", "."))
    celsius = (celsius - 32) / 1.8 if warm["u"].upper() == "F" else celsius
    number = int(gauge["a"] or gauge["b"]) if gauge else None
    ohms = parse_quantity(rest, "ohm").to("ohm")
    length = parse_quantity(turn["length"], "mm").to("mm") if turn else None
    fits = -30 <= celsius <= 60 and ohms > 0 and (number is None or number in _GAUGES)
    if not fits or length == 0 or (length is not None and number is None):
        raise _refused(text)
    return _Coil(ohms, celsius, number, length)


def _taken(text: str, pattern: re.Pattern[str]) -> tuple[str, re.Match[str] | None]:
    """Return the text without the first thing of this form, and that."""
    found = pattern.search(text)
    return (text, None) if found is None else (text[: found.start()] + text[found.end() :], found)


def _refused(text: str) -> ReadingError:
    return refused(
        "resistance",
        text,
        f"a resistance with its unit and the coil's temperature from -30 to 60 °C, then a gauge "
        f"from {_GAUGES[0]} to {_GAUGES[-1]} AWG and the mean length of a turn, like {EXAMPLE}",
        remedy="Write the temperature in C or F; a length of turn needs a gauge.",
    )


def _wire(cold: float, coil: _Coil, *, rounded: bool) -> list[Meaning]:
    """Return length of wire and turns by one convention of the gauge."""
    gauge = coil.gauge or 0
    how = "rounded to 0.1 mil" if rounded else "unrounded"
    thick = diameter(gauge, rounded=rounded)
    metres = cold / ohms_per_metre(gauge, rounded=rounded)
    of = f"{gauge} AWG, diameter {how} ({thick:.4f} mm)"
    keys: dict[str, object] = {"gauge": gauge, "diameter": how, "status": "computed"}
    found = [
        measured("length of wire", round(metres, 1), "m", says=f"{of}: {metres:,.0f} m", **keys)
    ]
    if coil.turn_mm:
        turns = metres * 1000 / coil.turn_mm
        says = f"{of}: {turns:,.0f} turns of {coil.turn_mm:.1f} mm"
        found.append(measured("turns", round(turns), "turns", says=says, **keys))
    return found


def _says(meanings: list[Meaning], coil: _Coil) -> str:
    words = [f"{meanings[0].says}, for copper (coefficient {status_words(['checked'])})."]
    if coil.gauge is not None:
        what = "turns" if coil.turn_mm else "length of wire"
        found = sorted(_number(each) for each in meanings if dict(each.more)["what"] == what)
        size = f"turns of {coil.turn_mm:.1f} mm" if coil.turn_mm else "m of wire"
        words += [
            f"Some {found[0]:,.0f} to {found[-1]:,.0f} {size}, by both ways of {coil.gauge} AWG.",
            "An estimate: wire as wound is stretched and off its gauge by more than that.",
        ]
    return " ".join(words)


def _number(meaning: Meaning) -> float:
    return float(str(dict(meaning.more)["value"]))
