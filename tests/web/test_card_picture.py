"""`/c/<digits>/card.png`: the card as a picture that can be passed on."""

import io
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from PIL import Image, ImageDraw
from werkzeug.test import TestResponse

from quickcheck import desk
from quickcheck.card import QUIET, SealState, card_url, data_of, symbol
from quickcheck.reference import Reference
from quickcheck.web import card_picture
from tests.web.checklist import Page
from tests.web.issuing import answered, issued, issuing, make
from tests.web.kit import Site
from tests.web.test_card import make as make_unsealed

BASE = "http://localhost:8000"


class TestChecklist(Page):
    """What holds at every endpoint."""

    path = "/c/{digits}/card.png"

    def address(self, site: Site) -> str:
        """Return the address of a card that is there."""
        return self.path.format(digits=make_unsealed(site))


@pytest.fixture(name="station")
def _station(tmp_path: Path, reference: Reference) -> Iterator[Site]:
    with issuing(tmp_path, reference) as site:
        yield site


def image(response: TestResponse) -> Image.Image:
    """Return the picture in a reply."""
    assert response.mimetype == "image/png"
    return Image.open(io.BytesIO(response.data))


def drawn_words(shown: desk.ShownCard, monkeypatch: pytest.MonkeyPatch) -> str:
    """Return all that is written on a picture, as it is handed to the pen."""
    said: list[str] = []
    write = ImageDraw.ImageDraw.text

    def note(pen: ImageDraw.ImageDraw, place: object, text: str, **more: object) -> None:
        said.append(text)
        write(pen, place, text, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(ImageDraw.ImageDraw, "text", note)
    card_picture.draw(shown, card_url(BASE, shown.data))
    return " ".join(said)


def test_decodes(station: Site) -> None:
    """Size as told; the code on it is read back to the address, also scaled and compressed."""
    made = make(station, answered(station))
    found = image(station.get(f"/c/{made}/card.png"))
    assert found.size == (1240, 874)
    small = found.resize((930, 656), Image.Resampling.BICUBIC)
    squeezed = io.BytesIO()
    found.convert("RGB").save(squeezed, "JPEG", quality=40)
    for picture in (found, small, Image.open(squeezed)):
        (code,) = zxingcpp.read_barcodes(picture.convert("L"))
        assert code.text == f"{BASE}/c/{made}"


def test_quiet_zone(station: Site) -> None:
    """Around the code four modules stay white, and modules are whole pixels."""
    made = make(station, answered(station))
    found = image(station.get(f"/c/{made}/card.png")).convert("L")
    (code,) = zxingcpp.read_barcodes(found)
    place = code.position
    left, top = place.top_left.x, place.top_left.y
    right, low = place.bottom_right.x, place.bottom_right.y
    modules = symbol(f"{BASE}/c/{made}").size
    module = round((right - left) / modules)
    assert module >= 7
    dark = np.asarray(found) < 128
    margin = QUIET * module - 2
    frame = dark[max(0, top - margin) : low + margin, left - margin : right + margin].copy()
    frame[margin - 2 : -margin + 2, margin - 2 : -margin + 2] = False
    assert not frame.any()
    assert top >= margin
    assert 1240 - right >= margin


def test_words(station: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """Verdict, claim, serial, marks, seal, interest and the domain are on it."""
    made = make(station, answered(station))
    words = drawn_words(desk.read_card(station.store, made), monkeypatch)
    for part in (
        "Loom One (invented)",
        "Too little seen",
        "Claimed Mar–Aug 1952.",
        "0420",
        "Burn, 6 mm: Fingerboard, fret 9",
        "Initials or writing, 20 mm: In a cavity",
        "Match these with the instrument in your hands.",
        "Sealed. Text unchanged since issued on 11 April 2026",
        "the seal says nothing about the instrument.",
        "The issuer is selling it.",
        "localhost:8000",
    ):
        assert part in words


def test_recalled_never_shows_a_verdict(station: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """A withdrawn card's picture says so in the place of the verdict."""
    inspection = answered(station)
    made = make(station, inspection)
    (card,) = issued(station, inspection)
    station.post(f"/inspect/{inspection}/cards/withdraw", {"card": card.id})
    shown = desk.read_card(station.store, made)
    words = drawn_words(shown, monkeypatch)
    assert shown.seal.state is SealState.WITHDRAWN
    assert "Taken back" in words
    assert "Do not rely on it." in words
    assert "Text unchanged" not in words


def test_unsealed(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a seal the picture says that nothing tells who wrote it."""
    words = drawn_words(desk.read_card(site.store, make_unsealed(site)), monkeypatch)
    assert "Too little seen" in words
    assert "No seal. Not sealed: nothing tells who wrote it" in words


def test_edition_is_missing(station: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the edition the front alone is drawn."""
    shown = desk.read_card(station.store, make(station, answered(station, "")))
    words = drawn_words(replace(shown, judged=None), monkeypatch)
    assert "Edition not at hand" in words
    assert "Claimed Mar–Aug 1952. When issued, what was seen read as Jan 1950–Feb 1953." in words
    assert "No serial" in words


def test_a_long_line_is_cut(station: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """A title that is too long for its place is cut with a sign of it, and nothing runs over."""
    shown = desk.read_card(station.store, make(station, answered(station)))
    assert shown.judged
    reference = replace(shown.judged.reference, title="A very long name of a model " * 9)
    judged = replace(shown.judged, reference=reference)
    words = drawn_words(replace(shown, judged=judged), monkeypatch)
    assert " … Too little seen" in words
    picture = card_picture.draw(replace(shown, judged=judged), card_url(BASE, shown.data))
    assert picture.size == (1240, 874)
    (code,) = zxingcpp.read_barcodes(picture)
    assert data_of(code.text.rpartition("/")[2]) == shown.data


def test_nothing_to_draw(station: Site) -> None:
    """What may be a stranger's word is not drawn."""
    shown = desk.read_card(station.store, make(station, answered(station)))
    with pytest.raises(ValueError, match="nothing of this card"):
        card_picture.draw(replace(shown, front=None), "")


@pytest.mark.parametrize("letter", "éßøŁžĞΩЖ–’…&")
def test_letters(letter: str) -> None:
    """The fonts have the letters of names in Latin, Greek and Cyrillic."""
    for name in ("NotoSans-Regular-subset.ttf", "NotoSerif-Bold-subset.ttf"):
        font = card_picture._font(name, 40)
        assert bytes(font.getmask(letter)) != bytes(font.getmask("\U0001f3b8"))
