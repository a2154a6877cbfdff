"""Where a server learns: one at a time, in a process of its own, bounded, told honestly."""

import sys
from dataclasses import replace
from pathlib import Path

import pytest

from quickcheck import desk
from quickcheck.desk import Learning, PointsFile, Stage, Workshop
from quickcheck.desk import workshop as module
from quickcheck.errors import ConflictError, ExamplesError, NotFoundError
from quickcheck.learn import Table
from quickcheck.reference import read_reference_text
from tests.desk.small import POINTS, faulty_table, table

SLEEPS = "import sys, time; sys.stdin.buffer.read(); time.sleep(60)"


@pytest.fixture(name="file", scope="module")
def _file() -> PointsFile:
    return desk.points_in(POINTS, name="small.toml", pictures={})


@pytest.fixture(name="rows", scope="module")
def _rows(file: PointsFile) -> Table:
    return desk.examples_in(file.reference, table().encode(), name="t.csv")


@pytest.fixture(name="faulty", scope="module")
def _faulty(file: PointsFile) -> Table:
    return desk.examples_in(file.reference, faulty_table().encode(), name="t.csv")


def instead(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, program: str) -> None:
    """Let another program stand in the place of the one that learns."""
    script = tmp_path / "child"
    script.write_text(f"#!{sys.executable}\n{program}\n")
    script.chmod(0o755)
    monkeypatch.setattr(module.sys, "executable", str(script))  # type: ignore[attr-defined]


def test_learned_in_a_process_of_its_own(file: PointsFile, rows: Table) -> None:
    """A table without faults begins at once; what comes is what the command would write."""
    shop = Workshop()
    begun = shop.put(file, rows)
    assert begun.stage is Stage.RUNNING
    with pytest.raises(ConflictError, match="One at a time"):
        shop.put(file, rows)
    shop.wait()
    done = shop.get(begun.id)
    assert (done.stage, done.share, done.faults) == (Stage.DONE, 1.0, ())
    lesson = desk.learn_from(file, rows, leave_out_faulty=False, tell=lambda _: None)
    result = desk.result_of(done)
    assert (result.text, result.report) == (lesson.text, lesson.report)
    assert result.told in result.report
    assert read_reference_text(result.text).hash == lesson.reference.hash


def test_faulty_rows_are_left_out_on_request(file: PointsFile, faulty: Table) -> None:
    """With faults nothing begins until somebody says so; then the report lists them."""
    shop = Workshop()
    asking = shop.put(file, faulty)
    assert asking.stage is Stage.ASKING
    with pytest.raises(NotFoundError, match="expected one that is done; got asking"):
        desk.result_of(asking)
    shop.start(asking.id)
    assert shop.start(asking.id).id == asking.id  # pressed twice
    shop.wait()
    assert "Left out: 2 rows with faults" in desk.result_of(shop.get(asking.id)).told


def test_nothing_to_learn_from(file: PointsFile, rows: Table, faulty: Table) -> None:
    """A table without a sound row is refused, asked or not; so is one that is too long."""
    shop = Workshop()
    with pytest.raises(ExamplesError, match="at least one documented instrument"):
        shop.put(file, Table((), (), 0))
    bad = shop.put(file, replace(faulty, examples=()))
    with pytest.raises(ExamplesError, match="at least one documented instrument"):
        shop.start(bad.id)
    long = replace(rows, examples=rows.examples[:1] * (module.MOST_EXAMPLES + 1))
    with pytest.raises(ExamplesError, match=f"at most {module.MOST_EXAMPLES} rows"):
        shop.put(file, long)


def test_a_server_started_anew_knows_nothing_of_it() -> None:
    """What another start of the server learned is gone, and that is said."""
    with pytest.raises(NotFoundError, match="since this server was started"):
        Workshop().get("0" * 32)


def test_only_the_last_ones_are_kept(file: PointsFile, faulty: Table) -> None:
    """The oldest makes room, so that the memory of a server is bounded."""
    shop = Workshop()
    put = [shop.put(file, faulty) for _ in range(8)]
    assert shop.get(put[-1].id).stage is Stage.ASKING
    for gone in put[:2]:
        with pytest.raises(NotFoundError):
            shop.get(gone.id)


def running(shop: Workshop, file: PointsFile, rows: Table) -> Learning:
    """Begin to learn and let so many tables follow that the oldest must go."""
    begun = shop.put(file, rows)
    fault = desk.examples_in(file.reference, faulty_table().encode(), name="t.csv")
    for _ in range(8):
        shop.put(file, fault)
    return begun


def test_stopped(
    file: PointsFile, rows: Table, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """One that runs is not pushed out; stopped, its process ends and another may begin."""
    instead(monkeypatch, tmp_path, SLEEPS)
    shop = Workshop()
    begun = running(shop, file, rows)
    assert shop.get(begun.id).stage is Stage.RUNNING
    assert shop.stop(begun.id).stage is Stage.STOPPED
    assert shop.stop(begun.id).stage is Stage.STOPPED
    monkeypatch.undo()
    again = shop.put(file, rows)
    shop.wait()
    assert shop.get(again.id).stage is Stage.DONE


@pytest.mark.parametrize("program", [SLEEPS, "import sys; sys.exit(1)"], ids=["hangs", "dies"])
def test_a_process_that_does_not_end_well(
    file: PointsFile, rows: Table, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, program: str
) -> None:
    """One that hangs or dies makes a learning that failed, with the way out."""
    instead(monkeypatch, tmp_path, program)
    shop = Workshop(patience=0.5)
    begun = shop.put(file, rows)
    shop.wait()
    failed = shop.get(begun.id)
    assert failed.stage is Stage.FAILED
    assert "quickcheck learn" in failed.faults[0].remedy


def test_faults_that_only_the_process_finds(file: PointsFile, rows: Table) -> None:
    """What is wrong with the points there is told as it would be here."""
    shop = Workshop()
    begun = shop.put(replace(file, text="format = 2"), rows)
    shop.wait()
    failed = shop.get(begun.id)
    assert failed.stage is Stage.FAILED
    assert any("format" in fault.where for fault in failed.faults)
