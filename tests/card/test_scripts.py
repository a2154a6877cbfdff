"""What the scripts share with the package, and that their symbols are read as well as its own."""

import gzip
import itertools
import json
import os
import subprocess
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
import zxingcpp
from PIL import Image

from quickcheck import paths
from quickcheck.card import QUIET, symbol
from tests.vectors import make_cards, make_tables

Doc = dict[str, Any]

FULL = bool(os.environ.get("QUICKCHECK_FULL"))
PIXELS = 4  # a module
HOSTS = ("http://10.0.0.12:5000", "https://a.example", "https://cards.some-longer-name.example")
DRAW = """
import { readFileSync } from 'node:fs';
const { svgPath, symbol } = await import(process.argv[1]);
const texts = JSON.parse(readFileSync(0, 'utf8'));
const drawn = texts.map((text) => { const found = symbol(text); return { ...found, path: svgPath(found) }; });
process.stdout.write(JSON.stringify(drawn));
"""


@pytest.mark.parametrize("path", make_tables.FILES, ids=lambda path: path.name)
def test_tables_are_made_from_python(path: Path) -> None:
    """A table in a script is the table of the package."""
    remedy = "python -m tests.vectors.make_tables"
    assert path.read_text(encoding="utf-8") == make_tables.script(*make_tables.FILES[path]), remedy


def stored() -> Doc:
    found: Doc = json.loads(gzip.decompress(make_cards.FILE.read_bytes()))
    return found


def test_vectors_are_what_python_makes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The cards that the scripts are held against are today's; all are made again with --full."""
    kept = stored()["cases"]
    if not FULL:
        monkeypatch.setattr(make_cards, "SEEDS", 12)
    made = json.loads(json.dumps(make_cards.vectors()))["cases"]
    known = {json.dumps(case, sort_keys=True) for case in kept}
    new = [case for case in made if json.dumps(case, sort_keys=True) not in known]
    assert not new, "python -m tests.vectors.make_cards"
    assert len(made) == len(kept) or not FULL
    assert len(made) > 25


def drawn(texts: Iterable[str]) -> list[Doc]:
    """Return the symbols that the script makes of these texts."""
    words = ("node", "--input-type=module", "-e", DRAW, str(paths.STATIC / "js/card/qr.js"))
    asked = json.dumps(list(texts))
    done = subprocess.run(words, input=asked, capture_output=True, text=True, check=True)
    found: list[Doc] = json.loads(done.stdout)
    return found


def read(rows: list[list[bool]]) -> list[str]:
    """Return the texts that a reader finds in a symbol."""
    side = len(rows) + 2 * QUIET
    picture = Image.new("L", (side, side), 255)
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                picture.putpixel((x + QUIET, y + QUIET), 0)
    whole = picture.resize((side * PIXELS, side * PIXELS), Image.Resampling.NEAREST)
    return [found.text for found in zxingcpp.read_barcodes(whole)]


def inked(path: str) -> set[tuple[int, int]]:
    """Return the modules that the rectangles of a path cover."""
    modules = set()
    for rectangle in filter(None, path.split("M")):
        start, length = rectangle.removesuffix("z").split("h")[:2]
        x, y = map(int, start.split())
        modules |= {(x + i, y) for i in range(int(length.removesuffix("v1")))}
    return modules


def test_symbols_are_read() -> None:
    """A symbol of the script has the version of ours, is drawn as it is, and says the same text."""
    cards = [case["digits"] for case in stored()["cases"] if "digits" in case]
    numbers = [str(1 << 8 * size) for size in range(30, 232, 9)]
    texts = [f"{host}/c/{n}" for host, n in zip(itertools.cycle(HOSTS), cards + numbers)]
    found = drawn(texts)
    assert len(found) == len(texts) >= 230
    assert [one["version"] for one in found] == [symbol(text).version for text in texts]
    assert len({one["version"] for one in found}) >= 6
    for one, text in zip(found, texts, strict=True):
        dark = {
            (x, y) for y, row in enumerate(one["rows"]) for x, is_dark in enumerate(row) if is_dark
        }
        assert inked(one["path"]) == dark
        assert read(one["rows"]) == [text]
