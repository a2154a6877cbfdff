"""`/inspect/<id>`: the outline and the points, one at a time."""

import re

from quickcheck.reference import Kind
from tests.web.checklist import OfInspection, Page
from tests.web.kit import Site, assert_says, fieldset, words


class TestChecklist(Page, OfInspection):
    """What holds at every endpoint."""

    path = "/inspect/{id}"


def test_outline(site: Site) -> None:
    """Without a point the page shows the outline with every place and how far it is done."""
    page = site.get(f"/inspect/{site.begin()}")
    assert_says(page, 200, "claimed Mar–Aug 1952", "0 of 6")
    links = dict(re.findall(r'data-place="(\w+)" href="([^"]*)"', page.text))
    assert links["front"] == "?at=knobs"
    assert links["back"] == "?at=serial" or links["back"] == "?at=finish-signs"
    assert links["open"] == "?at=volume-pot"
    assert "hidden" not in page.text.split('class="overview"')[1].split(">")[0]


def test_every_point_is_there(site: Site) -> None:
    """All points are on the page, hidden and disabled but for the one that is asked for."""
    page = site.get(f"/inspect/{site.begin()}?at=neck-depth")
    shown = re.findall(r'<fieldset[^>]*data-point="([^"]+)"([^>]*)>', page.text)
    assert {point for point, _ in shown} == set(site.reference.by_id)
    assert [point for point, rest in shown if "disabled" not in rest] == ["neck-depth"]
    assert 'name="_point" value="neck-depth"' in page.text


def test_hooks(site: Site) -> None:
    """Choices are named by their point and valued by their variant; the rest is one text field."""
    inspection = site.begin()
    page = site.get(f"/inspect/{inspection}")
    assert f'data-inspection="{inspection}"' in page.text
    for point in site.reference.points:
        html = fieldset(page, point.id)
        own = re.findall(rf'<input[^>]*name="{point.id}"[^>]*>', html)
        if point.kind in (Kind.PICK, Kind.SIGN):
            values = [re.search(r'value="([^"]*)"', field)[1] for field in own]  # type: ignore[index]
            extra = ["other"] if point.kind is Kind.PICK else []
            assert values == [variant.id for variant in point.seen] + extra
        else:
            assert len(own) == 1
            assert 'type="text"' in own[0]
    assert 'data-verdict="too-little-seen"' in page.text
    assert 'data-saved="server"' in page.text
    assert 'data-unsent="0"' in page.text


def test_answers_are_filled_in(site: Site) -> None:
    """What was answered stands in its fields when the page comes again."""
    inspection = site.begin()
    site.answer(inspection, "knobs", seen="horn", unsure="1", state="signs", note="one cracked")
    site.answer(inspection, "neck-depth", seen="0.935", unit="in")
    site.answer(inspection, "volume-pot", not_seen="not-allowed")
    page = site.get(f"/inspect/{inspection}")
    knobs = fieldset(page, "knobs")
    assert 'value="horn" checked' in knobs
    assert 'name="knobs.unsure" value="1" checked' in knobs
    assert 'name="knobs.state" value="signs" checked' in knobs
    assert ">one cracked</textarea>" in knobs
    assert 'value="0.935"' in fieldset(page, "neck-depth")
    assert 'value="not-allowed" checked' in fieldset(page, "volume-pot")
    assert "3 of 6" in words(page)


def test_unknown_point(site: Site) -> None:
    """A point that the reference has not is answered with what to do."""
    page = site.get(f"/inspect/{site.begin()}?at=horns")
    assert_says(page, 404, "point", '"horns"', "a point of Loom One")


def test_unknown_place(site: Site) -> None:
    """An unknown place in the address is passed over."""
    assert site.get(f"/inspect/{site.begin()}?place=cellar").status_code == 200


def test_out_of_reach(site: Site) -> None:
    """A point that needs leave or a tool says which; only then is it marked."""
    page = site.get(f"/inspect/{site.begin(tools=['lamp'], access='look')}")
    assert "Needs leave to open, screwdriver." in fieldset(page, "volume-pot")
    assert "Needs leave to handle." in fieldset(page, "neck-depth")
    assert "Needs" not in fieldset(page, "knobs")


def test_serial_typed_at_the_start_is_offered(site: Site) -> None:
    """The serial of the claim is shown to be read again, never taken as the answer."""
    page = site.get(f"/inspect/{site.begin(serial_text='0420')}")
    serial = fieldset(page, "serial")
    assert "At the start you typed" in serial
    assert '<option value="0420">' in serial
    assert 'name="serial" value=""' in serial


def test_picture(site: Site) -> None:
    """A variant with a picture shows it, from an address that holds the edition's hash."""
    page = site.get(f"/inspect/{site.begin()}")
    found = re.search(r'<img class="drawing" src="([^"]+)"', fieldset(page, "knobs"))
    assert found
    assert found[1] == f"/references/{site.reference.hash[:16]}/pictures/wood.svg"
    assert site.get(found[1]).status_code == 200


def test_name_is_escaped(site: Site) -> None:
    """A name that looks like markup is shown as it was typed."""
    page = site.get(f"/inspect/{site.begin(name='<b onclick=x>&')}")
    assert "<b onclick" not in page.text
    assert "&lt;b onclick=x&gt;&amp;" in page.text


def test_of_a_withdrawn_edition(site: Site) -> None:
    """An inspection is shown against the edition that it began with, whatever the shelf has now."""
    inspection = site.begin()
    bare = Site.on(site.store, site.reference)
    assert_says(bare.get(f"/inspect/{inspection}"), 200, "Loom One")
