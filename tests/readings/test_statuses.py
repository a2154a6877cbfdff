"""How well each row of the tables is known, in the words of whatever is read by it."""

from collections.abc import Iterable

import pytest
from click.testing import CliRunner

from quickcheck.cli import main
from quickcheck.readings import read_text
from quickcheck.readings.tables import rows
from quickcheck.readings.wording import STATUS_WORDS, are_sure
from quickcheck.web.words import code_words
from tests.readings.test_marks import MARKS, POSTAL

RANK = list(STATUS_WORDS)
SOFT = ("said to", "usual")
NAMES = ("bounds", "parts", "patents", "states")


def told(words: str) -> list[str]:
    """Return the statuses that words tell; of two that share their end, the longer."""
    whole = STATUS_WORDS["year-checked"]  # holds the words of two others
    rest = words.replace(whole, "")
    return [
        each for each, said in STATUS_WORDS.items() if said in (words if said == whole else rest)
    ]


def is_at_most(row: dict[str, str], words: str) -> bool:
    """Whether words tell the row's status or a lesser one, softly where it is not sure."""
    statuses = told(words)
    known = any(RANK.index(each) >= RANK.index(row["status"]) for each in statuses)
    return known and (are_sure([row["status"]]) or any(soft in words for soft in SOFT))


def test_every_status_is_one_of_ours() -> None:
    """No row of any table has a status that has no words, or no source."""
    for name in NAMES:
        assert {row["status"] for row in rows(name)} <= {*STATUS_WORDS}, name
        assert all(row["source"] for row in rows(name)), name


def texts_with(mark: str) -> Iterable[tuple[str, str]]:
    """Yield scheme and text of every tried text that has a mark."""
    yield from (("mark", text) for text, names in MARKS if mark in names)
    yield from (("postal-us", text) for text, names in POSTAL if mark in names)


@pytest.mark.parametrize("row", rows("bounds"), ids=lambda row: f"{row['mark']} {row['bound']}")
def test_every_bound_tells_how_well_it_is_known(row: dict[str, str]) -> None:
    """In the list of what is meant, and in the sentence unless it is only a rule of writing."""
    for scheme, text in texts_with(row["mark"]):
        reading = read_text(scheme, text)
        [meaning] = [
            each
            for each in reading.meanings
            if dict(each.more)["mark"] == row["mark"] and dict(each.more)["bound"] == row["bound"]
        ]
        words = meaning.says
        assert f"({row['says']}; {STATUS_WORDS[row['status']]})" in words
        assert is_at_most(row, words), words
        if row["bound"] != "rule":
            assert words.partition(": ")[2] in reading.says
        assert row["source"] in reading.sources


@pytest.mark.parametrize("row", rows("bounds"), ids=lambda row: f"{row['mark']} {row['bound']}")
def test_what_a_part_is_said_to_be(row: dict[str, str]) -> None:
    """Where the bound itself is not sure the part "is said to be" so; where it is sure, it is."""
    hard = row["bound"] in {"floor", "ceiling"}
    alone = [each for each in texts_with(row["mark"]) if _bounding(*each) == {row["mark"]}]
    for scheme, text in alone if hard else []:
        sure = all(
            are_sure([each["status"]])
            for each in rows("bounds")
            if each["mark"] == row["mark"] and each["bound"] in {"floor", "ceiling"}
        )
        said = read_text(scheme, text).says
        assert said.startswith("The part is no " if sure else "The part is said to be no "), said


def _bounding(scheme: str, text: str) -> set[object]:
    meanings = read_text(scheme, text).meanings
    return {dict(each.more)["mark"] for each in meanings if dict(each.more)["hard"]}


@pytest.mark.parametrize("row", rows("parts"), ids=lambda row: row["symbol"])
def test_every_symbol_tells_how_well_it_is_known(row: dict[str, str]) -> None:
    """Under the field of a point as everywhere."""
    reading = read_text("source-week", f"{row['symbol']}-6634")
    words = f"Symbol {row['symbol']} is said to be met on {row['usual']} "
    assert f"{words}({STATUS_WORDS[row['status']]})." in reading.says
    assert code_words("source-week", reading.text) == reading.says


@pytest.mark.parametrize("row", rows("patents"), ids=lambda row: f"{row['series']} {row['year']}")
def test_every_boundary_of_patents_tells_how_well_it_is_known(row: dict[str, str]) -> None:
    """On both sides of it."""
    design = "DES. " if row["series"] == "design" else ""
    for number in (int(row["first"]), int(row["first"]) - 1):
        said = read_text("patent-us", f"{design}{number:,}").says
        assert is_at_most(row, said), said


@pytest.mark.parametrize("row", rows("states"), ids=lambda row: row["code"])
def test_every_spelling_of_a_state_tells_how_well_it_is_known(row: dict[str, str]) -> None:
    """By its code, its name and each older form."""
    for spelt in filter(None, (row["code"], row["name"], *row["older"].split(";"))):
        reading = read_text("postal-us", f"Springfield 7, {spelt}")
        assert f"How states are spelt is a list of ours ({STATUS_WORDS[row['status']]})." in (
            reading.says
        )
        assert row["source"] in reading.sources


def test_no_state_no_word_of_its_spelling() -> None:
    """Four digits after a ZIP code are found without a state."""
    assert "states" not in read_text("postal-us", "62701-1234").says


@pytest.mark.parametrize("text", ["W. Germany", "RoHS", "Made in Italy"])
def test_the_command_says_the_same(text: str) -> None:
    """What the status is stands in what a terminal shows, in whole sentences."""
    told = CliRunner().invoke(main, ["read", "mark", text]).output
    assert read_text("mark", text).says in " ".join(told.split())
