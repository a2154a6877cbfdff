"""Scale length, resistance and weight."""

from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.errors import ReadingError
from quickcheck.readings import Meaning, Reading, read_text
from quickcheck.readings.coils import at_20, diameter, ohms_per_metre
from quickcheck.readings.frets import fret_at
from quickcheck.readings.scales import moisture, pounds_ounces, wood_mass

PINT = pint.UnitRegistry()


def told(meaning: Meaning) -> dict[str, Any]:
    return dict(meaning.more)


def values(reading: Reading, what: str) -> list[float]:
    return [told(each)["value"] for each in reading.meanings if told(each)["what"] == what]


def test_nothing_measured_dates_anything() -> None:
    """Each gives values with units and the empty ends of a meaning."""
    for scheme, text in (
        ("scale-length", "12 323.85 mm"),
        ("resistance", "7k 20C"),
        ("weight", "3 kg"),
    ):
        reading = read_text(scheme, text)
        assert (reading.floor, reading.ceiling, reading.months) == (None, None, ())
        for meaning in reading.as_json()["meanings"]:  # type: ignore[attr-defined]
            assert (meaning["from"], meaning["to"], meaning["year"], meaning["week"]) == (None,) * 4
            assert {"what", "value", "unit", "says"} <= set(meaning)


# Scale length


@given(st.floats(200, 1200), st.integers(1, 24))
def test_a_scale_comes_back_from_any_fret(scale: float, fret: int) -> None:
    """What 2^(-n/12) puts at a fret gives the scale again, within what six digits leave open."""
    distance = scale - scale * 2 ** (-fret / 12)
    reading = read_text("scale-length", f"{fret} {distance:.6f} mm")
    assert values(reading, "scale length") == [pytest.approx(scale, abs=6e-4)]
    frets = values(reading, "fret")
    assert len(frets) == 24
    assert frets[fret - 1] == pytest.approx(distance, abs=6e-4)


@given(st.floats(1, 2000), st.integers(1, 35))
def test_frets_divide_in_one_ratio(scale: float, fret: int) -> None:
    """Each space is the one before, divided by the twelfth root of 2; the 12th is the middle."""
    spaces = [fret_at(scale, n + 1) - fret_at(scale, n) for n in (fret - 1, fret)]
    assert spaces[0] / spaces[1] == pytest.approx(2 ** (1 / 12))
    assert fret_at(scale, 12) == pytest.approx(scale / 2)


@pytest.mark.parametrize(
    "text",
    [
        "12 323.85 mm",
        "12th 12 3/4 in",
        "fret 12: 12.75 in",
        '12th fret 12 3/4"',
        "12, 323,85 mm",
        "12=12¾in",
    ],
)
def test_forms_of_a_fret(text: str) -> None:
    """Metric or not, in fractions or decimals."""
    (scale,) = values(read_text("scale-length", text), "scale length")
    assert scale == 647.7
    assert told(read_text("scale-length", text).meanings[0])["inches"] == 25.5


def test_words_of_a_scale() -> None:
    """The scale in both units, what a slip does, and that the saddle lies further back."""
    said = read_text("scale-length", "12 323.85 mm").says
    assert said.startswith("Scale length 647.70 mm (25.500 in), if fret 12 lies at 323.85 mm")
    assert "A slip of 0.5 mm in measuring makes 1.0 mm." in said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("12 323.85", "its distance from the nut with its unit"),
        ("0 3 mm", "a fret from 1 to 36"),
        ("37 3 mm", "a fret from 1 to 36"),
        ("12", "a fret from 1 to 36"),
        ("", "a fret from 1 to 36"),
        ("12 3 kg", "a length"),
        ("12 0 mm", "a distance above 0"),
        ("12 9999 mm", "under 5 m"),
        ("12 1,234 mm", "reads only one way"),
    ],
)
def test_other_frets_are_refused(text: str, said: str) -> None:
    """Without a fret, a unit or a distance nothing is read."""
    with pytest.raises(ReadingError, match=said):
        read_text("scale-length", text)


# Resistance


@given(st.floats(1, 1e6), st.floats(-30, 60))
def test_copper_warms_in_a_straight_line(ohms: float, celsius: float) -> None:
    """Brought to 20 °C and back it is what was measured; at 20 °C it stays."""
    cold = at_20(ohms, celsius)
    assert cold * (1 + 0.00393 * (celsius - 20)) == pytest.approx(ohms)
    assert at_20(ohms, 20) == ohms


@given(st.integers(30, 47))
def test_three_gauges_are_half_the_copper(gauge: int) -> None:
    """By definition 39 steps are a ratio of 92; six halve the diameter within half a per cent."""
    assert diameter(gauge - 30) / diameter(gauge + 9) == pytest.approx(92)
    assert diameter(gauge - 6) / diameter(gauge) == pytest.approx(2, rel=0.005)
    assert ohms_per_metre(gauge) == pytest.approx(ohms_per_metre(gauge - 3) * 2, rel=0.005)


@pytest.mark.parametrize(
    "text",
    [
        "7.4k 27C 42AWG 145mm",
        "7.4 kohm at 27 °C, 42 AWG, 145 mm a turn",
        "7,4 kΩ, 27 °C, AWG 42, 145 mm/turn",
        "7400 ohm @ 80.6F; 42 ga; 145 mm per turn",
        "27C 7.4k 145mm 42awg",
    ],
)
def test_forms_of_a_coil(text: str) -> None:
    """In any order, with marks or without, °C or °F."""
    reading = read_text("resistance", text)
    assert values(reading, "resistance at 20 °C") == [7201.88]
    assert values(reading, "length of wire") == [1316.2, 1322.9]
    assert values(reading, "turns") == [9077, 9123]


def test_turns_by_hand() -> None:
    """7201.88 ohm at 5.4716 ohm/m (computed apart, unrounded 42 AWG) and 145 mm a turn."""
    (first, _) = values(read_text("resistance", "7.4k 27C 42AWG 145mm"), "turns")
    assert first == pytest.approx(7201.88 / 5.4716 / 0.145, abs=1)


def test_both_conventions_are_told_apart() -> None:
    """Each estimate says which diameter it took, and the words say that it is one."""
    reading = read_text("resistance", "7.4k 27C 40AWG 145mm")
    ways = [told(each).get("diameter") for each in reading.meanings[1:]]
    assert ways == ["unrounded"] * 2 + ["rounded to 0.1 mil"] * 2
    fewer, more = sorted(values(reading, "turns"))
    assert 1.02 < more / fewer < 1.03
    assert f"Some {fewer:,} to {more:,} turns of 145.0 mm, by both ways of 40 AWG." in reading.says
    assert "An estimate:" in reading.says


def test_less_is_said_where_less_is_known() -> None:
    """Without a turn no turns, without a gauge no wire."""
    wire = read_text("resistance", "7.4k 27C 42AWG")
    assert values(wire, "turns") == []
    assert "m of wire, by both ways of 42 AWG" in wire.says
    assert len(read_text("resistance", "7.4k 27C").meanings) == 1
    assert "AWG" not in read_text("resistance", "7.4k 27C").says


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("7.4k", "the coil's temperature"),
        ("27C", "a resistance with its unit"),
        ("7.4 27C", "a resistance with its unit"),
        ("7.4k 61C", "from -30 to 60 °C"),
        ("7.4k -31C", "from -30 to 60 °C"),
        ("0k 27C", "a resistance with its unit"),
        ("7.4k 27C 29AWG", "a gauge from 30 to 50 AWG"),
        ("7.4k 27C 51AWG", "a gauge from 30 to 50 AWG"),
        ("7.4k 27C 145mm", "a length of turn needs a gauge"),
        ("7.4k 27C 42AWG 0mm", "the mean length of a turn"),
        ("7.4k 27C 7.5k", "a unit of resistance"),
        ("3 kg 27C", "a resistance"),
        ("", "a resistance with its unit"),
    ],
)
def test_other_coils_are_refused(text: str, said: str) -> None:
    """Nothing is assumed: no temperature, no reading."""
    with pytest.raises(ReadingError, match=said):
        read_text("resistance", text)


# Weight


@given(st.integers(0, 99), st.floats(0, 15.99).map(lambda ounces: round(ounces, 2)))
def test_weights_agree_with_pint(pounds: int, ounces: float) -> None:
    """Kilograms and pounds are those of a library of units."""
    if pounds + ounces == 0:
        pounds = 1
    reading = read_text("weight", f"{pounds} lb {ounces} oz")
    kilos, in_pounds = values(reading, "weight")
    whole = PINT.Quantity(pounds, "pound") + PINT.Quantity(ounces, "ounce")
    assert kilos == pytest.approx(whole.to("kilogram").magnitude, rel=1e-12)
    assert in_pounds == pytest.approx(whole.to("pound").magnitude, rel=1e-12)


@given(st.floats(0.1, 1e6))
def test_pounds_and_ounces_are_the_weight_to_a_tenth(grams: float) -> None:
    """Fewer than 16 ounces, and together within half a tenth."""
    pounds, ounces = pounds_ounces(grams)
    assert 0 <= ounces < 16
    back = (PINT.Quantity(pounds, "pound") + PINT.Quantity(ounces, "ounce")).to("gram").magnitude
    assert back == pytest.approx(grams, abs=28.35 * 0.0501)


@given(st.floats(-10, 40), st.floats(1, 98), st.floats(0.1, 1))
def test_wood_takes_up_more_in_damper_air(celsius: float, humidity: float, more: float) -> None:
    """Moisture rises with humidity, and the mass goes there and back."""
    assert moisture(celsius, humidity) < moisture(celsius, humidity + more)
    there = wood_mass(3.5, humidity, 50, celsius=celsius)
    assert wood_mass(there, 50, humidity, celsius=celsius) == pytest.approx(3.5)


def test_the_remark_on_damp() -> None:
    """What wood gains from 30 to 65 %, at equilibrium only; metal gains nothing."""
    reading = read_text("weight", "8 lb 4 oz")
    assert reading.says.startswith("3.742 kg, 8 lb 4 oz. Wood alone gains 5.45 % from 30 to 65 %")
    assert "after weeks to months; metal gains nothing" in reading.says


@pytest.mark.parametrize("text", ["3.5 kg 30%", "3500 g, at 30 % RH", "3,5 kg @ 30%"])
def test_a_humidity_gives_both_ends(text: str) -> None:
    """Weighed in dry air, a body all of wood would come to M5's 3.6908 kg in damp air (computed)."""
    reading = read_text("weight", text)
    assert values(reading, "weight of wood alone") == [3.5, 3.6908]
    assert "Weighed at 30 %: 3.691 kg at 65 % humidity, were it all wood" in reading.says


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("3.5", "a weight with its unit"),
        ("30%", "a weight with its unit"),
        ("", "a weight with its unit"),
        ("3.5 kg 30% dry", "a weight with its unit"),
        ("0 kg", "a weight above 0"),
        ("1001 kg", "up to 1 t"),
        ("8 lb 17 oz", "fewer than 16 ounces"),
        ("3 mm", "a weight"),
    ],
)
def test_other_weights_are_refused(text: str, said: str) -> None:
    """Without a unit nothing is read."""
    with pytest.raises(ReadingError, match=said):
        read_text("weight", text)


@given(
    st.sampled_from(["scale-length", "resistance", "weight"]),
    st.text("0123456789.,/ %°CFkgmlboinzAWG", max_size=40),
)
def test_any_text_is_read_or_refused(scheme: str, text: str) -> None:
    """Nothing but a reading or a refusal comes out."""
    try:
        reading = read_text(scheme, text)
    except ReadingError:
        return
    assert reading.meanings
