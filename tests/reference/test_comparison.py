"""What differs between two editions."""

from quickcheck.reference import Change, compare
from tests.reference import sample


def changes(*replaced: tuple[str, str]) -> list[Change]:
    """Return what differs between the example and the example with something replaced."""
    new = sample.read(sample.changed(*replaced))
    return [*compare(sample.read(sample.example()), new)]


def test_the_same_edition_has_no_changes() -> None:
    """An edition compared with itself says nothing."""
    assert changes() == []


def test_fields_of_all_kinds_of_entries() -> None:
    """A moved edge, a rate of a set, a source's place and a label of the whole are each told."""
    assert changes(
        ('edition = "2026-11"', 'edition = "2026-12"'),
        ('to = "1956-09"', 'to = "1956-10"'),
        ("changed = 0.05", "changed = 0.06"),
        ('where = "pp. 12-40"', 'where = "pp. 12-41"'),
        ('"1952" = 380', '"1952" = 390'),
    ) == [
        Change("", "edition", "2026-11", "2026-12"),
        Change("source ledger", "where", "pp. 12-40", "pp. 12-41"),
        Change("set hardware", "changed", "0.05", "0.06"),
        Change("output", "1952", "380", "390"),
        Change("point plate-screws, variant cross", "last", "1956-09", "1956-10"),
    ]


def test_what_is_new_and_what_is_gone() -> None:
    """A variant under another id is one that came and one that went."""
    assert changes(('id = "slot"', 'id = "slotted"')) == [
        Change("point plate-screws, variant slotted", "", "", "Single slot"),
        Change("point plate-screws, variant slot", "", "Single slot", ""),
    ]


def test_an_edge_that_came() -> None:
    """A missing edge is said as none."""
    (change,) = changes(('from = "1962-02"', 'from = "1962-02"\n  to = "1965-01"'))
    assert change == Change("point plate-screws, variant slot", "last", "none", "1965-01")


def test_another_picture() -> None:
    """A picture drawn anew under the same name is told."""
    svg = sample.SVG.replace(b"h9", b"h10")
    old, new = (
        sample.read(sample.example()),
        sample.read(sample.example(), {"screw-cross.svg": svg}),
    )
    size = len(sample.SVG)
    assert [*compare(old, new)] == [
        Change("picture screw-cross.svg", "", f"{size} bytes", f"{size + 1} bytes")
    ]
