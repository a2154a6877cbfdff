"""Any text in the place of a card: a plain page, never a fault of the server, never a card that stands."""

import re
from collections.abc import Iterator
from urllib.parse import quote

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.card import STANDING
from quickcheck.reference import Reference
from tests.web.issuing import answered, issuing, make
from tests.web.kit import Site

LARGEST = 20_000  # bytes of a page that refuses


@pytest.fixture(name="station", scope="module")
def _station(tmp_path_factory: pytest.TempPathFactory, reference: Reference) -> Iterator[Site]:
    with issuing(tmp_path_factory.mktemp("fuzz"), reference) as site:
        yield site


@pytest.fixture(name="card", scope="module")
def _card(station: Site) -> str:
    return make(station, answered(station))


def look(site: Site, text: str, rest: str = "") -> tuple[int, str]:
    """Open what stands in the place of a card; return status and page."""
    reply = site.get(f"/c/{quote(text, safe='')}{rest}")
    return reply.status_code, reply.text


def stands(page: str) -> bool:
    """Tell whether a page says that a seal holds."""
    state = re.search(r'data-seal="([^"]*)"', page)
    return bool(state) and state[1] in {str(each) for each in STANDING}


@given(text=st.text(min_size=1, max_size=80), rest=st.sampled_from(["", "/print", "/print/a6"]))
def test_any_text(station: Site, text: str, rest: str) -> None:
    """Whatever the characters: refused on a plain page, which does not repeat what could be a tag."""
    status, page = look(station, text, rest)
    assert status in {308, 400, 404}, page
    assert len(page) < LARGEST
    assert not stands(page)
    assert not re.search(r"<(?!/?[a-z!])", page)


@given(
    at=st.integers(0, 10_000),
    change=st.sampled_from(["cut", "drop", "double", "turn", "lead", "arabic", "space", "plus"]),
    digit=st.sampled_from("0123456789"),
)
def test_texts_like_a_card(station: Site, card: str, at: int, change: str, digit: str) -> None:
    """One character more, less or other, cut off, padded or of another alphabet: it never stands."""
    at %= len(card)
    changed = {
        "cut": card[:at],
        "drop": card[:at] + card[at + 1 :],
        "double": card[:at] + digit + card[at:],
        "turn": card[:at] + digit + card[at + 1 :],
        "lead": "0" * (at % 5 + 1) + card,
        "arabic": card[:at] + chr(0x0660 + int(card[at])) + card[at + 1 :],
        "space": card[:at] + " " + card[at:],
        "plus": "+" + card,
    }[change]
    if changed == card:
        return
    status, page = look(station, changed)
    assert status in {200, 400, 404}, page
    assert not stands(page)


def test_endless(station: Site, card: str) -> None:
    """A text far longer than any card is refused before anybody reckons with it."""
    status, page = look(station, card * 40)
    assert status in {400, 404, 414}
    assert len(page) < LARGEST


def test_the_card_itself_stands(station: Site, card: str) -> None:
    """The control: unchanged, it stands."""
    status, page = look(station, card)
    assert status == 200
    assert stands(page)
