"""`/s/<hash>/<path>`: the static files."""

import gzip
import re

import pytest

from quickcheck import paths
from quickcheck.web.assets import bare
from tests.web.checklist import Page
from tests.web.kit import Site, asset

FILES = sorted(
    path.relative_to(paths.STATIC).as_posix() for path in paths.STATIC.rglob("*") if path.is_file()
)


class TestChecklist(Page):
    """What holds at every endpoint."""

    path = "/s/<hash>/css/base.css"

    def address(self, site: Site) -> str:
        """Return the address of a file that is there."""
        return asset(site, "css/base.css")


@pytest.mark.parametrize("name", FILES)
def test_every_file(site: Site, name: str) -> None:
    """Every file is served as it is, compressed to whoever takes that, and for ever."""
    content = (paths.STATIC / name).read_bytes()
    if name.endswith(".js"):
        content = bare(content.decode()).encode()
    plain = site.get(asset(site, name))
    packed = site.get(asset(site, name), headers={"Accept-Encoding": "gzip"})
    assert plain.data == content
    assert plain.headers["Cache-Control"] == "public, max-age=31536000, immutable"
    if packed.headers.get("Content-Encoding") == "gzip":
        assert gzip.decompress(packed.data) == content
        assert "Accept-Encoding" in packed.headers["Vary"]
        assert "Accept-Encoding" in plain.headers["Vary"]
    else:
        assert packed.data == content
        assert not name.endswith((".js", ".css", ".svg"))


@pytest.mark.parametrize(
    ("name", "mimetype"),
    [
        ("css/base.css", "text/css"),
        ("js/wiring.js", "text/javascript"),
        ("icons/icon.svg", "image/svg+xml"),
    ],
)
def test_types(site: Site, name: str, mimetype: str) -> None:
    """Files have the type that a browser needs to take them under nosniff."""
    assert site.get(asset(site, name)).mimetype == mimetype


@pytest.mark.parametrize(
    "path",
    [
        "/s/000000000000/css/base.css",
        "{here}/css/nothing.css",
        "{here}/../pyproject.toml",
        "{here}/..%2F..%2Fpyproject.toml",
        "{here}/css/../css/base.css",
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


@pytest.mark.parametrize(
    ("script", "left"),
    [
        ("// why\nlet a = 1;\n", "let a = 1;\n"),
        ("/**\n * Why.\n */\nlet a = 1;\n", "let a = 1;\n"),
        ("  let a = 'x // y';\n", "let a = 'x // y';\n"),
        ("let a = /** @type {any} */ (b);\n", "let a = (b);\n"),
        ("/** @type {any} */ (b).c();\n/* end */\n", "(b).c();\n"),
        (
            "let a = b / c; // kept, as it shares a line\n",
            "let a = b / c; // kept, as it shares a line\n",
        ),
        (
            "let a = /\\/\\*/;\nlet b = 2; /* x */ let c;\n",
            "let a = /\\/\\*/;\nlet b = 2; /* x */ let c;\n",
        ),
    ],
)
def test_bare(script: str, left: str) -> None:
    """Comments with lines of their own go, and casts; text, patterns and code stay as they are."""
    assert bare(script) == left
