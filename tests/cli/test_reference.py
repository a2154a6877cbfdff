"""`quickcheck reference check` and `quickcheck reference list`."""

from pathlib import Path

from quickcheck import paths
from quickcheck.errors import ReferenceFaultsError
from quickcheck.reference import read_reference, read_reference_text
from tests import kit
from tests.cli.kit import printed_json, run


def test_check(file: Path) -> None:
    """A file without faults is said to have none, with its id and the hash of its content."""
    result = run("reference", "check", file)
    assert result.exit_code == 0
    found = read_reference(file)
    assert "no faults (loom-one, 4 points" in result.stdout
    assert found.hash[:16] in result.stdout


def test_check_json(file: Path) -> None:
    """The JSON names the file, the id and the whole hash."""
    (one,) = printed_json(run("reference", "check", file, "--json"))["files"]
    assert one["ok"] is True
    assert (one["id"], one["points"], one["faults"]) == ("loom-one", 4, [])
    assert one["hash"] == read_reference_text(kit.REFERENCE).hash


def test_check_several(file: Path, tmp_path: Path) -> None:
    """Of several files each is told; one with faults makes the exit code 4."""
    bad = tmp_path / "bad.toml"
    bad.write_text(kit.REFERENCE.replace('kind = "pick"', 'kind = "pock"'), encoding="utf-8")
    result = run("reference", "check", file, bad)
    assert result.exit_code == ReferenceFaultsError.exit_code
    assert "loom-one.toml: no faults" in result.stdout
    assert '"pock"' in result.stderr
    told = run("reference", "check", file, bad, "--json")
    assert told.exit_code == ReferenceFaultsError.exit_code
    good, faulty = printed_json(told)["files"]
    assert (good["ok"], faulty["ok"]) == (True, False)
    assert any('"pock"' in fault["came"] for fault in faulty["faults"])


def test_check_all_faults(tmp_path: Path) -> None:
    """All faults of a file are told at once."""
    bad = tmp_path / "bad.toml"
    text = kit.REFERENCE.replace('kind = "pick"', 'kind = "pock"').replace('"1950-01"', '"1950"')
    bad.write_text(text.replace('unit = "in"', 'unit = "ell"'), encoding="utf-8")
    result = run("reference", "check", bad)
    for came in ('"pock"', '"1950"', '"ell"'):
        assert came in result.stderr


def test_check_what_is_not_there(tmp_path: Path) -> None:
    """A file that is not there is a fault like any other."""
    result = run("reference", "check", tmp_path / "none.toml")
    assert result.exit_code == ReferenceFaultsError.exit_code
    assert "none.toml" in result.stderr


def test_check_nothing() -> None:
    """Without a file the command line itself is wrong."""
    result = run("reference", "check")
    assert result.exit_code == 2
    assert "Missing argument" in result.stderr


def test_demo_references() -> None:
    """The demo's references have no faults."""
    folders = sorted(path for path in (paths.DEMO / "references").iterdir() if path.is_dir())
    assert run("reference", "check", *folders).exit_code == 0


def test_list(data: Path) -> None:
    """The data folder's references are listed, then the demo's and the general one."""
    lines = run("reference", "list").stdout.splitlines()
    assert lines[0].startswith("loom-one  Loom One (invented), edition 2026-04, 1950–1959")
    assert len(lines) == 5
    assert lines[-1].startswith("us-electric-by-markings  Any US-made electric instrument")
    (data / "references" / "loom-one.toml").unlink()
    assert len(run("reference", "list").stdout.splitlines()) == 4


def test_list_json(data: Path) -> None:
    """The JSON has what is there, and the faults of what could not be loaded."""
    (data / "references" / "bad.toml").write_text("format = 1", encoding="utf-8")
    result = run("reference", "list", "--json")
    assert result.exit_code == 0
    found = printed_json(result)
    one = {entry["id"]: entry for entry in found["references"]}["loom-one"]
    assert one["hash"] == read_reference_text(kit.REFERENCE).hash
    assert one["points"] == 4
    assert list(found["faulty"]) == ["bad.toml"]
    assert "bad.toml was not loaded" in run("reference", "list").stderr


def test_list_from_an_option(tmp_path: Path) -> None:
    """--data names another folder than the environment does."""
    other = tmp_path / "other"
    kit.write_reference(other, kit.REFERENCE.replace('id = "loom-one"', 'id = "loom-two"'))
    assert "loom-two" in run("reference", "list", "--data", other).stdout


def test_two_of_one_id(data: Path) -> None:
    """Of two files with one id the second is set aside and said so."""
    kit.write_reference(data, name="twin.toml")
    result = run("reference", "list")
    assert "twin.toml was not loaded" in result.stderr
    assert result.stdout.count("loom-one") == 1
