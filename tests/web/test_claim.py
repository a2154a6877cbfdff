"""`/inspect/<id>/claim`: change what was claimed, allowed or admitted."""

import pytest

from tests.web.checklist import Changing, OfInspection
from tests.web.kit import Site, assert_says

CLAIM = {"first": "1953-01", "last": "1953-06", "access": "open"}


class TestChecklist(Changing, OfInspection):
    """What holds at every endpoint."""

    path = "/inspect/{id}/claim"
    methods = frozenset({"GET", "POST"})


def test_filled_in(site: Site) -> None:
    """The form shows the claim as it stands."""
    inspection = site.begin(
        name="The Curtain",
        serial_text="0420",
        claim={"words": "from the loft", "nothing_changed": True},
        tools=["screwdriver"],
        disclosures=["changed-tuners"],
    )
    page = site.get(f"/inspect/{inspection}/claim")
    assert_says(page, 200, "What is claimed", "from the loft")
    for piece in ('value="1952-03"', 'value="1952-08"', 'value="The Curtain"', 'value="0420"'):
        assert piece in page.text
    for name, value in (
        ("nothing_changed", "y"),
        ("access", "handle"),
        ("tools", "screwdriver"),
        ("disclosures", "changed-tuners"),
    ):
        assert f'name="{name}" value="{value}" checked' in page.text


def test_saved_again_unchanged(site: Site) -> None:
    """The form sent back as it came changes nothing that is stored."""
    inspection = site.begin(
        name="The Curtain", serial_text="0420", tools=["screwdriver"], claim={"words": "loft"}
    )
    before = site.document(inspection)
    fields = {
        "first": "1952-03",
        "last": "1952-08",
        "name": "The Curtain",
        "serial_text": "0420",
        "claim_words": "loft",
        "access": "handle",
        "tools": "screwdriver",
    }
    assert site.post(f"/inspect/{inspection}/claim", fields).status_code == 303
    after = site.document(inspection)
    assert {key: after[key] for key in before if key != "claim"} == {
        key: before[key] for key in before if key != "claim"
    }
    assert after["claim"]["words"] == "loft"


def test_changed(site: Site) -> None:
    """A changed claim is stored, the answers stay, and the page leads back to the inspection."""
    inspection = site.begin()
    site.answer(inspection, "knobs", seen="wood")
    response = site.post(f"/inspect/{inspection}/claim", {**CLAIM, "name": "The Curtain"})
    assert (response.status_code, response.location) == (303, f"/inspect/{inspection}")
    document = site.document(inspection)
    assert document["window"] == ["1953-01", "1953-06"]
    assert (document["access"], document["name"]) == ("open", "The Curtain")
    assert document["answers"] == {"knobs": {"seen": "wood"}}


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"first": "soon"}, ['"soon"', "From month"]),
        ({"first": "1953-09"}, ["the first month before the last"]),
        ({"last": ""}, ["To month"]),
        ({"first": "", "last": ""}, ["Tap a year"]),
        ({"access": "saw"}, ["What the owner allows", '"saw"']),
        ({"first": "1931-01", "last": "1931-01"}, ["window", "1950–1959"]),
    ],
    ids=["no-month", "swapped", "first-alone", "nothing", "access", "outside"],
)
def test_bad_input(site: Site, more: dict[str, str], said: list[str]) -> None:
    """A claim that can't be taken is told, what was typed stays, what is stored stays."""
    inspection = site.begin()
    before = site.document(inspection)
    fields = {**CLAIM, "claim_words": "from the loft", **more}
    response = site.post(f"/inspect/{inspection}/claim", fields)
    assert_says(response, 422, *said)
    assert "from the loft" in response.text
    assert fields["first"] in response.text
    assert site.document(inspection) == before
