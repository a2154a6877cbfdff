"""The seeded book of the demo, judged by the real engine against the real references.

Everything in the demo is invented. `demo/book/expected.json` was made from the engine's results and
reviewed against the stories in `demo/README.md`; here it guards stories, references and engine
against drifting apart.
"""

import json
from functools import cache
from typing import Any

import pytest

from quickcheck.engine import judge_document
from quickcheck.paths import DEMO
from quickcheck.reference import Reference, read_reference

BOOK = DEMO / "book"
EXPECTED: dict[str, dict[str, Any]] = json.loads(
    (BOOK / "expected.json").read_text(encoding="utf-8")
)
SITTINGS = sorted(path.name for path in BOOK.glob("*.json") if path.name != "expected.json")
VERDICTS = {"agrees", "agrees-with-changes", "in-doubt", "disagrees", "too-little-seen"}


def document(name: str) -> dict[str, Any]:
    """Return one sitting of the book as its JSON says."""
    sitting: dict[str, Any] = json.loads((BOOK / name).read_text(encoding="utf-8"))
    return sitting


@cache
def reference(name: str) -> Reference:
    """Return one of the three invented references, read once."""
    return read_reference(DEMO / "references" / name)


@cache
def judged(name: str) -> dict[str, Any]:
    """Return the engine's result on one sitting, computed once."""
    sitting = document(name)
    result: dict[str, Any] = judge_document(reference(sitting["reference"]), sitting)
    return result


def told(result: dict[str, Any]) -> dict[str, Any]:
    """Return what `expected.json` keeps of a result; points sorted, for their order is no fact."""
    declared = sorted(result["declared"])
    found = sorted({*result["flagged"], *result["odd"]} - set(declared))
    return {
        "verdict": result["verdict"],
        "reads_as": [list(run) for run in result["reads_as"]],
        "found": found,
        "declared": declared,
        "apart": sorted(result["apart"]),
    }


def test_expected_names_every_sitting() -> None:
    """Each sitting of the book has an expected verdict, and no expectation lacks its sitting."""
    assert sorted(EXPECTED) == SITTINGS


@pytest.mark.parametrize("name", SITTINGS)
def test_sitting_comes_out_as_expected(name: str) -> None:
    """Verdict, months, found and declared parts and assemblies apart are those of the table."""
    assert told(judged(name)) == EXPECTED[name]


def test_every_verdict_is_to_be_seen() -> None:
    """The book shows each of the five verdicts at least once."""
    assert {judged(name)["verdict"] for name in SITTINGS} == VERDICTS


def test_verdict_grows_as_more_is_looked_at() -> None:
    """Three steps on one bass: more groups speak each time, and only the last one is enough."""
    steps = [judged(f"1{step}-mister-pemberton.json") for step in "abc"]
    speaking = [step["speaking"] for step in steps]
    assert speaking == sorted(set(speaking))
    assert [step["verdict"] for step in steps] == ["too-little-seen", "too-little-seen", "agrees"]


def test_declared_changes_are_not_found() -> None:
    """What the owner of the curate's Poplin told beforehand is flagged, but not held against it."""
    result = judged("2-the-vicar.json")
    assert {"tuners", "nut", "strap-pin"} == set(result["flagged"]) == set(result["declared"])


def test_second_sitting_differs_in_the_finish_alone() -> None:
    """The unsure finish of the second sitting is what the two sittings disagree about."""
    first, second = EXPECTED["2-the-vicar.json"], EXPECTED["2b-the-vicar-balcony.json"]
    assert (first["found"], second["found"]) == ([], ["finish"])
    assert first["verdict"] == second["verdict"]


def test_best_window_of_the_early_tag_flags_tag_and_marking() -> None:
    """In the months that its parts speak for, only the old tag and the burned marking are wrong."""
    result = judged("3-old-seventy-seven.json")
    assert len(result["flagged"]) == 14
    assert result["best_window"] == {
        "window": ["1959-05", "1959-10"],
        "flagged": ["head-mark", "serial"],
    }


def test_doubt_by_dates_has_a_margin() -> None:
    """The estate archtop is in doubt by its months alone, well inside the two thresholds."""
    result = judged("4-tuesdays-child.json")
    assert 1.3 / 32 < result["ratio_to_best"] < 0.6 / 8
    assert result["changed_count"]["tail"] > 0.1
    assert result["apart"] == []


def test_doubt_by_count_has_a_margin() -> None:
    """The months of the Poplin from a drawer hold; nine later parts are what makes the doubt."""
    result = judged("5b-sunday-best.json")
    assert result["ratio_to_best"] > 0.5
    assert len(told(result)["found"]) == 9
    assert result["changed_count"]["tail"] < 0.006
    assert result["apart"] == []


def test_mistyped_number_does_not_change_the_verdict() -> None:
    """The recalled first issue and the second one differ in the serial and in nothing judged."""
    first, second = document("5a-sunday-best-issue-1.json"), document("5b-sunday-best.json")
    assert (first["serial_text"], second["serial_text"]) == ("5320", "5230")
    assert judged("5a-sunday-best-issue-1.json") == judged("5b-sunday-best.json")


def test_another_instrument_behind_the_card_shows_by_number_and_marks() -> None:
    """Two Taffetas agree with the same months, and only serial and marks tell them apart."""
    card, shown = document("6-aunt-ottoline.json"), document("7-the-other-taffeta.json")
    assert judged("6-aunt-ottoline.json")["verdict"] == "agrees"
    assert judged("7-the-other-taffeta.json")["verdict"] == "agrees"
    assert card["window"] == shown["window"]
    assert card["serial_text"] != shown["serial_text"]
    assert not [mark for mark in shown["marks"] if mark in card["marks"]]


def test_married_neck_stands_apart() -> None:
    """A body of 1957 with a whole neck of 1960 is in doubt for its neck, not by dates or count."""
    result = judged("8-the-marriage.json")
    assert result["apart"] == ["neck"]
    assert result["verdict"] == "in-doubt"
    assert result["ratio_to_best"] > 1.3 / 8
    assert result["changed_count"]["tail"] > 0.02
    assert result["assemblies"]["neck"]["ratio_to_best"] < 0.01


def test_one_part_that_is_hardly_ever_changed_makes_a_doubt() -> None:
    """The lining of the rebuilt archtop is changed on one in a hundred: found, it is enough."""
    result = judged("9-the-rebuilt-taffeta.json")
    assert told(result)["found"] == ["kerfing"]
    assert reference("hobbinsley-taffeta").by_id["kerfing"].changed <= 0.02
    assert result["ratio_to_best"] > 1.3 / 8
    assert result["apart"] == []


def test_two_witnesses_can_make_a_doubt_but_no_more() -> None:
    """Two parts that both speak ten years late are in doubt, never a disagreement."""
    result = judged("10-behind-glass.json")
    assert result["speaking"] == 2
    assert result["ratio_to_best"] < 0.5 / 32
    assert result["verdict"] == "in-doubt"


def test_readme_tells_the_verdicts_of_the_table() -> None:
    """The page for people names each sitting with the verdict code and the months of the table."""
    rows = [
        line
        for line in (DEMO / "README.md").read_text(encoding="utf-8").splitlines()
        if line.startswith("| `")
    ]
    for name, expected in EXPECTED.items():
        row = next(line for line in rows if line.startswith(f"| `{name.removesuffix('.json')}`"))
        assert f"`{expected['verdict']}`" in row
        for first, last in expected["reads_as"]:
            assert (first if first == last else f"{first} to {last}") in row
