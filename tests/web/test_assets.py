"""`/s/<hash>/<path>`: the static files."""

import gzip
import re

import brotli
import pytest
from werkzeug.test import TestResponse

from quickcheck import paths
from quickcheck.web.assets import HEADS, STYLES
from tests.web.checklist import Page
from tests.web.kit import Site, asset

FOREIGN = sorted(
    name
    for path in paths.STATIC.rglob("*")
    if path.is_file()
    and not (name := path.relative_to(paths.STATIC).as_posix()).startswith(("js/", "css/"))
)


class TestChecklist(Page):
    """What holds at every endpoint."""

    path = "/s/<hash>/css/app.css"

    def address(self, site: Site) -> str:
        """Return the address of a file that is there."""
        return asset(site, "css/app.css")


@pytest.mark.parametrize("name", [*FOREIGN, *HEADS, "css/app.css"])
@pytest.mark.parametrize(
    ("accepted", "coding"),
    [("gzip", "gzip"), ("gzip, deflate, br", "br"), ("br;q=0, gzip", "gzip"), ("identity", None)],
)
def test_every_file(site: Site, name: str, accepted: str, coding: str | None) -> None:
    """Every file is compressed to whoever takes that, for ever; what is not ours, as it is."""
    plain = site.get(asset(site, name))
    packed = site.get(asset(site, name), headers={"Accept-Encoding": accepted})
    assert name not in FOREIGN or plain.data == (paths.STATIC / name).read_bytes()
    assert plain.headers["Cache-Control"] == "public, max-age=31536000, immutable"
    is_text = name.endswith((".js", ".mjs", ".css", ".svg", ".txt"))
    assert packed.headers.get("Content-Encoding") == (coding if is_text else None)
    assert unpacked(packed) == plain.data
    for response in (plain, packed):
        assert ("Accept-Encoding" in response.headers.get("Vary", "")) == is_text


def unpacked(response: TestResponse) -> bytes:
    """Return what a browser makes of a reply's body."""
    coding = response.headers.get("Content-Encoding")
    unpack = {"gzip": gzip.decompress, "br": brotli.decompress, None: bytes}[coding]
    return bytes(unpack(response.data))


def test_one_style_sheet(site: Site) -> None:
    """Every sheet is in the one that pages load, in the order in which later ones win."""
    assert {path.stem for path in paths.STATIC.glob("css/*.css")} == set(STYLES)
    served = site.get(asset(site, "css/app.css")).text
    firsts = ["@layer tokens,", ".card{", "@media print{"]
    assert sorted(map(served.index, firsts)) == list(map(served.index, firsts))
    assert "/*" not in served


@pytest.mark.parametrize(
    ("name", "mimetype"),
    [
        ("css/app.css", "text/css"),
        ("js/app.js", "text/javascript"),
        ("vendor/lean-qr-2.7.4.mjs", "text/javascript"),
        ("icons/icon.svg", "image/svg+xml"),
    ],
)
def test_types(site: Site, name: str, mimetype: str) -> None:
    """Files have the type that a browser needs to take them under nosniff."""
    assert site.get(asset(site, name)).mimetype == mimetype


@pytest.mark.parametrize(
    "path",
    [
        "/s/000000000000/css/app.css",
        "{here}/css/nothing.css",
        "{here}/../pyproject.toml",
        "{here}/..%2F..%2Fpyproject.toml",
        "{here}/css/../css/app.css",
        "{here}/css",
        "{here}/%00",
        "{here}//etc/passwd",
    ],
)
def test_nothing_else(site: Site, path: str) -> None:
    """Another build's address, a folder, a way out: nothing is there, and it is not kept."""
    here = asset(site, "").rstrip("/")
    response = site.get(path.format(here=here), follow_redirects=True)
    assert response.status_code == 404
    assert "immutable" not in response.headers["Cache-Control"]
    assert b"[build-system]" not in response.data


def test_pages_ask_for_nothing_that_is_not_here(site: Site) -> None:
    """Everything that a page loads is there."""
    pages = ["/", "/book", "/references", f"/inspect/{site.begin()}", "/nowhere"]
    wanted = {
        address
        for page in pages
        for address in re.findall(r'(?:src|href)="(/(?:s|references)/[^"]+)"', site.get(page).text)
    }
    assert len(wanted) > 5
    assert {address for address in wanted if site.get(address).status_code != 200} == set()


def test_scripts_import_what_is_here() -> None:
    """A module imports only modules that stand beside it."""
    for script in (paths.STATIC / "js").rglob("*.js"):
        for name in re.findall(r"from '(\./[^']+)'", script.read_text(encoding="utf-8")):
            assert (script.parent / name).is_file(), f"{script.name} imports {name}"
