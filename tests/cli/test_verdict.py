"""`quickcheck verdict`."""

import json
from pathlib import Path
from typing import Any

import pytest

from quickcheck import paths
from quickcheck.engine import VERDICT_WORDS, judge_document
from quickcheck.errors import AnswerError, NotFoundError, ReadingError, ReferenceFaultsError
from quickcheck.reference import read_reference, read_reference_text
from tests import kit
from tests.cli.kit import printed_json, run, write_answers


def expected(**more: Any) -> dict[str, Any]:
    """Return what the engine says of the kit's document."""
    return judge_document(read_reference_text(kit.REFERENCE), kit.document(**more))


def test_json_is_the_engines(tmp_path: Path, file: Path) -> None:
    """The JSON is the engine's whole result, every number to the last digit."""
    result = run("verdict", file, write_answers(tmp_path), "--json")
    assert result.exit_code == 0
    assert printed_json(result) == json.loads(json.dumps(expected()))
    assert printed_json(result)["posterior"] == expected()["posterior"]


def test_by_id(tmp_path: Path, file: Path) -> None:
    """A reference may be named by its id, by its file or by a folder with it."""
    answers = write_answers(tmp_path)
    by_file = run("verdict", file, answers, "--json").stdout
    assert run("verdict", "loom-one", answers, "--json").stdout == by_file
    folder = tmp_path / "loom-one-folder"
    folder.mkdir()
    (folder / "loom-one.toml").write_text(kit.REFERENCE, encoding="utf-8")
    assert run("verdict", folder, answers, "--json").stdout == by_file


def test_demo_reference_is_at_hand() -> None:
    """The demo's references are found by their ids, whatever the data folder has."""
    typed = json.dumps(
        {
            "reference": "hobbinsley-poplin",
            "window": ["1953-03", "1953-05"],
            "answers": {"knobs": {"seen": "wood"}},
        }
    )
    result = run("verdict", "hobbinsley-poplin", "-", "--json", typed=typed)
    assert printed_json(result)["verdict"] == "too-little-seen"


def test_standard_input(tmp_path: Path, file: Path) -> None:
    """Answers may come on standard input."""
    typed = json.dumps(kit.document())
    result = run("verdict", file, "-", "--json", typed=typed)
    assert printed_json(result) == printed_json(
        run("verdict", file, write_answers(tmp_path), "--json")
    )


def test_words(tmp_path: Path, file: Path) -> None:
    """Without --json the verdict stands first, then the finding and the reasons in words."""
    result = run("verdict", file, write_answers(tmp_path))
    lines = result.stdout.splitlines()
    assert result.exit_code == 0
    assert lines[0] == VERDICT_WORDS[str(expected()["verdict"])]
    assert lines[1].startswith("Claimed Mar–Aug 1952.")
    assert "Not looked at" in lines
    assert "Would tell most next" not in lines or "{" not in result.stdout


def test_window_in_place_of_the_claim(tmp_path: Path, file: Path) -> None:
    """--window judges the same answers against other months."""
    answers = write_answers(tmp_path)
    result = printed_json(run("verdict", file, answers, "--window", "1957-01..1957-06", "--json"))
    assert result["claimed"] == ["1957-01", "1957-06"]
    assert result == json.loads(json.dumps(expected(window=["1957-01", "1957-06"])))
    assert result["verdict"] != expected()["verdict"]


@pytest.mark.parametrize(
    ("window", "code", "said"),
    [
        ("1957-01", AnswerError.exit_code, "two months like 1954-03..1954-08"),
        ("1957-01..", ReadingError.exit_code, "window"),
        ("soon..later", ReadingError.exit_code, '"soon"'),
        ("1957-06..1957-01", AnswerError.exit_code, "the first month before the last"),
        ("1931-01..1931-02", AnswerError.exit_code, "1950–1959"),
    ],
)
def test_bad_window(tmp_path: Path, file: Path, window: str, code: int, said: str) -> None:
    """A window that is none is refused with what came and what is expected."""
    result = run("verdict", file, write_answers(tmp_path), "--window", window)
    assert result.exit_code == code, result.stderr
    assert said in result.stderr
    assert result.stdout == ""


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("{", "expected JSON"),
        ("", "expected JSON"),
        ("[]", "an object like"),
        ("null", "an object like"),
        ('{"answers": []}', "reference"),
        ("[" * 100_000, "expected JSON"),
        (('{"reference": "loom-one", "window": ["1952-03", "1952-08"], "answers": '
         '{"neck-depth": {"value": NaN}}}'), "neck-depth"),
    ],
    ids=["broken", "empty", "list", "null", "empty-object", "deep", "nan"],
)  # fmt: skip
def test_bad_document(file: Path, typed: str, said: str) -> None:
    """What is no answers document is refused in words, as JSON when that was asked for."""
    result = run("verdict", file, "-", typed=typed)
    assert result.exit_code == AnswerError.exit_code
    assert said in result.stderr
    told = run("verdict", file, "-", "--json", typed=typed)
    assert told.exit_code == AnswerError.exit_code
    assert printed_json(told)["error"] == "AnswerError"
    assert {"where", "expected", "came", "remedy"} == set(printed_json(told)["faults"][0])


def test_every_fault_at_once(file: Path) -> None:
    """All faults of a document are told together."""
    document = kit.document(answers={"knobs": {"seen": "ivory"}, "serial": {"read": "A"}, "x": {}})
    result = run("verdict", file, "-", "--json", typed=json.dumps(document))
    places = [fault["where"] for fault in printed_json(result)["faults"]]
    assert len(places) == 3
    for point in ("knobs", "serial", "x"):
        assert any(point in place for place in places)


def test_missing_files(tmp_path: Path, file: Path) -> None:
    """A file or an id that is not there is named."""
    nothing = run("verdict", file, tmp_path / "none.json")
    assert nothing.exit_code == NotFoundError.exit_code
    assert "none.json" in nothing.stderr
    nobody = run("verdict", "nobodys", write_answers(tmp_path))
    assert nobody.exit_code == NotFoundError.exit_code
    assert "loom-one" in nobody.stderr


def test_bytes_that_are_no_text(tmp_path: Path, file: Path) -> None:
    """A file, or standard input, that is no UTF-8 is refused without a fault of the program."""
    path = tmp_path / "answers.json"
    path.write_bytes(b'{"\xff": 1}')
    assert run("verdict", file, path).exit_code in (AnswerError.exit_code, NotFoundError.exit_code)
    typed = run("verdict", file, "-", typed=b'{"\xff": 1}')
    assert typed.exit_code in (AnswerError.exit_code, NotFoundError.exit_code)


def test_folder_as_answers(tmp_path: Path, file: Path) -> None:
    """A folder where a file is wanted is refused in words."""
    assert run("verdict", file, tmp_path).exit_code == NotFoundError.exit_code


def test_faulty_reference(tmp_path: Path) -> None:
    """A reference with faults is told with all of them."""
    path = tmp_path / "bad.toml"
    path.write_text("format = 1\n", encoding="utf-8")
    result = run("verdict", path, write_answers(tmp_path))
    assert result.exit_code == ReferenceFaultsError.exit_code
    assert "title" in result.stderr
    assert "covers" in result.stderr


def test_reference_of_another_model(tmp_path: Path) -> None:
    """Answers for another reference are refused."""
    result = run("verdict", "hobbinsley-poplin", write_answers(tmp_path))
    assert result.exit_code == AnswerError.exit_code
    assert '"loom-one"' in result.stderr


def test_demo_book(tmp_path: Path) -> None:
    """Every sitting of the demo's book gives the engine's result by the command as well."""
    path = paths.DEMO / "book" / "2-the-vicar.json"
    result = printed_json(run("verdict", "hobbinsley-poplin", path, "--json"))
    document = json.loads(path.read_text(encoding="utf-8"))
    reference = read_reference(paths.DEMO / "references" / "hobbinsley-poplin")
    assert result == json.loads(json.dumps(judge_document(reference, document)))
