"""A plain timeline table into the text of a reference."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.errors import ReferenceFaultsError
from quickcheck.readings import parse_month
from quickcheck.reference import BLANK, COLUMNS, Kind, read_reference_text, text_of_table

ROWS = [
    {
        "point": "Knob material",
        "variant": "Bone",
        "to": "1953",
        "give": "4",
        "source": "Ledger p. 3",
    },
    {
        "point": "Knob material",
        "variant": "Tin",
        "from": "1954-02",
        "share": "0,5",
        "note": 'A "tin"',
    },
    {"point": "Plate", "variant": "One layer", "from": "1951", "to": "1960-06"},
    {"point": "", "variant": " "},
]
CELL = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs", "Cc", "Zl", "Zp", "Cf"]), max_size=30
)


def table(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """Return rows with every column."""
    return [dict.fromkeys(COLUMNS, "") | row for row in rows]


def test_is_read_without_faults() -> None:
    """The text is a reference that says what the rows say, years read as wide as they are."""
    text = text_of_table(table(ROWS), name="My Notes", title="Notes")
    found = read_reference_text(text)
    assert (found.id, found.covers) == (
        "my-notes",
        (parse_month("1951-01"), parse_month("1960-12")),
    )
    knob, plate = found.points
    assert (knob.id, knob.kind, knob.name) == ("knob-material", Kind.PICK, "Knob material")
    bone, tin = knob.seen
    assert (bone.first, bone.last, bone.give) == (None, parse_month("1953-12"), 4)
    assert (tin.first, tin.last, tin.share, tin.note) == (
        parse_month("1954-02"),
        None,
        0.5,
        'A "tin"',
    )
    assert found.sources["ledger-p-3"].kind == "memory"
    assert tin.source == ("no-source-given",)
    assert plate.seen[0].last == parse_month("1960-06")


def test_the_blank_one_is_read() -> None:
    """What a new reference begins with has no faults."""
    assert read_reference_text(text_of_table(table([*BLANK]), name="x", title="X")).points


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"from": "circa 1954"}, r'row 2, column "from": expected a year or a month'),
        ({"from": "1955", "to": "1954"}, r"row 2: expected from before to"),
        ({"give": "some"}, r'row 2, column "give": expected a number from 0'),
        ({"share": "0"}, r'row 2, column "share": expected a number above 0'),
        ({"point": "…"}, r'row 2, column "point": expected a word or two'),
        ({"variant": ""}, r'row 2, column "variant": expected a word or two'),
        ({"price": "1"}, r'row 1: expected a column of a timeline; got "price"'),
        ({"to": ""}, r"table: expected at least one month"),
    ],
)
def test_faults_name_row_and_column(change: dict[str, str], message: str) -> None:
    """What can't be read is told as a spreadsheet counts, and nothing is made."""
    with pytest.raises(ReferenceFaultsError, match=message):
        text_of_table([dict.fromkeys(COLUMNS, "") | ROWS[0] | change], name="x", title="X")


def test_a_column_is_missing() -> None:
    """Without a column of points there is nothing to make."""
    with pytest.raises(ReferenceFaultsError, match='row 1: expected a column "point"; got variant'):
        text_of_table([{"variant": "Bone"}], name="x", title="X")
    with pytest.raises(ReferenceFaultsError, match="got no rows"):
        text_of_table([], name="x", title="X")


def test_all_faults_at_once() -> None:
    """Every faulty cell is told, not the first."""
    rows = table([{**ROWS[0], "from": "x"}, {**ROWS[1], "give": "y"}])
    with pytest.raises(ReferenceFaultsError) as caught:
        text_of_table(rows, name="x", title="X")
    assert [fault.where for fault in caught.value.faults] == [
        'row 2, column "from"',
        'row 3, column "give"',
    ]


@given(st.lists(st.fixed_dictionaries(dict.fromkeys(COLUMNS, CELL)), min_size=1, max_size=4))
def test_any_cells_give_a_text_or_faults(rows: list[dict[str, str]]) -> None:
    """Whatever the cells hold, what comes is TOML that the reader can take apart, or faults."""
    said = ""
    try:
        text = text_of_table([row | {"from": "1950"} for row in rows], name="x", title="X")
        read_reference_text(text)
    except ReferenceFaultsError as error:
        said = str(error)
    assert "TOML" not in said
