"""Texts of a reference that would fill the memory, the stack or the day: refused, with words."""

from collections.abc import Callable
from typing import Final

import pytest

from quickcheck.errors import ReferenceFaultsError
from quickcheck.reference import read_reference_text
from tests.reference import sample

Make = Callable[[], str]
MOST: Final = 1_000_000
POINT: Final = '[[point]]\nid = "p{}"\narea = "x"\nkind = "pick"\n'
BOMBS: Final[dict[str, Make]] = {
    "too long": lambda: "#" * (MOST + 1),
    "one long line": lambda: f'title = "{"x" * MOST}"',
    "lists in lists": lambda: "x = " + "[" * 100_000,
    "lists in lists, closed": lambda: "x = " + "[" * 50_000 + "]" * 50_000,
    "tables in tables": lambda: "x = " + "{a = " * 20_000 + "1" + "}" * 20_000,
    "a long path of keys": lambda: ".".join(["a"] * 100_000) + " = 1",
    "a long path of a table": lambda: "[" + ".".join(["a"] * 100_000) + "]",
    "deep in a text's disguise": lambda: 'x = "[[[["\ny = ' + "[" * 33 + "]" * 33,
    "a number of 900,000 digits": lambda: "format = " + "9" * 900_000,
    "a number of 5,000 digits": lambda: "format = " + "9" * 5_000,
    "a hexadecimal number": lambda: "format = 0x" + "f" * 900_000,
    "a number beyond all": lambda: "format = 1e999999",
    "a date of no year": lambda: "format = 99999-99-99",
    "many keys": lambda: "\n".join(f"k{n} = 1" for n in range(90_000)),
    "many points": lambda: "\n".join(POINT.format(n) for n in range(18_000)),
    "one key over and over": lambda: "a = 1\n" * 100_000,
    "many escapes": lambda: 'title = "' + "\\U0001F3B8" * 90_000 + '"',
    "an escape of no character": lambda: 'title = "\\UFFFFFFFF"',
}


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_is_refused(name: str) -> None:
    """Each ends in faults of that file: no other error, and not in a fault for each of its lines."""
    with pytest.raises(ReferenceFaultsError) as caught:
        read_reference_text(BOMBS[name]())
    assert len(str(caught.value)) < MOST


def test_the_first_thousand_faults_are_told() -> None:
    """The last line says how many more there are."""
    with pytest.raises(ReferenceFaultsError) as caught:
        read_reference_text("\n".join(f"k{n} = 1" for n in range(2000)))
    assert [caught.value.faults[n].where.endswith(f'"k{n}"') for n in (0, 999)] == [True, True]
    assert len(caught.value.faults) == 1001
    assert str(caught.value.faults[-1]).startswith("reference.toml: expected no faults; got 10")


@pytest.mark.parametrize("number", ["9" * 400, "-" + "9" * 400, "1e308", "-1e308", "inf", "nan"])
@pytest.mark.parametrize("key", ["odds", "from", "format", "covers", "tolerance"])
def test_a_number_that_is_none_for_us(key: str, number: str) -> None:
    """In the place of any value it is a fault: nothing is reckoned with it."""
    text = "\n".join(
        f"{key} = {number}" if line.startswith(f"{key} =") else line
        for line in sample.example().splitlines()
    )
    if text == sample.example():
        text += f"\n{key} = {number}"
    with pytest.raises(ReferenceFaultsError):
        read_reference_text(text)
