"""`quickcheck learn`."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import Result

from quickcheck import desk
from quickcheck.cli.serving import BOOK
from quickcheck.errors import ExamplesError, ReferenceFaultsError
from quickcheck.reference import read_reference
from quickcheck.store import open_store
from tests.cli.kit import printed_json, run
from tests.desk.small import POINTS


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Path:
    (tmp_path / "points.toml").write_text(POINTS, encoding="utf-8")
    rows = [
        f"no. {year},{year}-06,{'slot' if year < 1955 else 'cross'},{state}"
        for year, state in zip(range(1950, 1960), ["", "", "changed", *[""] * 7], strict=True)
    ]
    text = "\n".join(["instrument,month,screws,screws:state", *rows])
    (tmp_path / "examples.csv").write_text(text, encoding="utf-8")
    return tmp_path


def learn(folder: Path, *more: str) -> Result:
    points, out = folder / "points.toml", folder / "out.toml"
    return run("learn", folder / "examples.csv", "--points", points, "-o", out, *more)


def spoil(folder: Path) -> None:
    """Put faults into two rows."""
    path = folder / "examples.csv"
    text = path.read_text(encoding="utf-8")
    text = text.replace("1951-06,slot", "1951-16,slot").replace("1957-06,cross", "1957-06,crss")
    path.write_text(text, encoding="utf-8")


def test_learn(folder: Path) -> None:
    """A reference that check takes, a report beside it, and in words what was learned."""
    result = learn(folder)
    assert result.exit_code == 0
    assert "slot → cross: " in result.stdout
    assert "changed on 1 of 10, taken as 6.7%" in result.stdout
    assert "90 % intervals hold" in result.stdout
    assert run("reference", "check", folder / "out.toml").exit_code == 0
    assert "# what the workshop looks at" in (folder / "out.toml").read_text(encoding="utf-8")
    page = (folder / "out.report.html").read_text(encoding="utf-8")
    assert page.startswith("<!doctype html>")
    assert "<svg" in page


def test_learn_json(folder: Path) -> None:
    """JSON has the counts, the change-overs and the hash of what was written, and nothing else."""
    found = printed_json(learn(folder, "--json", "--report", str(folder / "page.html")))
    assert found["hash"] == read_reference(folder / "out.toml").hash
    assert found["rows"] == 10
    assert found["kappa"] is None
    assert found["check"]["alone"] is True
    (change,) = found["points"]["screws"]["change_overs"]
    assert change["low"] <= "1955-01" <= change["high"]
    assert found["points"]["screws"]["changed"] == {"rate": 0.0667, "counted": 1, "of": 10}
    assert (folder / "page.html").exists()
    assert not (folder / "out.report.html").exists()


def test_too_few_for_a_check(folder: Path) -> None:
    """With four rows there is no check, in words and in JSON."""
    path = folder / "examples.csv"
    path.write_text("\n".join(path.read_text(encoding="utf-8").splitlines()[:5]), encoding="utf-8")
    assert "nothing can be left out" in learn(folder).stdout
    assert printed_json(learn(folder, "--json"))["check"] is None


def test_faults_stop_it(folder: Path) -> None:
    """Every fault is told with row and column, and nothing is written."""
    spoil(folder)
    result = learn(folder)
    assert result.exit_code == ExamplesError.exit_code
    assert 'row 3, column "month"' in result.stderr
    assert 'row 9, column "screws"' in result.stderr
    assert not (folder / "out.toml").exists()


def test_faults_left_out_on_request(folder: Path) -> None:
    """With the option the other rows teach, and what was left out is listed."""
    spoil(folder)
    result = learn(folder, "--leave-out-faulty")
    assert result.exit_code == 0
    assert result.stderr.count("left out: ") == 2
    assert "8 of 8 examples were dated" in result.stdout


def test_points_with_faults(folder: Path) -> None:
    """A points file with faults is told as a reference would be."""
    (folder / "points.toml").write_text(POINTS.replace('"pick"', '"pock"'), encoding="utf-8")
    result = learn(folder)
    assert result.exit_code == ReferenceFaultsError.exit_code
    assert '"pock"' in result.stderr


NOW = datetime(2026, 4, 11, 9, tzinfo=UTC)


def documented(data: Path, points: Path, months: dict[str, str]) -> None:
    """Put inspections with papers into the book of a data folder: month → variant."""
    reference = read_reference(points)
    with open_store(data / BOOK) as store:
        for month, seen in months.items():
            document = {
                "reference": "small",
                "window": ["1950-01", "1959-12"],
                "answers": {"screws": {"seen": seen}},
            }
            saved = desk.open_inspection(store, reference, document, now=NOW)
            desk.say_papers(store, saved, {"kind": "ledger", "first": month}, now=NOW)


def test_from_the_book(folder: Path, data: Path) -> None:
    """The book's documented inspections teach alone, or beside a table."""
    documented(data, folder / "points.toml", {"1951-01": "slot", "1958-01": "cross"})
    points, out = folder / "points.toml", folder / "out.toml"
    alone = run("learn", "--book", "--points", points, "-o", out)
    assert alone.exit_code == 0, alone.stderr
    assert "2 examples" in alone.stdout
    both = printed_json(learn(folder, "--book", "--json"))
    assert both["rows"] == 12


def test_neither_table_nor_book(folder: Path) -> None:
    """With nothing to learn from the command says what it takes."""
    none = run("learn", "--points", folder / "points.toml", "-o", folder / "out.toml")
    assert none.exit_code == 2
    assert "Name a table of examples, or take --book" in none.stderr


def test_what_the_points_can_not_take(folder: Path, data: Path) -> None:
    """A documented inspection with a variant that the points lack stops it, as a faulty row does."""
    documented(data, folder / "points.toml", {"1951-01": "slot"})
    (folder / "points.toml").write_text(POINTS.replace('"slot"', '"flat"'), encoding="utf-8")
    stopped = run("learn", "--book", "--points", folder / "points.toml", "-o", folder / "o.toml")
    assert stopped.exit_code == ExamplesError.exit_code
    assert "Small (invented) (" in stopped.stderr
