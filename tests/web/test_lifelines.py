"""The lifelines, held against the model by another way of reading them."""

import itertools
import re
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from quickcheck import paths
from quickcheck.desk import Judged, judge_sheet
from quickcheck.engine import compile_model
from quickcheck.readings import month_of, read_code
from quickcheck.reference import Kind, Point, Reference, Variant, read_reference
from quickcheck.web.lifelines import (
    HEIGHT,
    Band,
    fitted_words,
    lifelines,
    reference_lifelines,
)
from tests import kit

Outline = list[tuple[float, float]]


def outlines(path: str) -> list[Outline]:
    """Return the corners of each closed run of a path."""
    assert re.fullmatch(r"(M[0-9. eL-]+Z)*", path), path
    return [
        [(float(x), float(y)) for x, y in (corner.split() for corner in run.split("L"))]
        for run in re.findall(r"M([^Z]*)Z", path)
    ]


def crossings(outline: Outline, x: float) -> list[float]:
    """Return where a vertical line meets an outline: a plain scan over its sides."""
    found = set()
    for (x1, y1), (x2, y2) in zip(outline, outline[1:] + outline[:1], strict=True):
        if min(x1, x2) <= x <= max(x1, x2) and x1 != x2:
            found.add(round(y1 + (y2 - y1) * (x - x1) / (x2 - x1), 4))
    return sorted(found)


def heights(band: Band, months: int) -> list[float]:
    """Return how high a band stands in the middle of each month, read off its drawing."""
    found = []
    for month in range(months):
        cut = [crossings(outline, month + 0.5) for outline in outlines(band.path)]
        found.append(sum(ys[-1] - ys[0] for ys in cut if ys))
    return found


@pytest.fixture(
    name="real",
    scope="module",
    params=["hobbinsley-poplin", "hobbinsley-corduroy", "hobbinsley-taffeta"],
)
def _real(request: pytest.FixtureRequest) -> Reference:
    return read_reference(paths.DEMO / "references" / request.param)


def rows(reference: Reference) -> dict[str, tuple[Band, ...]]:
    """Return the bands of every point of a reference."""
    chart = reference_lifelines(reference)
    return {row.point.id: row.bands for group in chart.groups for row in group.rows}


def test_bands_stand_as_high_as_the_shares(real: Reference) -> None:
    """In the middle of every month each band is as high as its variant's share of that month."""
    model = compile_model(real)
    for point, bands in rows(real).items():
        for number, band in enumerate(bands):
            made = model.made[model.rows[point].start + number] * HEIGHT
            drawn = np.array(heights(band, real.months))
            there = made > 1.0
            assert np.abs(drawn - made)[there].max(initial=0) <= 0.21, (point, band.label)
            assert (drawn[~there] <= 1.1).all(), (point, band.label)


def test_bands_lie_on_one_another(real: Reference) -> None:
    """Each band begins where the one above it ends, so that a change-over is one slanted cut."""
    for point, bands in rows(real).items():
        drawn = [outlines(band.path) for band in bands]
        for month in range(0, real.months, 5):
            cut = [
                ys for runs in drawn for run in runs if len(ys := crossings(run, month + 0.5)) > 1
            ]
            for upper, lower in itertools.pairwise(cut):
                assert lower[0] >= upper[-1] - 0.11, (point, month)
                assert lower[0] - upper[-1] <= 1.11 * len(bands), (point, month)


def test_inside_the_drawing(real: Reference) -> None:
    """Nothing is drawn outside the months and the height of a row."""
    for bands in rows(real).values():
        for band in bands:
            for outline in outlines(band.path):
                assert all(0 <= x <= real.months and 0 <= y <= HEIGHT for x, y in outline)


@pytest.mark.parametrize(
    ("knots", "told"),
    [
        (((23436, 0.0), (23438, 1.0), (23440, 1.0)), "from Feb 1953"),
        (((23436, 0.0), (23440, 0.0), (23443, 0.5)), "from Jun 1953"),
        (((23436, 0.1), (23438, 1.0)), "shares by month Jan–Mar 1953"),
        (((23436, 0.0), (23437, 1.0), (23438, 0.5)), "shares by month Jan–Mar 1953"),
        (((23436, 0.1),), "all months"),
        (((23436, 0.1), (23448, 0.1)), "all months"),
    ],
)
def test_shares_in_words(knots: tuple[tuple[int, float], ...], told: str) -> None:
    """A share that begins and never falls is told as a floor; the phone has the same words."""
    assert fitted_words(Variant("a", "A", knots=knots)) == told


def test_every_point_but_signs_has_a_row(real: Reference) -> None:
    """Every point that can be fitted has a row, in the order of the assemblies."""
    chart = reference_lifelines(real)
    shown = [row.point.id for group in chart.groups for row in group.rows]
    assert set(shown) == {point.id for point in real.points if point.kind is not Kind.SIGN}
    assert len(shown) == len(set(shown))


def test_ticks(real: Reference) -> None:
    """There is a tick at every January, and at most nine have a label."""
    chart = reference_lifelines(real)
    first, last = real.covers
    januaries = [month for month in range(first, last + 1) if month % 12 == 0]
    wanted = [float(Fraction(month - first, real.months) * 100) for month in januaries]
    assert [x for x, _ in chart.ticks] == pytest.approx(wanted)
    assert 1 <= sum(bool(label) for _, label in chart.ticks) <= 9


def judged(reference: Reference, **answers: Any) -> Judged:
    """Judge answers to the small reference; underscores stand for hyphens."""
    given = {name.replace("_", "-"): answer for name, answer in answers.items()}
    return judge_sheet(reference, kit.document(access="open", answers=given))


def row(reference: Reference, point: str, answer: dict[str, Any]) -> Any:
    """Return the row of the one point that was answered."""
    chart = lifelines(judged(reference, **{point.replace("-", "_"): answer}))
    (group,) = chart.groups
    (found,) = group.rows
    assert found.point.id == point
    return found


def test_pick_is_seen_whole(reference: Reference) -> None:
    """What was picked is seen, and nothing else of the row."""
    found = row(reference, "knobs", {"seen": "wood", "sure": False})
    assert {band.label: band.seen for band in found.bands} == {"Wood": 1.0, "Horn": 0.0}
    assert found.seen == "Wood (unsure)"


def test_none_of_these(reference: Reference) -> None:
    """What is none of the variants leaves them all unseen and is said in words."""
    found = row(reference, "knobs", {"seen": "other"})
    assert {band.seen for band in found.bands} == {0.0}
    assert found.seen == "None of these"


def likeness(point: Point, value: float) -> list[float]:
    """Return how far a measured value is each variant: normal densities, written out."""
    density = []
    for variant in point.seen:
        variance = (variant.spread or 0) ** 2 + point.tolerance**2
        distance = value - (variant.mean or 0)
        density.append(np.exp(-(distance**2) / (2 * variance)) / np.sqrt(variance))
    return [part / sum(density) for part in density]


@pytest.mark.parametrize("value", [0.94, 0.9, 0.88, 0.86, 0.82])
def test_measure_is_shared_out(reference: Reference, value: float) -> None:
    """A measure is each variant as far as its bell is high there."""
    found = row(reference, "neck-depth", {"value": value})
    wanted = likeness(reference.by_id["neck-depth"], value)
    assert [band.seen for band in found.bands] == pytest.approx(wanted, abs=0.0051)
    assert found.seen == f"{value:.4g} in"


@pytest.mark.parametrize(
    ("text", "seen"),
    [("101", [1, 0]), ("0420", [1, 0]), ("999", [1, 0]), ("1000", [0, 1]), ("9999", [0, 0])],
)
def test_serial_lies_in_its_block(reference: Reference, text: str, seen: list[int]) -> None:
    """A serial is the block that holds its number, both ends included."""
    found = row(reference, "serial", {"read": text})
    assert [band.seen for band in found.bands] == seen
    assert found.seen == text


def test_date_code_is_stamped(reference: Reference) -> None:
    """A date code has a mark at every month that it may mean and the reference covers."""
    found = row(reference, "volume-pot", {"read": "53-12"})
    months = read_code("year-week", "53-12").months
    first, last = reference.covers
    inside = [month - first for month in months if first <= month <= last]
    assert inside
    assert [x for x, _ in found.marks] == pytest.approx(
        [m / reference.months * 100 for m in inside]
    )
    widths = [width for _, width in found.marks]
    assert widths == pytest.approx([100 / reference.months] * len(widths))
    assert found.bands == ()


def test_signs_have_no_row(reference: Reference) -> None:
    """A sign was never fitted: it has no lifeline."""
    assert lifelines(judged(reference, edge_sign={"seen": "sanded"})).groups == ()


def test_not_seen_is_said(reference: Reference) -> None:
    """A point that was not seen has a row that says why."""
    found = row(reference, "volume-pot", {"not_seen": "not-allowed"})
    assert found.seen == "not seen: not allowed"


def test_window_and_runs(reference: Reference) -> None:
    """Window and months that the parts speak for lie where a calendar puts them."""
    result = judged(reference, knobs={"seen": "wood"}, serial={"read": "420"})
    chart = lifelines(result)
    months = reference.months
    start = month_of(1952, 3) - month_of(1950, 1)
    assert chart.window == pytest.approx((start / months * 100, 6 / months * 100))
    for (x, width), (first, last) in zip(chart.reads_as, result.verdict.reads_as, strict=True):
        assert x == pytest.approx((first - month_of(1950, 1)) / months * 100)
        assert width == pytest.approx((last - first + 1) / months * 100)


def test_strip_of_months(reference: Reference) -> None:
    """The strip has one tone a month, darkest where most is spoken for, none where nothing is."""
    result = judged(reference, knobs={"seen": "wood"}, serial={"read": "420"})
    tones = np.zeros(reference.months, dtype=int)
    covered = np.zeros(reference.months, dtype=int)
    for first, length, tone in lifelines(result).strip:
        tones[first : first + length] = tone
        covered[first : first + length] += 1
    posterior = np.array(result.verdict.posterior)
    assert covered.max() == 1
    assert (tones[posterior == 0] == 0).all()
    assert (tones[posterior > 0] >= 1).all()
    assert tones[posterior.argmax()] == tones.max() == 9
    order = np.argsort(posterior)
    assert (np.diff(tones[order]) >= 0).all()
