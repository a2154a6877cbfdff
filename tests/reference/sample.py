"""The example of the format's own write-up, and small ways to change it."""

import re
from collections.abc import Mapping
from pathlib import Path

import pytest

from quickcheck import reference
from quickcheck.errors import ReferenceFaultsError
from quickcheck.reference import Reference, read_reference_text

README = Path(reference.__file__).with_name("README.md")
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 96"><path d="M0 0h9"/></svg>'
PICTURES: Mapping[str, bytes] = {"screw-cross.svg": SVG}


(_EXAMPLE,) = re.findall(r"```toml\n(.*?)```", README.read_text(), re.DOTALL)


def example() -> str:
    """Return the example file as it stands in the write-up."""
    return str(_EXAMPLE)


def changed(*changes: tuple[str, str]) -> str:
    """Return the example with each first occurrence replaced; refuse one that is not there."""
    text = example()
    for old, new in changes:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    return text


def read(text: str, pictures: Mapping[str, bytes] = PICTURES) -> Reference:
    """Read a text with the example's picture beside it."""
    return read_reference_text(text, name="x.toml", pictures=pictures)


def faults_in(text: str, pictures: Mapping[str, bytes] = PICTURES) -> list[str]:
    """Return the messages of a text that must have faults."""
    with pytest.raises(ReferenceFaultsError, match=r"x\.toml") as caught:
        read(text, pictures)
    return [str(fault) for fault in caught.value.faults]


def numbered(rows: list[tuple[tuple[str, str], str]]) -> list[object]:
    """Return table rows as parameters with names that differ."""
    return [pytest.param(*row, id=f"{n}-{row[0][1][:20]}") for n, row in enumerate(rows)]


def assert_one_fault(change: tuple[str, str], message: str) -> None:
    """Assert that a change gives exactly one fault, whose message fits and is complete."""
    with pytest.raises(ReferenceFaultsError, match=message) as caught:
        read(changed(change))
    (fault,) = caught.value.faults
    assert fault.where.startswith("x.toml, ")
    assert fault.expected
    assert fault.came
    assert fault.remedy.endswith((".", "?"))
