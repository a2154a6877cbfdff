"""`/`: choose a reference, say what is claimed, begin."""

import re

import pytest

from quickcheck.desk import Shelf
from quickcheck.errors import ReferenceFaultsError
from tests import kit
from tests.by_markings import ID, read
from tests.web.checklist import Changing
from tests.web.kit import Site, assert_says, words

CLAIM = {"reference": "loom-one", "year": "1952", "part": "mid", "access": "handle"}
FAULT = ReferenceFaultsError.of("bad.toml: id", expected="an id", came="none", remedy="Write one.")


class TestChecklist(Changing):
    """What holds at every endpoint."""

    path = "/"
    methods = frozenset({"GET", "POST"})


def count(site: Site) -> int:
    """Return how many inspections are in the book."""
    return len(site.store.book.list())


def test_one_reference_is_chosen_already(site: Site) -> None:
    """With a single reference there is nothing to choose: the claim is asked for at once."""
    assert_says(site.get("/"), 200, "What is claimed?", "Loom One (invented)", "1950", "1959")


def test_chosen(site: Site) -> None:
    """A reference named in the address is asked for its claim."""
    assert_says(site.get("/?reference=loom-one"), 200, "What is claimed?")


def test_bag_is_full_at_first(site: Site) -> None:
    """Every tool is ticked at first: whoever passes the bag over is asked for every point."""
    page = site.get("/")
    assert 'name="tools" value="screwdriver" checked' in page.text
    assert 'name="access" value="look" checked' in page.text


def test_unknown_reference(site: Site) -> None:
    """A reference that is not here is answered with those that are."""
    assert_says(site.get("/?reference=nobodys"), 404, "one of loom-one", '"nobodys"')


def test_none_here(site: Site) -> None:
    """Without any reference the page says where to put one."""
    bare = Site.on(site.store, site.reference, Shelf({}, {}))
    assert_says(bare.get("/"), 200, "No reference is here yet. Put one into the references folder")
    assert_says(bare.get("/?reference=loom-one"), 404, "none, for none is here")


def test_faulty_file_is_named(site: Site) -> None:
    """A file that could not be read does not hold up the others, and says why."""
    shelf = Shelf({}, {"bad.toml": FAULT})
    page = Site.on(site.store, site.reference, shelf).get("/")
    assert_says(page, 200, "bad.toml was not loaded", "expected an id; got none. Write one.")


def test_resume(site: Site) -> None:
    """Of several references the start lists all, and the inspections to go on with."""
    inspection = site.begin(name="The Curtain")
    both = Shelf({"loom-one": site.reference, "other": site.reference}, {})
    page = Site.on(site.store, site.reference, both).get("/")
    assert_says(page, 200, "Resume", "The Curtain", "0 answered")
    assert f"/inspect/{inspection}" in page.text


@pytest.mark.parametrize(
    ("part", "window"),
    [
        ("whole", ["1952-01", "1952-12"]),
        ("early", ["1952-01", "1952-04"]),
        ("mid", ["1952-05", "1952-08"]),
        ("late", ["1952-09", "1952-12"]),
        ("circa", ["1951-01", "1953-12"]),
        ("two", ["1952-01", "1953-12"]),
    ],
)
def test_begin_by_year(site: Site, part: str, window: list[str]) -> None:
    """A year and a part of it become the claimed months of a stored inspection."""
    response = site.post("/", {**CLAIM, "part": part})
    assert response.status_code == 303
    saved = site.store.book.list()[0]
    assert response.location == f"/inspect/{saved.id}"
    assert saved.document["window"] == window
    assert saved.document["answers"] == {}


def test_begin_with_everything(site: Site) -> None:
    """Everything that the form asks for is stored as it was given."""
    response = site.post(
        "/",
        {
            "reference": "loom-one",
            "first": " 1954-03 ",
            "last": "1954-08",
            "claim_words": "early ’54, all original",
            "nothing_changed": "y",
            "name": " The Curtain ",
            "serial_text": " 0420 ",
            "access": "open",
            "tools": ["screwdriver"],
            "disclosures": ["changed-tuners"],
        },
    )
    assert response.status_code == 303
    document = site.store.book.list()[0].document
    assert document["window"] == ["1954-03", "1954-08"]
    assert document["claim"] == {"words": "early ’54, all original", "nothing_changed": True}
    assert (document["name"], document["serial_text"]) == ("The Curtain", "0420")
    assert document["access"] == "open"
    assert document["tools"] == ["screwdriver"]
    assert document["disclosures"] == ["changed-tuners"]


def test_exact_months_win(site: Site) -> None:
    """Exact months stand in place of a tapped year."""
    site.post("/", {**CLAIM, "first": "1955-02", "last": "1955-02"})
    assert site.store.book.list()[0].document["window"] == ["1955-02", "1955-02"]


def test_edition_is_kept(site: Site) -> None:
    """The edition that an inspection began with can be had from the library for good."""
    site.post("/", CLAIM)
    saved = site.store.book.list()[0]
    assert site.store.library.get(saved.reference_hash).hash == site.reference.hash


WRONG = [
    ("no year", {"year": ""}, ["Year", "Tap a year"]),
    ("no year at all", {"year": None}, ["Year", "Tap a year"]),
    ("year in words", {"year": "fifty-four"}, ['"fifty-four"', "one of those shown"]),
    ("huge year", {"year": "9" * 30}, ["9" * 30, "one of those shown"]),
    ("small year", {"year": "0"}, ["Year: expected one of those shown"]),
    ("other digits", {"year": "\u0661\u0669\u0665\u0662"}, ["Year"]),
    ("year outside", {"year": "1931"}, ["Year", '"1931"']),
    ("first alone", {"first": "1954-03"}, ["To month", "got nothing", "like 1954-03"]),
    ("month in words", {"first": "March", "last": "1954-08"}, ["From month", '"March"']),
    ("month 13", {"first": "1954-13", "last": "1954-13"}, ["From month", '"1954-13"']),
    ("swapped", {"first": "1954-08", "last": "1954-03"}, ["the first month before the last"]),
    ("outside", {"first": "1971-01", "last": "1971-02"}, ["window", "1950–1959", "1971"]),
    ("part", {"part": "harvest"}, ["Which part of it", '"harvest"']),
    ("access", {"access": "saw"}, ["What the owner allows", '"saw"']),
    ("tool", {"tools": "axe"}, ["In the bag", '"axe"']),
    ("disclosure", {"disclosures": "cursed"}, ["cursed"]),
    ("long serial", {"serial_text": "7" * 17}, ["16"]),
    ("long name", {"name": "n" * 81}, ["80"]),
    ("long words", {"claim_words": "w" * 501}, ["500"]),
]


@pytest.mark.parametrize(("more", "said"), [w[1:] for w in WRONG], ids=[w[0] for w in WRONG])
def test_bad_input(site: Site, more: dict[str, str | None], said: list[str]) -> None:
    """A claim that can't be taken is told in words, with all that was typed still there."""
    typed = {**CLAIM, "name": "The Curtain", "claim_words": "from the loft", **more}
    fields = {key: value for key, value in typed.items() if value is not None}
    response = site.post("/", fields)
    assert_says(response, 422, *said)
    assert count(site) == 0
    for key in ("name", "claim_words", "first", "last", "serial_text"):
        if key in fields:
            assert fields[key] in response.text


def test_last_month_alone(site: Site) -> None:
    """A last month alone claims that month."""
    site.post("/", {**CLAIM, "first": "", "last": "1954-03"})
    assert site.store.book.list()[0].document["window"] == ["1954-03", "1954-03"]


def test_post_without_a_reference(site: Site) -> None:
    """A claim for no reference, or for one that is not here, opens nothing."""
    assert_says(site.post("/", {"year": "1952"}), 404, "reference", "loom-one")
    assert_says(site.post("/", {**CLAIM, "reference": "x"}), 404, '"x"')
    assert count(site) == 0


def test_typed_text_is_escaped(site: Site) -> None:
    """What was typed comes back as text, never as a piece of the page."""
    response = site.post("/", {**CLAIM, "year": "", "name": '"><script>alert(1)</script>'})
    assert response.status_code == 422
    assert "<script>alert" not in response.text
    assert "&lt;script&gt;alert(1)" in response.text


def general(site: Site) -> Site:
    """Return a site with a reference and the one for what no other fits."""
    shelf = Shelf({ID: read(), "loom-one": site.reference}, {}, frozenset({ID}))
    return Site.on(site.store, site.reference, shelf)


NONE_FITS = "No reference for it? Any US-made electric instrument, by its markings, 1920–1979"


def test_beside_a_single_reference(site: Site) -> None:
    """A single other reference is chosen already, and the general one is offered beside it."""
    page = general(site).get("/")
    assert_says(page, 200, "What is claimed?", "Loom One (invented)", NONE_FITS)
    assert f'href="/?reference={ID}"' in page.text
    chosen = general(site).get(f"/?reference={ID}")
    assert_says(chosen, 200, "What is claimed?")
    assert "No reference for it?" not in words(chosen)


def test_when_no_reference_fits(site: Site) -> None:
    """In the list of references the general one is last, with a sentence."""
    two = {ID: read(), "loom-one": site.reference, "other": site.reference}
    page = Site.on(site.store, site.reference, Shelf(two, {}, frozenset({ID}))).get("/")
    assert_says(page, 200, NONE_FITS)
    offered = re.findall(r'<li data-words="[^"]*"([^>]*)><?.*?/\?reference=([a-z-]+)"', page.text)
    assert offered == [("", "loom-one"), ("", "loom-one"), (" data-always", ID)]
    assert f'data-offered="{ID}"' in page.text


def test_general_alone(site: Site) -> None:
    """With no other reference the page says where to put one, and still offers the general one."""
    shelf = Shelf({ID: read()}, {}, frozenset({ID}))
    page = Site.on(site.store, site.reference, shelf).get("/")
    assert_says(page, 200, "No reference is here yet.", "No reference for it?")


def test_begin_with_the_general_one(site: Site) -> None:
    """An inspection by markings begins like any other, and may claim any year from 1920 on."""
    response = general(site).post("/", {**CLAIM, "reference": ID, "year": "1923"})
    assert response.status_code == 303
    assert site.store.book.list()[0].document["window"] == ["1923-05", "1923-08"]


def test_kit_claims_are_of_this_reference() -> None:
    """The documents that tests begin with are claims to the reference that the site has."""
    assert kit.document()["reference"] == CLAIM["reference"]


def test_never_promises(site: Site) -> None:
    """The start says what a verdict is not."""
    both = Shelf({"loom-one": site.reference, "other": site.reference}, {})
    page = words(Site.on(site.store, site.reference, both).get("/"))
    assert "no authentication, appraisal or guarantee" in page
