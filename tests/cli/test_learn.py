"""`quickcheck learn`."""

from pathlib import Path

import pytest
from click.testing import Result

from quickcheck.errors import ExamplesError, ReferenceFaultsError
from quickcheck.reference import read_reference
from tests.cli.kit import printed_json, run

POINTS = """# what the workshop looks at
format = 1
id = "small"
title = "Small (invented)"
covers = ["1950-01", "1959-12"]
edition = "1"
author = "Nobody"
licence = "CC0-1.0"
about = "Invented."
[source.papers]
title = "Papers (invented)"
kind = "document"
[[point]]
id = "screws"
area = "screws"
kind = "pick"
source = ["papers"]
[[point.seen]]
id = "slot"
label = "Slot"
[[point.seen]]
id = "cross"
label = "Cross"
"""


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
