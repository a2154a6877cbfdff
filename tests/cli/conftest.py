"""Each test gets a data folder of its own, with one reference in it."""

from pathlib import Path

import pytest

from tests import kit


@pytest.fixture(name="data", autouse=True)
def _data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the folder; every command takes it from the environment."""
    folder = tmp_path / "data"
    kit.write_reference(folder)
    monkeypatch.setenv("QUICKCHECK_DATA", str(folder))
    return folder


@pytest.fixture(name="file")
def _file(data: Path) -> Path:
    """Return the reference's file."""
    return data / "references" / "loom-one.toml"
