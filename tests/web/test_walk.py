"""The order in which hands go over an instrument."""

import itertools
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.engine import read_sheet
from quickcheck.reference import Place, Reference
from quickcheck.web.walk import Walk
from tests import kit

ORDER = ["front", "headstock", "back", "edge", "open", "case"]
POINTS = ("knobs", "neck-depth", "serial", "volume-pot", "finish-signs", "edge-sign")


def walk(reference: Reference, **document: Any) -> Walk:
    """Lay out a walk over the small reference."""
    return Walk.over(reference, {"access": "open", **document})


def test_reading_order(reference: Reference) -> None:
    """Places come as the hands go; within a place the points keep the reference's order."""
    stops = walk(reference).stops
    places = [stop.point.place.value for stop in stops]
    assert places == sorted(places, key=ORDER.index)
    written = [point.id for point in reference.points]
    for place in ORDER:
        here = [stop.point.id for stop in stops if stop.point.place.value == place]
        assert here == [point for point in written if reference.by_id[point].place.value == place]
    assert sorted(stop.point.id for stop in stops) == sorted(written)


def test_marks(reference: Reference) -> None:
    """A stop is seen, not seen, out of reach or open."""
    answers = {"knobs": {"seen": "wood"}, "serial": {"not_seen": "no-time"}}
    found = walk(reference, access="look", answers=answers)
    marks = {stop.point.id: stop.mark for stop in found.stops}
    assert marks == {
        "knobs": "seen",
        "serial": "not-seen",
        "neck-depth": "out-of-reach",
        "volume-pot": "out-of-reach",
        "finish-signs": "open",
        "edge-sign": "open",
    }


@pytest.mark.parametrize(
    ("access", "tools", "needs"),
    [
        ("open", None, ()),
        ("open", ["screwdriver"], ()),
        ("open", [], ("screwdriver",)),
        ("handle", ["screwdriver"], ("leave to open",)),
        ("look", ["lamp"], ("leave to open", "screwdriver")),
    ],
)
def test_needs(
    reference: Reference, access: str, tools: list[str] | None, needs: tuple[str, ...]
) -> None:
    """A stop tells the leave and the tools that are missing; unsaid tools are no hindrance."""
    document: dict[str, Any] = {"access": access} | ({} if tools is None else {"tools": tools})
    stop = Walk.over(reference, document).stop("volume-pot")
    assert stop is not None
    assert stop.needs == needs
    assert stop.is_open is not bool(needs)


def test_access_unsaid_is_as_the_engine_takes_it(reference: Reference) -> None:
    """Where nobody said what is allowed, the walk takes it as the engine does."""
    document = kit.document(answers={})
    del document["access"]
    taken = read_sheet(reference, document).access
    unsaid, said = Walk.over(reference, document), walk(reference, access=taken.value)
    assert [stop.needs for stop in unsaid.stops] == [stop.needs for stop in said.stops]


def test_after_goes_round_once(reference: Reference) -> None:
    """The next open stop is sought to the end and then from the beginning, never the stop itself."""
    found = walk(reference, answers={"edge-sign": {"seen": "none"}})
    order = [stop.point.id for stop in found.stops]
    last = found.after(order[-1])
    assert last is not None
    assert last.point.id == order[0]
    only = {point: {"not_seen": "no-time"} for point in order if point != "serial"}
    alone = walk(reference, answers=only)
    assert alone.after("serial") is None
    after = alone.after("knobs")
    assert after is not None
    assert after.point.id == "serial"


@given(done=st.sets(st.sampled_from(POINTS)), at=st.sampled_from(POINTS))
def test_after_by_another_way(reference: Reference, done: set[str], at: str) -> None:
    """The next stop is the first one without an answer in the order that begins behind it."""
    found = walk(reference, answers={point: {"not_seen": "no-time"} for point in done})
    order = [stop.point.id for stop in found.stops]
    turned = order[order.index(at) + 1 :] + order[: order.index(at)]
    wanted = [point for point in turned if point not in done]
    after = found.after(at)
    assert (after.point.id if after else None) == (wanted[0] if wanted else None)
    first = found.first_open
    opened = [point for point in order if point not in done]
    assert (first.point.id if first else None) == (opened[0] if opened else None)


def test_before(reference: Reference) -> None:
    """Before a stop lies the one just before it, answered or not; before the first there is none."""
    found = walk(reference)
    order = [stop.point.id for stop in found.stops]
    assert found.before(order[0]) is None
    for earlier, later in itertools.pairwise(order):
        stop = found.before(later)
        assert stop is not None
        assert stop.point.id == earlier


@given(done=st.sets(st.sampled_from(POINTS)))
def test_progress_adds_up(reference: Reference, done: set[str]) -> None:
    """Counts by place, by area and in all agree with one another."""
    found = walk(reference, answers={point: {"not_seen": "no-time"} for point in done})
    assert found.done == len(done)
    for counts in (found.places, found.areas):
        assert sum(count for count, _ in counts.values()) == len(done)
        assert sum(total for _, total in counts.values()) == len(POINTS)
    assert Place.HEADSTOCK not in found.places
    assert found.place_word("back") == f"Back {found.places[Place.BACK][0]}/2"
    assert found.place_label("back").endswith("/2 points done")


def test_place_leads_to_its_first_open_point(reference: Reference) -> None:
    """A touch on a place leads to what is open there, else to its first point, else nowhere."""
    assert walk(reference).place_href("back") == "?at=serial"
    some = {"serial": {"read": "420"}}
    assert walk(reference, answers=some).place_href("back") == "?at=finish-signs"
    both = {**some, "finish-signs": {"seen": ["none"]}}
    assert walk(reference, answers=both).place_href("back") == "?at=serial"
    assert walk(reference).place_href("headstock") == "#main"
    assert walk(reference).place_word("headstock") == "Headstock"


def test_unknown_stop(reference: Reference) -> None:
    """There is no stop at a point that the reference has not."""
    assert walk(reference).stop("horns") is None
