"""The three invented references: complete, sourced row by row, careful where work can hurt."""

import pytest

from quickcheck import paths
from quickcheck.reference import Reference, read_reference
from quickcheck.reference.records import Access, Kind, Point

REFERENCES = paths.DEMO / "references"
OUTLINES = {
    "hobbinsley-poplin": "solid",
    "hobbinsley-corduroy": "bass",
    "hobbinsley-taffeta": "archtop",
}
WITNESSES = {"hobbinsley-poplin": 22, "hobbinsley-corduroy": 19, "hobbinsley-taffeta": 20}
LABEL_FITS = 28  # characters on a thumb-sized button at 320 px, two lines


@pytest.fixture(params=sorted(OUTLINES))
def model(request: pytest.FixtureRequest) -> Reference:
    """Give each of the three references."""
    return read_reference(REFERENCES / request.param)


def points(model: Reference, kind: Kind | None = None) -> list[Point]:
    """Return the points of a kind, or all of them."""
    return [point for point in model.points if kind in (None, point.kind)]


def test_title_says_that_it_is_invented(model: Reference) -> None:
    """Nobody can take a demo reference for facts about a real instrument."""
    assert "invented" in model.title
    assert "All invented." in model.about


def test_counts_and_outline(model: Reference) -> None:
    """Each has the witnesses of its table, signs, one case point, and the outline of its kind."""
    assert sum(point.is_witness for point in model.points) == WITNESSES[model.id]
    assert len(points(model, Kind.SIGN)) >= 2
    assert [point.id for point in model.points if point.area == "case"] == ["case"]
    assert model.outline == OUTLINES[model.id]


def test_every_point_is_asked_looked_at_and_sourced(model: Reference) -> None:
    """A question, a way to look before answering, and a source stand at every point."""
    for point in model.points:
        assert point.ask.endswith("?"), point.id
        assert len(point.look) > 40, point.id
        assert point.source, point.id
        assert all(variant.source for variant in point.seen), point.id


def test_labels_fit_a_thumb_button(model: Reference) -> None:
    """The words of a variant fit its button, and no two of a point are alike."""
    for point in model.points:
        labels = [variant.label for variant in point.seen]
        assert len(set(labels)) == len(labels), point.id
        assert all(len(label) <= LABEL_FITS for label in labels), point.id


def test_cautions_stand_where_work_can_hurt(model: Reference) -> None:
    """UV, opening up, coverings of celluloid and the meter at the jack carry their caution."""
    for point in model.points:
        if "uv-lamp" in point.tools:
            assert "Never look into a UV lamp" in point.caution, point.id
        if point.access is Access.OPEN:
            assert "Unplug first" in point.caution, point.id
        if "meter" in point.tools:
            assert "never open an amplifier" in point.caution, point.id
        if any("celluloid" in variant.note for variant in point.seen):
            assert "burns fiercely" in point.caution, point.id


def test_looked_and_none_seen_can_be_answered(model: Reference) -> None:
    """Every sign point lets one say that one looked and saw none, with odds below 1."""
    for point in points(model, Kind.SIGN):
        none = point.variant("none")
        assert none is not None, point.id
        assert none.odds is not None, point.id
        assert none.odds < 1, point.id


def test_rates_of_the_sets(model: Reference) -> None:
    """Hardware, rewire, neck and refinish carry the rates that the demo is calibrated for."""
    rates = {name: points_set.changed for name, points_set in model.sets.items()}
    assert {name: rates[name] for name in ("hardware", "rewire", "neck", "refinish")} == {
        "hardware": 0.05,
        "rewire": 0.06,
        "neck": 0.03,
        "refinish": 0.12,
    }


def test_output_adds_up_over_the_strike(model: Reference) -> None:
    """The year of the strike keeps its 430 instruments, with next to none in its three months."""
    months = [model.output[f"1955-{month:02d}"] for month in range(1, 13)]
    assert sum(months) == pytest.approx(430)
    assert months[7:10] == [0.1, 0.1, 0.1]
