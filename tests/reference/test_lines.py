"""Faults at their lines."""

import re

import pytest

from quickcheck.errors import Fault, ReferenceFaultsError
from quickcheck.reference import located
from tests.reference import sample


def lines_of_faults(text: str) -> list[tuple[int | None, str]]:
    """Return line and text of that line for every fault of a text."""
    with pytest.raises(ReferenceFaultsError) as caught:
        sample.read(text)
    rows = text.split("\n")
    return [
        (line, rows[line - 1].strip() if line else "")
        for line, _ in located(text, caught.value.faults)
    ]


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ('kind = "document"', 'kind = "gossip"', 'kind = "gossip"'),
        ('covers = ["1950-01"', 'covers = ["1950"', "covers = "),
        ("give = 3", "give = -3", "give = -3"),
        ('to = "1956-09"', 'to = "1956-19"', 'to = "1956-19"'),
        ('id = "cross"', 'id = "Cross!"', 'id = "Cross!"'),
        ('  label = "Two-pin loom screw"\n', "", "[[point.seen]]"),
        ('"1952" = 380', '"1952" = -1', "[output]"),
        ("changed = 0.05", "changed = 5", "changed = 5"),
        ("format = 1", "format = 1\nformat = 2", "format = 2"),
    ],
)
def test_a_fault_stands_at_its_line(old: str, new: str, line: str) -> None:
    """Each single fault is put at the line that has to be mended, or at the heading above it."""
    ((number, found),) = lines_of_faults(sample.changed((old, new)))
    assert number
    assert found.startswith(line)


def test_entries_without_a_name_are_counted() -> None:
    """A point or a variant whose id is missing is found by its rank."""
    text = sample.changed(('id = "loom"\n', ""), ('id = "neck-depth-1"\n', ""))
    (first, _), (second, _) = lines_of_faults(text)[:2]
    rows = ["", *map(str.strip, text.split("\n"))]
    assert first
    assert second
    assert (rows[first], rows[first + 1]) == ("[[point.seen]]", 'label = "Two-pin loom screw"')
    assert (rows[second], rows[second + 1]) == ("[[point]]", 'name = "Neck depth, first fret"')


def test_what_stands_in_a_long_text_is_no_heading() -> None:
    """A heading or a key inside a text of several lines is not taken for one."""
    text = sample.changed(
        ('about = "', 'about = """\n[[point]]\nid = "x"\n'),
        ('No left-handed ones."', 'No left-handed ones."""'),
        ("give = 3", "give = -3"),
    )
    ((_, found),) = lines_of_faults(text)
    assert found == "give = -3"


def test_a_fault_of_the_whole_has_no_line() -> None:
    """What is about the file and nothing in it stands nowhere."""
    assert located("", [Fault("x.toml", "a", "b", "c")])[0][0] is None


def test_every_key_of_the_points_is_found() -> None:
    """A fault at any key of the example's points would be put at the line of that key."""
    rows = sample.example().split("\n")
    point = ""
    found = 0
    for number, row in enumerate(rows, 1):
        if row == "[[point]]":
            point = rows[number].split('"')[1]
        key = re.match(r"([a-z_]+) = ", row)
        if point and key:
            where = f'x.toml, point "{point}", key "{key[1]}"'
            assert located(sample.example(), [Fault(where, "", "", "")])[0][0] == number
            found += 1
    assert found > 30
