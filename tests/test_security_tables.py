"""What `DEVELOPERS.md` says of security: every test that it names exists, every item has a state."""

import ast
import re
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
pytestmark = pytest.mark.checkout
NAMED = re.compile(r"`([a-z]+/test_\w+): (test_\w+(?:, test_\w+)*)`")
ITEM = re.compile(r"\| (\d+\.\d+\.\d+) \| ([^|]+) \| ([^|]+) \| ([^|]+) \|")
STATES = {"met", "not met", "deviation"}


def section() -> str:
    """Return the text on security."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    return text.split("\n## Security\n")[1].split("\n## ")[0]


@cache
def names_in(module: str) -> frozenset[str]:
    """Return the names of the tests in a module, those in classes too."""
    path = ROOT / "tests" / f"{module}.py"
    if not path.exists():
        return frozenset()
    tree = ast.parse(path.read_text(encoding="utf-8"))
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    return frozenset(node.name for node in functions if node.name.startswith("test_"))


def test_every_test_that_is_named_exists() -> None:
    """A test that is renamed or taken away is renamed or taken away there."""
    named = [
        (module, name) for module, names in NAMED.findall(section()) for name in names.split(", ")
    ]
    assert [f"{module}: {name}" for module, name in named if name not in names_in(module)] == []
    assert len(named) > 120
    assert len(NAMED.findall(section())) == section().count(": test_")  # none in another form


def test_every_item_has_a_state() -> None:
    """Each of the standard's items stands once, in order; met is shown, anything else has its reason."""
    items = ITEM.findall(section())
    numbers = [tuple(map(int, item.split("."))) for item, *_ in items]
    assert numbers == sorted(set(numbers))
    assert {state for _, _, state, _ in items} == STATES
    assert Counter(state for _, _, state, _ in items)["met"] > 90
    assert [item for item, _, _, where in items if len(where) < 5] == []


def test_every_threat_has_a_test() -> None:
    """No line of the first table does without one."""
    rows = section().split("| threat |")[1].split("\n\n")[0].splitlines()[2:]
    assert len(rows) >= 17
    assert [row for row in rows if not NAMED.search(row)] == []
