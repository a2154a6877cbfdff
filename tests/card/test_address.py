"""The text of a code: one spelling of an address or digits, and nothing else."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.card import Scanned, card_url, digits, encode, looks_like_text, read_text
from quickcheck.card.address import LONGEST_BASE
from quickcheck.card.code import LARGEST
from quickcheck.errors import CardError
from tests.card.kit import full
from tests.card.sealing import sealed

VECTORS = Path(__file__).resolve().parent.parent / "vectors"
DATA = sealed().data
DIGITS = digits(DATA)
HOST = "cards.example"
URL = f"https://{HOST}/c/{DIGITS}"


@pytest.mark.parametrize(
    ("base", "host"),
    [
        ("https://cards.example", "cards.example"),
        ("http://localhost:8000", "localhost"),
        ("http://192.168.4.20:80", "192.168.4.20"),
        ("http://[fe80::1]:8000", "[fe80::1]"),
        ("https://fair.example/hall-2", "fair.example"),
    ],
)
def test_an_address_gives_bytes_and_host(base: str, host: str) -> None:
    """Whatever server a card leads to, its bytes come out, and where it leads is told."""
    for data in (DATA, encode(full())):
        assert read_text(card_url(base, data)) == Scanned(data, host)


def test_digits_alone_lead_nowhere() -> None:
    """They are taken as well, without a host."""
    assert read_text(DIGITS) == Scanned(DATA, "")


OTHER_SPELLINGS = (
    "",
    "quickcheck",
    f" {URL}",
    f"{URL}\n",
    f"{URL} ",
    f"{URL}/",
    f"{URL}?x",
    f"{URL}#x",
    f"{URL}a",
    f"{DIGITS}\n",
    f" {DIGITS}",
    f"-{DIGITS}",
    f"0{DIGITS}",
    URL.upper(),
    URL.replace("https", "HTTPS"),
    URL.replace("https", "ftp"),
    URL.replace("cards", "Cards"),
    URL.replace("cards", "cаrds"),
    URL.replace("/c/", "/C/"),
    URL.replace("/c/", "/d/"),
    URL.replace("/c/", "//c/"),
    URL.replace("/c/", "/c/0"),
    URL.replace("://", ":"),
    URL.replace(HOST, ""),
    URL.replace(HOST, f"somebody@{HOST}"),
    URL.replace(HOST, f"{HOST}:123456"),
    URL.replace(HOST, "a" * LONGEST_BASE),
    f"https://{HOST}/c/",
    f"https://{HOST}/c/²",
    DIGITS.translate(str.maketrans("0123456789", "٠١٢٣٤٥٦٧٨٩")),
    DIGITS.translate(str.maketrans("0123456789", "０１２３４５６７８９")),
    f"{int(DIGITS):x}",
    f"{int(DIGITS):_}",
    "1" * 724,
    "9" * 100_000,
    f"https://{HOST}/c/" + "1" * 100_000,
)


@pytest.mark.parametrize("text", OTHER_SPELLINGS, ids=range(len(OTHER_SPELLINGS)))
def test_other_spellings_are_refused(text: str) -> None:
    """Padded, too long, in capitals, in another alphabet, of another number system: no card."""
    with pytest.raises(CardError, match=r"^card: expected the (address|digits) of a card"):
        read_text(text)


@given(st.text(max_size=80))
def test_any_text_is_refused_or_has_one_spelling(text: str) -> None:
    """Nothing but a CardError comes out; what is taken is written back the same."""
    check(text)


@given(
    st.sampled_from(["", "http://", "https://"]),
    st.text("abcéA.-:/@[]0", max_size=12),
    st.sampled_from(["", "/c/", "/C/", "/c"]),
    st.text("0123456789²٢ \n", max_size=8) | st.binary(max_size=LARGEST).map(digits),
)
def test_texts_like_an_address_have_one_spelling(
    scheme: str, host: str, path: str, end: str
) -> None:
    """The same for what looks like an address."""
    check(scheme + host + path + end)


def check(text: str) -> None:
    try:
        scanned = read_text(text)
    except CardError:
        return
    if scanned.host:
        base = text[: text.rindex("/c/")]
        assert card_url(base, scanned.data) == text
        assert scanned.host in base
    else:
        assert digits(scanned.data) == text


@given(st.data())
def test_one_character_wrong(data: st.DataObject) -> None:
    """A character replaced, left out or put in makes other bytes, another host, or no card."""
    place = data.draw(st.integers(0, len(URL) - 1))
    more = data.draw(st.characters(codec="utf-8") | st.sampled_from("0123456789"))
    for text in (
        URL[:place] + more + URL[place + 1 :],
        URL[:place] + URL[place + 1 :],
        URL[:place] + more + URL[place:],
    ):
        if text == URL:
            continue
        try:
            scanned = read_text(text)
        except CardError:
            continue
        base = text[: text.rindex("/c/")]
        assert (scanned.data, base) != (DATA, f"https://{HOST}")


def test_what_is_meant_as_text() -> None:
    """Digits and addresses of any spelling; everything else may be the name of a file."""
    texts = ["123", URL, URL.upper(), "http:x", "https://\n"]
    files = ["", "card.png", "./123", "12.jpg", "/a/1", "c/123"]
    assert [looks_like_text(word) for word in texts + files] == [True] * 5 + [False] * 6


def test_the_scripts_read_the_same() -> None:
    """What `static/js/cardtext.js` is held to in `tests/node` is what a text is here."""
    texts = json.loads((VECTORS / "card_texts.json").read_text(encoding="utf-8"))
    assert len(texts) > 40
    for text, wanted, host in texts:
        if wanted is None:
            with pytest.raises(CardError):
                read_text(text)
        else:
            found = read_text(text)
            assert (digits(found.data), found.host) == (wanted, host)
