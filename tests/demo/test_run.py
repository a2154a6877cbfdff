"""The starter of the demo: what it decides, and one start from nothing."""

import importlib.util
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

from quickcheck import paths

pytestmark = pytest.mark.checkout  # it installs the project that it stands in

PROJECT = paths.DEMO.parent


def _load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("demo_run", PROJECT / "demo" / "run.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


run = _load()
_OFFLINE = """\
WARNING: Retrying after connection broken by 'NewConnectionError("<HTTPSConnection object at 0x7f>:
Failed to establish a new connection: [Errno -3] Temporary failure in name resolution")': /simple/
ERROR: No matching distribution found for hatchling
"""


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """Make a project with a project file and nothing else."""
    (tmp_path / "pyproject.toml").write_text("[project]\n", encoding="utf-8")
    return tmp_path


@pytest.fixture
def taken() -> Iterator[int]:
    """Listen on a port."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        yield listening.getsockname()[1]


@pytest.mark.parametrize("version", [(3, 11), (3, 14), (4, 0)])
def test_a_new_enough_python_is_taken(version: tuple[int, int]) -> None:
    """3.11 and what comes after it."""
    run.check_python(version)


@pytest.mark.parametrize("version", [(3, 10), (3, 7), (2, 7)])
def test_an_old_python_is_told(version: tuple[int, int]) -> None:
    """The message says what is needed, what this is, and what to do."""
    with pytest.raises(
        run.TroubleError, match=r"3\.11 or newer; this is {}\.{}\.".format(*version)
    ):
        run.check_python(version)


@pytest.mark.parametrize("missing", ["venv", "ensurepip"])
def test_a_python_without_environments_is_told(
    missing: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bare Debian learns the name of the package to install."""
    found = importlib.util.find_spec
    monkeypatch.setattr(
        run.importlib.util, "find_spec", lambda name: None if name == missing else found(name)
    )
    with pytest.raises(run.TroubleError, match=f"without {missing}.*\n.*install python3-venv"):
        run.check_venv()


def test_a_whole_python_can_make_environments() -> None:
    """Nothing is said where nothing is missing."""
    run.check_venv()


def test_a_taken_port_is_told_with_one_that_is_free(taken: int) -> None:
    """The command in the message works as it stands."""
    with pytest.raises(run.TroubleError, match=f"Port {taken} is taken") as told:
        run.check_port(taken)
    other = int(str(told.value).rsplit("--port ", 1)[1])
    assert other != taken
    run.check_port(other)


def test_a_port_beyond_the_last_is_never_proposed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Next to the highest port any free one is named."""
    assert 0 < run._free_port(65535) < 65536


def test_a_port_that_is_not_allowed_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A low port is not called taken when it is the user who may not open it."""

    def refuse(port: int) -> int:
        if port == 80:
            raise PermissionError(13, "Permission denied")
        return port

    monkeypatch.setattr(run, "_bind", refuse)
    with pytest.raises(run.TroubleError, match=r"Port 80 may not be opened.*\n.*--port 8001"):
        run.check_port(80)


@pytest.mark.parametrize("words", [["--port", "0"], ["--port", "65536"], ["--port", "²"]])
def test_a_port_that_is_none_is_refused(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """A port is a number from 1 to 65535."""
    with pytest.raises(SystemExit):
        run.arguments(words)
    assert "a number from 1 to 65535" in capsys.readouterr().err


def test_the_options_have_defaults(capsys: pytest.CaptureFixture[str]) -> None:
    """Without options the demo is on port 8000 and keeps its data; help tells of both."""
    chosen = run.arguments([])
    assert (chosen.port, chosen.fresh) == (8000, False)
    with pytest.raises(SystemExit):
        run.arguments(["--help"])
    told = capsys.readouterr().out
    assert "--port" in told
    assert "--fresh" in told


def _pretend_made(environment: Path, stamp: str) -> None:
    python = run.environment_python(environment)
    python.parent.mkdir(parents=True)
    python.touch()
    (environment / run.STAMP).write_text(stamp, encoding="ascii")


def test_an_environment_is_made_once(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the right stamp nothing is done."""
    environment = project / ".venv-demo"
    monkeypatch.setattr(run, "_make", pytest.fail)
    _pretend_made(environment, run.stamp_of(project))
    run.prepare(project, environment)


@pytest.mark.parametrize("change", ["project file", "place", "python gone", "broken off"])
def test_an_environment_that_no_longer_fits_is_made_anew(project: Path, change: str) -> None:
    """Another project file, a moved folder, a vanished Python or a start broken off are seen."""
    environment = project / ".venv-demo"
    _pretend_made(environment, run.stamp_of(project))
    assert run.is_ready(environment, run.stamp_of(project))
    if change == "project file":
        (project / "pyproject.toml").write_text("[project]\nname='x'\n", encoding="utf-8")
    elif change == "place":
        project = project.rename(project.with_name("moved"))
    elif change == "python gone":
        run.environment_python(environment).unlink()
    else:
        (environment / run.STAMP).unlink()
    assert not run.is_ready(project / ".venv-demo", run.stamp_of(project))


def test_the_stamp_comes_last(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An installation that failed leaves no stamp, so that the next start tries again."""
    environment = project / ".venv-demo"
    environment.mkdir()
    monkeypatch.setattr(run, "_make", lambda _: None)
    monkeypatch.setattr(run, "_install", lambda *_: None)
    run.prepare(project, environment)
    assert (environment / run.STAMP).read_text(encoding="ascii") == run.stamp_of(project)

    def refuse(*_: object) -> None:
        raise run.TroubleError("no")

    (environment / run.STAMP).unlink()
    monkeypatch.setattr(run, "_install", refuse)
    with pytest.raises(run.TroubleError, match="no"):
        run.prepare(project, environment)
    assert not (environment / run.STAMP).exists()


@pytest.mark.parametrize(
    ("output", "line"),
    [
        ("", "nothing"),
        ("Collecting x\nERROR: first\nERROR: no README\n\nmore\n", "ERROR: no README"),
        ("Collecting x\nkilled\n", "killed"),
        (
            "ERROR: x\n   OSError: Readme file does not exist\n  note\nerror: metadata failed\n",
            "OSError: Readme file does not exist",
        ),
        (
            _OFFLINE,
            "no network: Temporary failure in name resolution",
        ),
    ],
)
def test_pip_is_quoted_in_one_line(output: str, line: str) -> None:
    """Of pip's pages the line that says why is shown; a missing network is called that."""
    assert run.in_one_line(output) == line


def test_a_failed_installation_is_told(project: Path) -> None:
    """What pip said is quoted, and the whole of it is kept in a file."""
    environment = project / ".venv-demo"
    python = run.environment_python(environment)
    python.parent.mkdir(parents=True)
    python.symlink_to(sys.executable)
    with pytest.raises(run.TroubleError, match=r"could not be installed. pip said: ") as told:
        run._install(project / "nowhere", environment)
    assert "nowhere" in (environment / "pip.log").read_text(encoding="utf-8")
    assert len(str(told.value).splitlines()) == 3


def test_variables_that_lead_out_are_left_behind() -> None:
    """A PYTHONPATH of the user's doesn't reach into the environment."""
    assert run.clean({"PYTHONPATH": "/x", "PYTHONHOME": "/y", "HOME": "/z"}) == {"HOME": "/z"}


def test_fresh_throws_the_data_away(tmp_path: Path) -> None:
    """The folder goes, and one that is not there is no trouble."""
    (tmp_path / "data" / "demo").mkdir(parents=True)
    run.throw_away(tmp_path / "data")
    run.throw_away(tmp_path / "data")
    assert not (tmp_path / "data").exists()


def test_data_that_cannot_be_thrown_away_is_told(tmp_path: Path) -> None:
    """A file in the place of the folder is not ours to delete."""
    (tmp_path / "data").touch()
    with pytest.raises(run.TroubleError, match="could not be thrown away"):
        run.throw_away(tmp_path / "data")


def test_trouble_is_told_without_a_trace(taken: int, capsys: pytest.CaptureFixture[str]) -> None:
    """A person sees two lines and exit code 1, no traceback."""
    assert run.main(["--port", str(taken)]) == 1
    told = capsys.readouterr().err
    assert told.startswith(f"Port {taken} is taken")
    assert len(told.splitlines()) == 2


def test_an_old_python_can_read_the_file() -> None:
    """The file parses as Python 3.7, so that an old one can say that it is too old."""
    import ast  # noqa: PLC0415

    source = (PROJECT / "demo" / "run.py").read_text(encoding="utf-8")
    ast.parse(source, feature_version=(3, 7))


def _wait_for(url: str, program: subprocess.Popen[str]) -> bytes:
    for _ in range(600):
        assert program.poll() is None
        try:
            with urllib.request.urlopen(url, timeout=5) as reply:
                return bytes(reply.read())
        except (urllib.error.URLError, ConnectionError):
            time.sleep(0.2)
    raise AssertionError("nothing came")


@pytest.mark.slow
def test_a_start_from_nothing(tmp_path: Path) -> None:
    """A copy of the project makes its environment, serves, ends quietly, and starts fast again."""
    copy = tmp_path / "a copy"
    unwanted = shutil.ignore_patterns(
        ".git", ".venv*", "node_modules", "data", "__pycache__", ".*_cache"
    )
    shutil.copytree(PROJECT, copy, ignore=unwanted)
    port = run._free_port(8100)
    command = [sys.executable, str(copy / "demo" / "run.py"), "--port", str(port), "--fresh"]
    for start in ("first", "second"):
        began = time.monotonic()
        with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as program:
            page = _wait_for(f"http://localhost:{port}/", program)
            took = time.monotonic() - began
            program.send_signal(signal.SIGINT)
            assert program.stderr
            told = program.stderr.read()
        print(f"{start} start: {took:.1f} s")
        assert b"<html" in page
        assert program.returncode == 0
        assert "Traceback" not in told
        assert ("Preparing" in told) == (start == "first")
    assert (copy / "demo" / "data").is_dir()
