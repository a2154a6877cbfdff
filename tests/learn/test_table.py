"""The table of examples: what a spreadsheet saves is read, and every fault is told with its place."""

import pytest

from quickcheck.errors import ExamplesError
from quickcheck.learn import read_table
from quickcheck.learn.table import Table
from quickcheck.readings import parse_month
from tests.learn.test_points import DEPTH, pick, points

POINTS = points(
    pick("screws", "slot", "cross"),
    {"id": "depth", "area": "neck", "kind": "measure", **DEPTH},
    {"id": "pot", "area": "electrics", "kind": "datecode", "scheme": "year-week"},
    {
        "id": "signs",
        "area": "neck",
        "kind": "sign",
        "bears_on": ["depth"],
        "many": True,
        "seen": [
            {"id": "planed", "label": "Planed", "silent": True},
            {"id": "none", "label": "None", "odds": 0.5},
        ],
    },
)
HEAD = "instrument,month,from,to,doubt,screws,screws:state,depth,depth:state,pot,signs,#note"


def read(*rows: str, head: str = HEAD) -> Table:
    return read_table(POINTS.reference, "\n".join((head, *rows)), name="t.csv")


def test_a_whole_row() -> None:
    """Month, doubt, a variant by id, a measure in another unit, a code, signs, a state."""
    (one,) = read(
        "a,1954-03,,,2,slot,no-sign,22.86 mm,,54-02,planed+none,bought at a fair"
    ).examples
    assert (one.name, one.first, one.last, one.doubt) == ("a", *[parse_month("1954-03")] * 2, 2)
    assert one.answers["screws"].seen == ("slot",)
    assert one.answers["screws"].state == "no-sign"
    assert one.answers["depth"].value == pytest.approx(0.9)
    assert one.answers["signs"].seen == ("planed", "none")
    assert one.answers["pot"].months


@pytest.mark.parametrize("mark", [";", "\t"])
def test_other_marks_between_cells(mark: str) -> None:
    """Semicolons and tabs do as well; a decimal comma is then no trouble."""
    found = read("a;1954-03;;;2,5;slot;;0,9;;;;".replace(";", mark), head=HEAD.replace(",", mark))
    assert found.examples[0].answers["depth"].value == pytest.approx(0.9)
    assert found.examples[0].doubt == 2.5


def test_doubts() -> None:
    """4 where nothing is said; of a run of months its own standard deviation, said ones on top."""
    rows = ("a,1954-03,,,,,,,,,,", "b,,1954-01,1954-12,,,,,,,,", "c,,1954-01,1954-12,3,,,,,,,")
    plain, run, both = read(*rows).examples
    assert plain.doubt == 4
    assert run.doubt == pytest.approx(((144 - 1) / 12) ** 0.5)
    assert both.doubt == pytest.approx((9 + 143 / 12) ** 0.5)
    assert run.middle == parse_month("1954-07")


def test_empty_cells_and_rows_say_nothing() -> None:
    """A blank, a dash and an empty row are not looked at, and no fault."""
    found = read("a,1954-03,,,,-,,–,,,,", ",,,,,,,,,,,", "", "b,1954-04,,,,Cross,,,,,,")
    assert not found.examples[0].answers
    assert found.examples[1].answers["screws"].seen == ("cross",)
    assert not found.faults


@pytest.mark.parametrize(
    ("row", "where", "told"),
    [
        ("a,1954-13,,,,,,,,,,", 'column "month"', "1954-13"),
        ("a,,,,,,,,,,,", 'column "month"', '""'),
        (",1954-03,,,,,,,,,,", 'column "instrument"', "nothing"),
        ("a,1964-03,,,,,,,,,,", 'column "month"', "Mar 1964"),
        ("a,,1954-05,1954-01,,,,,,,,", 'column "to"', "1954-01"),
        ("a,,1954-05,,,,,,,,,", 'column "to"', '""'),
        ("a,1954-03,1954-01,1954-05,,,,,,,,", 'column "month"', "1954-03"),
        ("a,1954-03,,,some,,,,,,,", 'column "doubt"', "some"),
        ("a,1954-03,,,-2,,,,,,,", 'column "doubt"', "-2"),
        ("a,1954-03,,,,slt,,,,,,", 'column "screws"', "slt"),
        ("a,1954-03,,,,slot,sure,,,,,", 'column "screws:state"', "sure"),
        ("a,1954-03,,,,,signs,,,,,", 'column "screws:state"', "the state alone"),
        ("a,1954-03,,,,,,0.2,,,,", 'column "depth"', "0.2 in"),
        ("a,1954-03,,,,,,0.9 kg,,,,", 'column "depth"', "0.9 kg"),
        ("a,1954-03,,,,,,,,54-99,,", 'column "pot"', "54-99"),
        ("a,1954-03,,,,,,,,,,,more", "its cells", "13"),
    ],
)
def test_faults_have_their_place(row: str, where: str, told: str) -> None:
    """Each fault names file, row as the spreadsheet counts, column, what came, what was expected."""
    found = read("good,1954-03,,,,slot,,,,,,", row)
    assert [one.name for one in found.examples] == ["good"]
    (fault,) = found.faults
    assert fault.where == f"t.csv, row 3, {where}"
    assert told in fault.came
    assert fault.expected
    assert fault.remedy
    assert found.faulty_rows == 1


def test_all_faults_are_told() -> None:
    """Several faults in a row and in several rows: all of them, at once."""
    found = read("a,1954-13,,,x,slt,,,,,,", "b,1954-03,,,,,,,,,,", "b,1954-03,,,,,,9,,,,")
    assert len(found.faults) == 5
    assert found.faulty_rows == 2
    assert "as in row 3" in found.faults[3].came


@pytest.mark.parametrize(
    ("head", "told"),
    [
        ("instrument,month,scews", 'Did you mean "screws"'),
        ("instrument,month,colour of the sky", 'Put "#" before'),
        ("instrument,month,depth,depth", "each head once"),
        ("instrument,from", '"from" and "to"'),
        ("month,screws", '"instrument"'),
        ("", "a head with"),
    ],
)
def test_a_head_that_says_nothing_usable(head: str, told: str) -> None:
    """A head with faults is refused before any row is read."""
    with pytest.raises(ExamplesError, match="row 1") as refused:
        read("a,1954-03,slot", head=head)
    assert told in str(refused.value)
