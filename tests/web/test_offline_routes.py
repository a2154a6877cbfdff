"""What a device takes along: the worker, the manifest, the packs, each as its list says."""

import hashlib
import json
import re
import struct

import pytest

from quickcheck.web.packs import NO_INSPECTION, SHELLS
from tests.web.kit import Site, assert_says


def listed(site: Site, name: str = "FILES") -> dict[str, tuple[str, str]]:
    """Return what the worker takes along: {address: (type, SHA-256)}."""
    script = site.get("/sw.js").text
    found = re.search(rf"\b{name} ?= ?(\[\[.*?\]\])", script)
    assert found
    return {address: (kind, digest) for address, kind, digest in json.loads(found[1])}


def pack(site: Site) -> dict[str, object]:
    """Return the list of the reference's parts."""
    got: dict[str, object] = site.get(f"/references/{site.reference.hash[:16]}/pack.json").json
    return got


def test_worker(site: Site) -> None:
    """The worker's script is asked for anew each time and may answer for every page."""
    response = site.get("/sw.js")
    assert response.mimetype == "text/javascript"
    assert response.headers["Cache-Control"] == "no-cache"
    assert response.headers["Service-Worker-Allowed"] == "/"


def test_listed_files(site: Site) -> None:
    """Every file on the worker's list comes with the type and the SHA-256 on the list."""
    found = listed(site) | listed(site, "LATER")
    assert len(found) == 6
    for address, (kind, digest) in found.items():
        response = site.get(address)
        assert response.mimetype == kind, address
        assert hashlib.sha256(response.data).hexdigest() == digest, address


def test_switched_off(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """Switched off, the script deletes what was kept and itself, and no page registers it."""
    monkeypatch.setenv("QUICKCHECK_OFFLINE", "off")
    assert "unregister()" in site.get("/sw.js").text
    assert "FILES" not in site.get("/sw.js").text
    assert " data-offline" not in site.get("/book").text


def test_packed_parts(site: Site) -> None:
    """Every part of a pack comes with the type, the size and the SHA-256 on its list."""
    found = json.loads(json.dumps(pack(site)))
    assert found["hash"] == site.reference.hash
    assert len(found["shells"]) == len(SHELLS) == 4
    for part in found["files"]:
        response = site.get(part["url"])
        assert response.mimetype == part["type"]
        assert len(response.data) == part["bytes"]
        assert hashlib.sha256(response.data).hexdigest()[:32] == part["sha256"], part["url"]


def test_pages_in_a_list(site: Site) -> None:
    """An empty page in a list, of an edition or of the app, is word for word what its address has."""
    own = site.get("/device/pack.json").json
    assert [page["url"] for page in own["shells"]] == [
        "/device/start",
        "/device/book",
        "/device/missing",
    ]
    edition = json.loads(json.dumps(pack(site)))
    assert own["build"] == edition["build"]
    for page in own["shells"] + edition["shells"]:
        response = site.get(page["url"])
        assert response.mimetype == "text/html"
        assert response.text == page["text"], page["url"]
    assert all(page["bytes"] == len(page["text"].encode()) for page in edition["shells"])


def test_the_page_that_is_fetched_later(site: Site) -> None:
    """It is of this build, empty, and the same in its list and at its address."""
    found = site.get("/device/later.json").json
    [page] = found["shells"]
    assert found["build"] == site.get("/device/pack.json").json["build"]
    assert page["url"] == "/device/read"
    assert site.get("/device/read").text == page["text"]
    assert 'data-shell-of="read"' in page["text"]
    assert "data-shell-of" not in site.get("/read").text


def test_pages_get_the_headers_of_their_list(site: Site) -> None:
    """A list has every header that guards a page, as a device gives them to the pages in it."""
    here = f"/references/{site.reference.hash[:16]}"
    page = site.get(f"{here}/claim").headers
    for path in (f"{here}/pack.json", "/device/pack.json", "/device/later.json"):
        listed = site.get(path).headers
        assert {name for name, value in page.items() if value != listed.get(name)} <= {
            "Content-Type",
            "Content-Length",
            "Set-Cookie",
        }


def test_empty_pages_are_nobodys(site: Site) -> None:
    """An empty page has no answer ticked, no inspection's id, and is not veiled by a cookie."""
    site.client.set_cookie("veil", "1")
    for name in SHELLS:
        text = site.get(f"/references/{site.reference.hash[:16]}/{name}").text
        ids = set(re.findall(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}", text))
        assert ids <= {str(NO_INSPECTION)}
        assert "strip veiled" not in text
        assert "Saved on the server" not in text


def test_model_never_changes(site: Site) -> None:
    """The model is of its edition's hash, may be kept for ever and travels compressed."""
    path = f"/references/{site.reference.hash[:16]}/model.json"
    response = site.get(path, headers={"Accept-Encoding": "gzip"})
    assert response.headers["Content-Encoding"] == "gzip"
    assert response.headers["Cache-Control"] == "public, max-age=31536000, immutable"
    assert site.get(path).json["hash"] == site.reference.hash


@pytest.mark.parametrize("name", ["model.json", "pack.json", *SHELLS])
@pytest.mark.parametrize("prefix", ["0" * 16, "nonsense", "00"])
def test_unknown_edition(site: Site, name: str, prefix: str) -> None:
    """An edition that is not here is answered with 404."""
    assert_says(site.get(f"/references/{prefix}/{name}"), 404, "Nothing here")


def test_manifest(site: Site) -> None:
    """The manifest has what installers ask for, and every picture is of the size it says."""
    response = site.get("/manifest.webmanifest")
    assert response.mimetype == "application/manifest+json"
    told = json.loads(response.text)
    assert (told["id"], told["start_url"], told["scope"]) == ("/", "/", "/")
    assert told["display"] == "standalone"
    assert {icon["sizes"] for icon in told["icons"]} == {"any", "192x192", "512x512"}
    assert [icon for icon in told["icons"] if icon.get("purpose") == "maskable"]
    for image in [*told["icons"], *told["screenshots"]]:
        got = site.get(image["src"])
        assert got.mimetype == image["type"]
        if image["type"] == "image/png":
            width, height = struct.unpack(">II", got.data[16:24])
            assert image["sizes"] == f"{width}x{height}"
            assert len(got.data) <= 60_000
    assert all(site.get(shortcut["url"]).status_code == 200 for shortcut in told["shortcuts"])
