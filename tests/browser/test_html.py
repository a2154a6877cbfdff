"""What the server sends is sound HTML, before any browser has mended it."""

import json
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

import pytest

from tests.browser.pages import PAGES, TESTS, Site, npm_file

pytestmark = pytest.mark.browser

CONFIG = TESTS / "node" / ".htmlvalidate.json"


def validate(*files: Path) -> dict[str, list[dict[str, Any]]]:
    """Return what html-validate finds in files, by the stem of their names."""
    node = shutil.which("node")
    assert node, "Node is missing: install Node 20 or newer"
    script = npm_file("html-validate/bin/html-validate.mjs")
    words = [node, script, "--config", CONFIG, "--formatter", "json", *files]
    # into a file: it ends before a pipe has taken more than 64 kB
    with tempfile.TemporaryFile("w+", encoding="utf-8") as out:
        done = subprocess.run(
            list(map(str, words)), stdout=out, stderr=subprocess.PIPE, check=False
        )
        out.seek(0)
        printed = out.read()
    assert done.returncode in (0, 1), done.stderr
    return {Path(found["filePath"]).stem: found["messages"] for found in json.loads(printed)}


def test_every_page_is_valid(site: Site, tmp_path: Path) -> None:
    """Elements stand where they may, names are given once, every reference has its target.

    All in one go: starting Node takes longer than reading a page.
    """
    for shown in PAGES:
        (tmp_path / f"{shown.name}.html").write_text(shown.html(site), encoding="utf-8")
    found = validate(*sorted(tmp_path.glob("*.html")))
    said = [
        f"{name}, line {m['line']}: {m['ruleId']}: {m['message']}"
        for name, messages in found.items()
        for m in messages
    ]
    assert not said, "\n".join(said)


def test_a_broken_page_is_found(tmp_path: Path) -> None:
    """The rules are really applied: an id given twice and a stray end tag are found."""
    page = tmp_path / "broken.html"
    page.write_text('<!doctype html>\n<p id="a"></p><p id="a"></p></div>\n', encoding="utf-8")
    rules = {message["ruleId"] for message in validate(page)["broken"]}
    assert {"no-dup-id", "close-order"} <= rules
