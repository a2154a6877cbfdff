"""Materials declared or suspected: on the verdict, and on all that is made from a card's code."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import ImageDraw

from quickcheck.desk import Shelf
from quickcheck.reference.border import CAUTION, IN_FORCE, RULES, SHORT, SHORTEST
from quickcheck.store import KeyFiles, make_key, open_store
from tests.by_markings import DECLARED, OF_1962, read
from tests.web.issuing import FORM, ISSUER, MADE
from tests.web.kit import Site, assert_says, words

NAMED = "Declared or suspected, not established: fingerboard, as declared (Declared: a rosewood)"
HEADING = "Materials declared or suspected"
MOST = 30_000  # bytes of a card's page
SIZES = ("card", "a6", "label")


@pytest.fixture(name="shop")
def _shop(tmp_path: Path) -> Iterator[Site]:
    """Give a site that knows the general reference only, and may seal."""
    keys = KeyFiles(tmp_path / "keys")
    with open_store(tmp_path / "book.sqlite3") as store:
        make_key(store.keys, keys, issuer=ISSUER, now=MADE)
        yield Site.on(store, read(), keys=keys)


def begin(shop: Site, answers: dict[str, Any]) -> str:
    """Begin with the general reference, answer, and return the address of the inspection."""
    fields = {"reference": read().id, "year": "1962", "part": "whole", "access": "open"}
    path = str(shop.post("/", fields).location)
    inspection = shop.store.book.list()[0].id
    for point, answer in answers.items():
        seen = answer.get("seen", answer.get("read"))
        shop.answer(inspection, point, seen=seen)
    assert shop.document(inspection)["answers"].keys() == answers.keys()
    return path


def card(shop: Site, answers: dict[str, Any]) -> str:
    """Return the address of a card of these answers."""
    return str(shop.post(f"{begin(shop, answers)}/card", FORM).location)


def test_asked_like_any_point(shop: Site) -> None:
    """The form asks what is declared, and says beside it that nothing is named from a look."""
    page = shop.get(begin(shop, {}))
    assert_says(page, 200, "What is the fingerboard declared to be?", "Declared: a rosewood")
    assert_says(page, 200, "Do not name a species or its legal status from a look")


def test_verdict(shop: Site) -> None:
    """What was declared stands there with the caution, and rules with their dates to ask about."""
    page = shop.get(f"{begin(shop, {'declared-board': {'seen': 'rosewood'}})}/verdict")
    assert_says(page, 200, HEADING, NAMED, CAUTION, IN_FORCE)
    assert_says(page, 200, *(rule.text for rule in RULES))
    assert words(page).count(CAUTION) == 2  # with the list, and at the end as always


def test_nothing_declared(shop: Site) -> None:
    """Without anything declared the caution stands among the others, and no list."""
    for answers in ({}, {"declared-nut": {"seen": "none"}}):
        page = shop.get(f"{begin(shop, answers)}/verdict")
        assert_says(page, 200, CAUTION, IN_FORCE)
        assert HEADING not in words(page)


def test_card_from_its_code_alone(shop: Site) -> None:
    """The card's page, screen and print, says it from the digits, within its 30 kB."""
    path = card(shop, {**OF_1962, **DECLARED})
    for address in (path, f"{path}/print"):
        page = shop.get(address)
        assert_says(page, 200, HEADING, NAMED, CAUTION, IN_FORCE)
        assert len(page.data) <= MOST
    assert "<details open>" in shop.get(f"{path}/print").text


def test_card_without_its_edition(shop: Site, tmp_path: Path) -> None:
    """Where the edition is not at hand nobody knows what was declared: the caution stands anyway."""
    path = card(shop, DECLARED)
    (key,) = shop.store.keys.list()
    with open_store(tmp_path / "bare.sqlite3") as store:
        store.keys.add(key)
        bare = Site.on(store, read(), Shelf({}, {}))
        assert_says(bare.get(path), 200, "The edition is not here", CAUTION, IN_FORCE)
        assert_says(bare.get(f"{path}/print/a6"), 200, SHORTEST)


@pytest.mark.parametrize("size", SIZES)
def test_small_paper(shop: Site, size: str) -> None:
    """The small sizes have a line of it when something is declared, and else a shorter one."""
    assert_says(shop.get(f"{card(shop, DECLARED)}/print/{size}"), 200, SHORT)
    plain = shop.get(f"{card(shop, OF_1962)}/print/{size}")
    assert_says(plain, 200, SHORTEST)
    assert SHORT not in words(plain)


def test_picture(shop: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """The picture that is passed on says it as well, whole, within its edges."""
    said: list[tuple[float, str]] = []
    write = ImageDraw.ImageDraw.text

    def note(pen: ImageDraw.ImageDraw, place: tuple[float, float], text: str, **more: Any) -> None:
        said.append((place[1], text))
        write(pen, place, text, **more)

    monkeypatch.setattr(ImageDraw.ImageDraw, "text", note)
    assert shop.get(f"{card(shop, {**OF_1962, **DECLARED})}/card.png").status_code == 200
    text = " ".join(line for _, line in said)
    assert SHORT in text
    assert "The code leads to localhost" in text
    assert max(top for top, _ in said) < 874 - 30
    said.clear()
    assert shop.get(f"{card(shop, OF_1962)}/card.png").status_code == 200
    assert SHORT not in " ".join(line for _, line in said)


def test_no_species_is_asserted(shop: Site) -> None:
    """Whatever names a material says who does: declared, suspected, or a rule to ask about."""
    page = shop.get(card(shop, DECLARED))
    listed = {rule.text for rule in RULES}
    lines = re.findall(r"<(?:li|td|th|p)[^>]*>(.*?)</(?:li|td|th|p)>", page.text, re.DOTALL)
    naming = [line for line in lines if re.search("rosewood|ivory|shell", line)]
    assert len(naming) > 3
    for line in naming:
        assert line in listed or re.search("eclared|uspected|Protected wood", line), line


def test_rules_say_how_they_are_known() -> None:
    """Each rule is read somewhere that is named, or says that it is from memory."""
    for rule in RULES:
        assert rule.known in ("read", "memory")
        assert bool(rule.source) == (rule.known == "read")
        assert ("from memory, not looked up" in rule.text) == (rule.known == "memory")
    assert "not legal advice" in CAUTION
    assert "cites.org/eng/app" in IN_FORCE
