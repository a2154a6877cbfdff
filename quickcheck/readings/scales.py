"""Weight in both systems, and what damp does to it.

Wood takes up water with the damp of the air: at equilibrium the moisture content follows Hailwood
and Horrobin's formula, and a mass of wood alone is m0 (1 + MC/100). Finished wood takes weeks to
months to get there, and metal takes up nothing.
"""

import re
from fractions import Fraction
from typing import Final

from quickcheck.readings.records import Meaning, Reading, measured
from quickcheck.readings.scheme import refused
from quickcheck.readings.units import Quantity, convert, parse_quantity

ABOUT: Final = (
    "A weight with its units; then, if known, the humidity it was weighed in, in per cent."
)
EXAMPLE: Final = "8 lb 4 oz"
SOURCES: Final = (
    "NIST SP 811, appendix B: 1 lb = 0.45359237 kg, 1 oz = 1/16 lb, exactly",
    "moisture of wood: Hailwood and Horrobin, coefficients of FPL-RN-0268",
)
ROOM: Final = 21.1
"""Temperature of the remark, °C (70 °F)."""
DRY: Final = 30.0
DAMP: Final = 65.0
_HUMIDITY: Final = re.compile(
    r"(?:,? ?(?:at|@))? ?(?P<rh>[0-9]{1,2}(?:[.,][0-9]+)?) ?%(?: ?RH)?", re.IGNORECASE | re.ASCII
)
_HEAVIEST: Final = 1_000_000.0


def moisture(celsius: float, humidity: float) -> float:
    """Return the moisture content of wood at equilibrium, per cent of its dry mass.

    ``humidity`` is relative, in per cent. Source: Hailwood and Horrobin, coefficients for °C of
    FPL-RN-0268.
    """
    t, h = celsius, humidity / 100
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    second = k1 * kh + 2 * k1 * k2 * kh**2
    return 1800 / w * (kh / (1 - kh) + second / (1 + k1 * kh + k1 * k2 * kh**2))


def wood_mass(mass: float, was: float, becomes: float, *, celsius: float = ROOM) -> float:
    """Return what a mass of wood alone comes to when the humidity goes from ``was`` to ``becomes``."""
    return mass * (100 + moisture(celsius, becomes)) / (100 + moisture(celsius, was))


def read_weight(text: str) -> Reading:
    """Return a weight in kg, lb and oz, and what damp may do; raise ReadingError for another form."""
    found = _HUMIDITY.search(text)
    rest = text[: found.start()] if found else text
    humidity = float(found["rh"].replace(",", ".")) if found else None
    if not re.search(r"[a-z]", rest, re.IGNORECASE | re.ASCII) or (
        found and text[found.end() :].strip()
    ):
        raise refused(
            "weight",
            text,
            f"a weight with its unit, like {EXAMPLE} or 3.74 kg, then a humidity like 45 %",
            remedy="Write g, kg, oz or lb after the number.",
        )
    weight = parse_quantity(rest.strip(" ,"), "kg")
    grams = weight.to("g")
    if not 0 < grams <= _HEAVIEST:
        raise refused("weight", text, "a weight above 0 and up to 1 t", remedy="Weigh it again.")
    meanings = (*_weights(weight), *_damp(grams, humidity))
    says = f"{meanings[0].says}, {meanings[1].says}. {_remark(meanings[-1], humidity)}"
    return Reading("weight", text, meanings, says, None, None, SOURCES)


def pounds_ounces(grams: float) -> tuple[int, float]:
    """Return whole pounds, and ounces to a tenth."""
    tenths = round(Fraction(grams) / Fraction(45359237, 100000) * 160)
    return tenths // 160, tenths % 160 / 10


def _weights(weight: Quantity) -> tuple[Meaning, Meaning]:
    pounds, ounces = pounds_ounces(weight.to("g"))
    kilos = weight.to("kg")
    both = f"{pounds} lb {ounces:g} oz"
    return (
        measured("weight", kilos, "kg", says=f"{kilos:.3f} kg"),
        measured("weight", weight.to("lb"), "lb", says=both, pounds=pounds, ounces=ounces),
    )


def _damp(grams: float, humidity: float | None) -> tuple[Meaning, ...]:
    """Return what wood alone gains from dry to damp air, or its weight at both ends."""
    if humidity is None:
        gain = round((wood_mass(1, DRY, DAMP) - 1) * 100, 2)
        says = f"wood alone gains {gain} % from {DRY:g} to {DAMP:g} % humidity"
        return (measured("gain of wood", gain, "%", says=says, celsius=ROOM),)
    ends = [convert(wood_mass(grams, humidity, end), "g", "kg") for end in (DRY, DAMP)]
    return tuple(
        measured(
            "weight of wood alone",
            round(kilos, 4),
            "kg",
            says=f"{kilos:.3f} kg at {end:g} % humidity, were it all wood",
            humidity=end,
            celsius=ROOM,
        )
        for end, kilos in zip((DRY, DAMP), ends, strict=True)
    )


def _remark(last: Meaning, humidity: float | None) -> str:
    told = last.says if humidity is None else f"weighed at {humidity:g} %: {last.says}"
    return (
        f"{told[:1].upper()}{told[1:]} (at {ROOM} °C, after weeks to months; metal gains nothing). "
        "Weight dates nothing by itself."
    )
