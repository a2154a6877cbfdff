"""The worker's types, which are checked apart: it runs among other globals than a page."""

import json
import subprocess
from pathlib import Path

import pytest

from quickcheck import paths
from tests.browser.pages import npm_file

pytestmark = [pytest.mark.browser, pytest.mark.checkout]
FILLED_IN = {
    "{{ build | tojson }}": "'0'",
    "{{ files | tojson }}": "/** @type {[string, string, string][]} */ ([])",
    "{{ later | tojson }}": "/** @type {[string, string, string][]} */ ([])",
}
OPTIONS = {
    "target": "es2023",
    "lib": ["es2023", "webworker"],
    "types": [],
    "allowJs": True,
    "checkJs": True,
    "strict": True,
    "noImplicitReturns": True,
    "noUnusedLocals": True,
    "noEmit": True,
}


def test_the_worker_has_right_types(tmp_path: Path) -> None:
    """The type checker finds nothing in the worker, and would find a call that is not there."""
    script = (paths.TEMPLATES / "sw.js.j2").read_text(encoding="utf-8")
    for mark, text in FILLED_IN.items():
        assert script.count(mark) == 1
        script = script.replace(mark, text)
    assert "{{" not in script
    assert faults(tmp_path, script) == ""
    assert "claimAll" in faults(tmp_path, script.replace("clients.claim()", "clients.claimAll()"))


def faults(folder: Path, script: str) -> str:
    """Return what the type checker says of a worker."""
    (folder / "sw.js").write_text(script, encoding="utf-8")
    told = {"compilerOptions": OPTIONS, "include": ["sw.js"]}
    (folder / "tsconfig.json").write_text(json.dumps(told), encoding="utf-8")
    words = ["node", npm_file("typescript/bin/tsc"), "-p", folder / "tsconfig.json"]
    return subprocess.run(words, capture_output=True, text=True, check=False).stdout
