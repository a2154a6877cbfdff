"""`/references`: what is known, with its sources and pictures."""

import html

import pytest

from quickcheck.desk import Shelf
from quickcheck.engine import compile_model
from quickcheck.errors import ReferenceFaultsError
from quickcheck.reference import json_schema
from tests.web.checklist import Page
from tests.web.kit import PICTURE, Site, assert_says


class TestList(Page):
    """What holds at every endpoint."""

    path = "/references"


class TestOne(Page):
    """What holds at every endpoint."""

    path = "/references/loom-one"


class TestPicture(Page):
    """What holds at every endpoint."""

    path = "/references/{hash}/pictures/wood.svg"

    def address(self, site: Site) -> str:
        """Return the address of a picture that is there."""
        return self.path.format(hash=site.reference.hash[:16])


def test_listed(site: Site) -> None:
    """Every reference is listed with what it covers."""
    page = site.get("/references")
    assert_says(page, 200, "Loom One (invented)", "6 points", "edition 2026-04")
    assert 'href="/references/loom-one"' in page.text


def test_faults_are_listed(site: Site) -> None:
    """A file that was not loaded stands there with all of its faults."""
    error = ReferenceFaultsError.of("bad.toml: id", expected="an id", came="1", remedy="Name it.")
    page = Site.on(site.store, site.reference, Shelf({}, {"bad.toml": error})).get("/references")
    assert_says(page, 200, "bad.toml was not loaded", "expected an id; got 1. Name it.", "None is")


def test_shown(site: Site) -> None:
    """A reference shows about, edition, licence, lifelines of its points, and its sources."""
    page = site.get("/references/loom-one")
    assert_says(page, 200, "Invented, for tests", "CC0-1.0", "Wage ledger (invented) (document)")
    for name in ("Knobs", "Neck depth", "Serial", "Volume pot"):
        assert f'<th scope="row">{name}</th>' in page.text
    assert "Finish signs" not in page.text
    assert page.text.count('class="band"') == 6
    assert site.reference.hash[:16] in page.text


@pytest.mark.parametrize("name", ["nobodys", "x" * 300, "%00", "LOOM-ONE", "loom-one.toml"])
def test_unknown(site: Site, name: str) -> None:
    """A reference that is not here is answered with those that are."""
    assert_says(site.get(f"/references/{name}"), 404, "one of loom-one")


def test_picture(site: Site) -> None:
    """A picture is served as it was read, typed, and for ever."""
    response = site.get(f"/references/{site.reference.hash[:16]}/pictures/wood.svg")
    assert response.status_code == 200
    assert response.data == PICTURE
    assert response.mimetype == "image/svg+xml"
    assert "immutable" in response.headers["Cache-Control"]
    assert "default-src 'none'" in response.headers["Content-Security-Policy"]


@pytest.mark.parametrize(
    ("prefix", "name"),
    [
        ("{hash}", "horn.svg"),
        ("{hash}", "..%2Fwood.svg"),
        ("{hash}", "wood.svg%00"),
        ("0000000000000000", "wood.svg"),
        ("nothex", "wood.svg"),
        ("{hash}0", "wood.svg"),
        ("00", "wood.svg"),
        ("{long}", "wood.svg"),
        ("{long}ff", "wood.svg"),
        ("ff" * 400, "wood.svg"),
    ],
)
def test_no_such_picture(site: Site, prefix: str, name: str) -> None:
    """A picture or an edition that is not here is answered as not there."""
    prefix = prefix.format(hash=site.reference.hash[:16], long=site.reference.hash)
    response = site.get(f"/references/{prefix}/pictures/{name}")
    if prefix == site.reference.hash:
        assert response.status_code in (200, 404)
    else:
        assert response.status_code == 404
    assert "immutable" not in response.headers["Cache-Control"] or response.status_code == 200


def test_what_months_should_look_like(site: Site) -> None:
    """For months of its own a reference shows how many of a hundred had what, as the engine says."""
    page = site.get("/references/loom-one?window=1951-01..1951-06")
    assert_says(page, 200, "What Jan–Jun 1951 should look like", "Knobs", "none of these")
    shares = compile_model(site.reference).expect((12 * 1951, 12 * 1951 + 5))["knobs"]
    for variant in site.reference.by_id["knobs"].seen:
        if shares[variant.id] > 0.01:
            words = f"{100 * shares[variant.id]:.0f}\xa0%"
            assert words in html.unescape(page.text), words
            assert variant.label in page.text


def test_months_are_chosen_by_two_fields(site: Site) -> None:
    """The form's two months become one address, which can be sent and printed."""
    page = site.get("/references/loom-one?first=1951-01&last=1951-06")
    assert page.status_code == 302
    assert page.location == "/references/loom-one?window=1951-01..1951-06"
    alone = site.get("/references/loom-one?first=1951-01&last=")
    assert alone.location == "/references/loom-one?window=1951-01..1951-01"


@pytest.mark.parametrize(
    ("window", "words"),
    [
        ("1951-01", "expected two months like 1954-03..1954-08"),
        ("1951-1..1951-02", "expected a month from 1800-01"),
        ("1951-06..1951-01", "expected months in order, within"),
        ("1901-06..1951-01", "expected months in order, within"),
        ("<b>..", "&lt;b&gt;"),
    ],
)
def test_months_that_are_none(site: Site, window: str, words: str) -> None:
    """Months that are not known are refused on the reference's own page."""
    page = site.get("/references/loom-one", query_string={"window": window})
    assert page.status_code == 422
    assert words in page.text
    assert "Lifelines" in page.text


def test_schema(site: Site) -> None:
    """The format is to be had as JSON Schema, the same as the command prints; writers are led to it."""
    reply = site.get("/references/schema.json")
    assert reply.mimetype == "application/schema+json"
    assert reply.json == json_schema()
    for page in ("/references/write", "/references/write?of="):
        assert 'href="/references/schema.json"' in site.get(page).text
