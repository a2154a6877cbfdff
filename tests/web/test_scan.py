"""`/scan`: the page that reads cards, and what of it works without scripts."""

import io
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from werkzeug.test import TestResponse

from quickcheck import paths
from quickcheck.card import QUIET, card_url, data_of, symbol
from quickcheck.reference import Reference
from quickcheck.store import LARGEST_PHOTO
from quickcheck.web.assets import HEADS
from tests.web.checklist import Changing, Checklist
from tests.web.issuing import issuing
from tests.web.kit import HERE, Site, assert_says, asset
from tests.web.test_offline_routes import listed
from tests.web.test_seal_again import phone_card

FIELD = "The card’s address, or its digits"


class TestChecklist(Checklist):
    """What holds at every endpoint."""

    path = "/scan"
    methods = frozenset({"GET", "POST"})


class TestTextChecklist(Changing):
    """What holds of the text that is sent."""

    path = "/scan"
    methods = frozenset({"GET", "POST"})


class TestPictureChecklist(Changing):
    """What holds of the picture that is sent."""

    path = "/scan/picture"

    def address(self, site: Site) -> str:
        """Return the address, which only a device of the book may send to."""
        site.get("/scan")
        return self.path

    def test_too_large_body(self, site: Site) -> None:
        """A photo of any phone passes, twelve megabytes and more do not."""
        assert send_picture(site, b"\xff\xd8\xff" + bytes(3_000_000)).status_code == 422
        assert_says(send_picture(site, bytes(LARGEST_PHOTO)), 413, "Too large")


@pytest.fixture(name="station")
def _station(tmp_path: Path, reference: Reference) -> Iterator[Site]:
    with issuing(tmp_path, reference) as site:
        yield site


def send(site: Site, text: str) -> TestResponse:
    """Paste a text and press the button."""
    return site.post("/scan", {"card": text})


def code(text: str, kind: str = "PNG") -> bytes:
    """Return a picture of the code of a text."""
    dark = np.kron(np.pad(np.array(symbol(text).rows), QUIET), np.ones((5, 5)))
    out = io.BytesIO()
    Image.fromarray(np.where(dark, 20, 235).astype(np.uint8)).save(out, kind)
    return out.getvalue()


def form(content: bytes | None) -> dict[str, Any]:
    """Return the body of a form with a picture, as a browser writes it."""
    picture = b'Content-Disposition: form-data; name="picture"; filename="a.png"\r\n\r\n'
    part = b"" if content is None else b"--edge\r\n" + picture + content + b"\r\n"
    return {"data": part + b"--edge--\r\n", "content_type": "multipart/form-data; boundary=edge"}


def send_picture(site: Site, content: bytes | None) -> TestResponse:
    """Choose a picture on a page without scripts and send it, as a device of the book."""
    site.get("/scan")
    return site.client.post("/scan/picture", headers=HERE, **form(content))


def test_the_page(site: Site) -> None:
    """Without scripts there are two forms and no camera; the scripts know this server's names."""
    page = site.get("/scan")
    assert_says(page, 200, "Read a card", FIELD, "A photo or screenshot", "camera needs scripts")
    assert '<div id="scan-camera" hidden>' in page.text
    assert 'data-hosts="localhost 127.0.0.1"' in page.text
    assert page.text.count('method="post"') == 2


@pytest.mark.parametrize("path", ["/", "/book", "/keys"])
def test_where_it_is_found(site: Site, path: str) -> None:
    """Start, book and keys lead there."""
    assert 'href="/scan"' in site.get(path).text


def test_a_station_goes_on_to_the_next_card(station: Site) -> None:
    """A device of the book finds the way back and, once it is sealed, every paper; a buyer neither."""
    text = phone_card(station)
    station.get("/scan")
    sealed = station.post(f"/c/{text}/seal", {"leave": "y"}).location or ""
    for card in (f"/c/{text}", sealed):
        assert 'href="/scan"' in station.get(card).text
        assert 'href="/scan"' not in station.app.test_client().get(card).text
    for size in ("card", "a6", "label"):
        assert f'href="{sealed}/print/{size}"' in station.get(sealed).text
        assert f"/print/{size}" not in station.get(f"/c/{text}").text
        assert f"/print/{size}" not in station.app.test_client().get(sealed).text


@pytest.mark.parametrize("base", ["", "http://localhost:8000/c/", "https://127.0.0.1/hall/c/"])
def test_a_text_opens_the_card(site: Site, base: str) -> None:
    """Digits, or an address with a name of this server, lead to the card's page."""
    text = phone_card(site)
    reply = send(site, base + text)
    assert (reply.status_code, reply.location) == (303, f"/c/{text}")
    assert site.get(reply.location or "").status_code == 200


def test_a_text_as_it_is_pasted(site: Site) -> None:
    """Spaces and line breaks, as a message or a mail puts them in, are no harm."""
    text = phone_card(site)
    reply = send(site, f"  http://localhost:8000/c/{text[:60]}\r\n {text[60:]}\n")
    assert reply.location == f"/c/{text}"


def test_a_card_of_another_server(site: Site) -> None:
    """Its host is named and the card opens here by one more tap: there is no way to that host."""
    text = phone_card(site)
    for reply in (
        send(site, f"https://cards.elsewhere.example/c/{text}"),
        send_picture(site, code(f"https://cards.elsewhere.example/c/{text}")),
    ):
        assert_says(reply, 200, "names another server", "cards.elsewhere.example", "digits")
        assert f'href="/c/{text}"' in reply.text
        assert "//cards.elsewhere.example" not in reply.text


@pytest.mark.parametrize(
    "text",
    [
        *("", "a guitar", "12", "https://elsewhere.example/menu", "javascript:alert(1)"),
        *("//elsewhere.example/c/1", "<b>x</b>", "9" * 2000, "\x00", "١٢٣"),
    ],
)
def test_no_card(site: Site, text: str) -> None:
    """Any other text is refused on the same page, which says what is wanted; it leads nowhere."""
    reply = send(site, text)
    assert_says(reply, 422, "card: expected the", "Scan the code again, or copy", FIELD)
    assert "<b>x" not in reply.text
    assert "location" not in reply.headers


def test_no_field(site: Site) -> None:
    """A form without the field is refused alike."""
    assert_says(site.post("/scan", {}), 422, "expected the address of a card")


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP"])
def test_a_picture_opens_the_card(site: Site, kind: str) -> None:
    """A picture is read where its page has no scripts."""
    text = phone_card(site)
    reply = send_picture(site, code(card_url("http://localhost:8000", data_of(text)), kind))
    assert (reply.status_code, reply.location) == (303, f"/c/{text}")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "a JPEG, PNG or WebP"),
        (b"", "a JPEG, PNG or WebP"),
        (b"%PDF-1.7", "a JPEG, PNG or WebP"),
        (code("https://elsewhere.example/menu")[:-40], "photo: expected"),
        (code("https://elsewhere.example/menu"), "expected the address of a card"),
    ],
    ids=["none", "empty", "no picture", "cut", "a menu"],
)
def test_no_card_in_a_picture(site: Site, content: bytes | None, said: str) -> None:
    """A picture that is none, or shows no card, is refused on the same page."""
    assert_says(send_picture(site, content), 422, said, FIELD)


def test_no_code_in_a_picture(site: Site) -> None:
    """A picture without a code, or with two cards, is told apart from one with a card."""
    out = io.BytesIO()
    Image.new("L", (300, 300), 200).save(out, "PNG")
    assert_says(send_picture(site, out.getvalue()), 422, "0 cards among 0 codes")


def test_a_strangers_picture(site: Site) -> None:
    """Reading one takes a machine's time: only a device of the book may ask for it."""
    stranger = site.app.test_client()
    reply = stranger.post("/scan/picture", headers=HERE, **form(code("1")))
    assert_says(reply, 403, "a device of the book")


def test_without_a_decoder(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is an extra: the page says so where no script could read instead, and a post what to do."""
    assert "is not installed" not in site.get("/scan").text
    monkeypatch.setitem(sys.modules, "zxingcpp", None)
    page = site.get("/scan")
    assert_says(page, 200, "this server reads no pictures", "instrument-quickcheck[image]", FIELD)
    assert 'enctype="multipart/form-data" hidden' in page.text
    assert_says(send_picture(site, code("1")), 404, "instrument-quickcheck[image]")
    assert send(site, phone_card(site)).status_code == 303


def test_no_phone_takes_it_along(site: Site) -> None:
    """Page, script, style and decoder are in no pack and on no list; no other page loads them."""
    page = site.get("/scan").text
    own = [asset(site, name) for name in ("js/scan.js", "css/page/scan.css")]
    assert all(address in page for address in own)
    decoder = [asset(site, f"vendor/qr-0.7.0/{name}") for name in ("decode.mjs", "index.js")]
    assert all(site.get(address).mimetype == "text/javascript" for address in decoder)
    kept = listed(site)
    assert asset(site, "js/app.js") in kept
    assert not kept.keys() & {*own, *decoder}
    assert not [url for url in kept if "scan" in url or "/qr-" in url]
    for other in ("/", "/book", "/keys", f"/inspect/{site.begin()}"):
        assert not [address for address in (*own, *decoder) if address in site.get(other).text]
    assert HEADS[-1] == "js/scan.js", "what comes after it would change what others weigh"
    scripts = {name: site.get(asset(site, name)).text for name in HEADS}
    assert [name for name, script in scripts.items() if "getUserMedia" in script] == [HEADS[-1]]


def test_the_decoder_keeps_to_the_policy() -> None:
    """Nothing in it is evaluated, compiled or fetched: the policy need not be loosened for it."""
    text = "".join(
        (paths.STATIC / "vendor/qr-0.7.0" / name).read_text(encoding="utf-8")
        for name in ("decode.mjs", "index.js")
    )
    for word in ("eval(", "new Function", "WebAssembly", "fetch(", "importScripts"):
        assert word not in text, word
