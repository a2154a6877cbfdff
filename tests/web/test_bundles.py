"""A page's modules in few files: the same program, lighter, or none at all."""

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from quickcheck.web import bundles
from quickcheck.web.assets import HEADS, STYLES
from quickcheck.web.bundles import bundle, squeezed
from tests.web.kit import Site, asset

A = "import { b as bee } from './b.js';\nimport * as c from './c.js';\nconst x = 1;\n"
B = "import { two } from './c.js';\nconst x = 2;\nexport const b = () => x * two;\nexport const spare = 0;\n"
C = "const x = 3;\nexport const two = x - 1;\nexport async function three() { return x; }\nexport function* four() { yield 4; }\n"
TELL = "console.log(JSON.stringify([x, bee(), c.two, await c.three(), ...c.four()]));\n"


def run(folder: Path, made: dict[str, str], head: str) -> object:
    """Return what a module says, run by Node with the others beside it."""
    node = shutil.which("node")
    if node is None:
        pytest.skip("needs Node")
    for path, text in made.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text, encoding="utf-8")
    (folder / "package.json").write_text('{"type": "module"}', encoding="utf-8")
    told = subprocess.run([node, head], cwd=folder, capture_output=True, text=True, check=True)
    return json.loads(told.stdout)


@pytest.mark.parametrize(
    "heads",
    [
        ["js/a.js"],
        ["js/c.js", "js/a.js"],
        ["js/b.js", "js/a.js"],
        ["js/c.js", "js/b.js", "js/a.js"],
    ],
)
def test_same_program(tmp_path: Path, heads: list[str]) -> None:
    """However the modules are put together, they do what they do apart, each with its own names."""
    scripts = {"js/a.js": A + TELL, "js/b.js": B, "js/c.js": C}
    apart = run(tmp_path / "apart", scripts, "js/a.js")
    made = bundle(scripts, heads)
    assert list(made) == heads
    assert run(tmp_path / "together", made, "js/a.js") == apart == [1, 4, 2, 3, 4]


def test_a_module_that_is_not_ours(tmp_path: Path) -> None:
    """What a bundle imports from elsewhere stays an import, from where the bundle is."""
    scripts = {
        "js/card/a.js": "import { v } from '../../vendor/v.mjs';\nexport const w = v + 1;\n",
        "js/a.js": "import { w } from './card/a.js';\nconsole.log(w);\n",
    }
    made = bundle(scripts, ["js/a.js"])
    assert run(tmp_path, made | {"vendor/v.mjs": "export const v = 1;\n"}, "js/a.js") == 2


@pytest.mark.parametrize(
    ("scripts", "heads", "why"),
    [
        ({"a.js": "import { b } from './b.js';\n", "b.js": "import { a } from './a.js';\n"}, ["a.js"], "needs itself: a.js → b.js"),
        ({"a.js": "import { b } from './b.js';\n", "b.js": ""}, ["a.js", "b.js"], "a.js, which needs it, comes before"),
        ({"a.js": "export default 1;\n"}, ["a.js"], "can't be put into a bundle: export default 1;"),
        ({"a.js": "export let a = 1;\n"}, ["a.js"], "export let a = 1;"),
        ({"a.js": "export { a } from './b.js';\n"}, ["a.js"], "export { a } from"),
        ({"a.js": "import './b.js';\n"}, ["a.js"], "import './b.js';"),
        ({"a.js": "import a from './b.js';\n"}, ["a.js"], "import a from"),
    ],
)  # fmt: skip
def test_refused(scripts: dict[str, str], heads: list[str], why: str) -> None:
    """What the bundles can't do right stops the start, and says where."""
    with pytest.raises(ValueError, match=re.escape(why)):
        bundle(scripts, heads)


def test_squeezed(tmp_path: Path) -> None:
    """What is served does the same, is a good deal smaller, and says nothing to its readers."""
    scripts = {"js/a.js": "// why\n" + A + TELL, "js/b.js": B, "js/c.js": C}
    made = bundle(scripts, ["js/c.js", "js/a.js"])
    small = {name: squeezed(text, "text/javascript") for name, text in made.items()}
    assert run(tmp_path, small, "js/a.js") == [1, 4, 2, 3, 4]
    assert sum(map(len, small.values())) < 0.8 * sum(map(len, made.values()))
    assert "why" not in small["js/a.js"]
    assert squeezed("/* why */ a { color: #ff0000 }\n", "text/css") == "a{color:red}"


def test_where_nothing_squeezes(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a machine that the squeezer is not made for, it is served as it is."""
    monkeypatch.setattr(bundles, "minify", None)
    assert squeezed("let here = 1; // only here\n", "text/javascript").endswith("// only here\n")


def test_served(site: Site) -> None:
    """What is served is free of comments of ours, and every sheet and script is in it once."""
    scripts = [site.get(asset(site, name)).text for name in HEADS]
    assert all("@param" not in script for script in scripts)
    assert sum(script.count("it did not open in three seconds") for script in scripts) == 1
    assert len(STYLES) == len(set(STYLES))
