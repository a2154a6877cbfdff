"""`quickcheck kiosk`: a browser beside the server, kept open and ended with it."""

import http.server
import json
import os
import stat
import sys
import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path, PurePosixPath

import pytest

from quickcheck.cli import keeping_open
from quickcheck.cli import kiosk as command
from quickcheck.cli.browsers import Browser, Kind, Machine
from quickcheck.cli.keeping_open import AGAIN, KeptOpen, answers, prepare
from quickcheck.errors import StoreError
from quickcheck.store import Role, open_store
from tests.cli.kit import run
from tests.cli.test_serving import NotingServer
from tests.kit import Server, free_port

BROWSER = """#!{python}
import os, sys, time
with open({log!r}, "a") as log:
    print(os.getpid(), *sys.argv[1:], file=log)
time.sleep(600)
"""


@pytest.fixture(name="log")
def _log(tmp_path: Path) -> Path:
    """Return the file in which a browser of the tests writes its id and its words."""
    return tmp_path / "starts"


@pytest.fixture(name="browser")
def _browser(tmp_path: Path, log: Path) -> Path:
    """Return a program that stands in for a browser: it notes that it was started, and stays."""
    path = tmp_path / "some-browser"
    path.write_text(BROWSER.format(python=sys.executable, log=str(log)), encoding="utf-8")
    path.chmod(0o755)
    return path


def until(is_so: Callable[[], object], patience: float = 30) -> None:
    """Wait for something."""
    ends = time.monotonic() + patience
    while not is_so():
        assert time.monotonic() < ends, "it never was so"
        time.sleep(0.02)


def starts(log: Path) -> list[list[str]]:
    """Return the words of each start, the process's id first."""
    return [line.split() for line in log.read_text().splitlines()] if log.exists() else []


def is_running(number: int) -> bool:
    """Whether there is such a process; one that ended and was not asked for yet is none."""
    try:
        state = (
            Path(f"/proc/{number}/stat").read_text(encoding="ascii").rpartition(")")[2].split()[0]
        )
    except OSError:
        return False
    return state != "Z"


def a_machine(**environment: str) -> Machine:
    """Return a Linux without browsers."""
    return Machine("linux", environment, lambda _: None, lambda _: False, PurePosixPath("/home/me"))


def test_none_found(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is no browser the server runs, and whole lines say what to start."""
    monkeypatch.setattr(command, "this_machine", lambda: a_machine(DISPLAY=":0"))
    result = run("kiosk", "--port", "8123", server=NotingServer())
    assert result.exit_code == 0
    assert result.stdout == "Open http://localhost:8123\n"
    assert "No browser was found. Start one by hand" in result.stderr
    assert f"--user-data-dir={data}/kiosk/chromium http://localhost:8123/\n" in result.stderr
    assert (
        f"firefox --kiosk --new-instance --no-remote --profile {data}/kiosk/firefox"
        in result.stderr
    )


def test_no_screen(browser: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a machine without a screen none is started, though one is there."""
    monkeypatch.setattr(command, "this_machine", a_machine)
    result = run("kiosk", "--browser", browser, server=NotingServer())
    assert "There is no screen here" in result.stderr


def test_edge_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the one browser whose kiosk mode forgets, it is told that this is no kiosk mode."""
    monkeypatch.setattr(command, "this_machine", lambda: a_machine(DISPLAY=":0"))
    monkeypatch.setattr(command, "answers", lambda _port: False)
    result = run("kiosk", "--browser", "/nowhere/msedge", server=NotingServer())
    assert "F11 leaves" in result.stderr


def test_profile_that_can_not_be_made(
    data: Path, browser: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder that can't be had for the profile is told, with what to do."""
    monkeypatch.setattr(command, "this_machine", lambda: a_machine(DISPLAY=":0"))
    (data / "kiosk").write_text("", encoding="utf-8")
    result = run("kiosk", "--browser", browser, server=NotingServer())
    assert result.exit_code == StoreError.exit_code
    assert "another --browser" in result.stderr


def test_kiosk_and_its_end(
    tmp_path: Path, browser: Path, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The browser opens the start page, is started again when it is killed, and ends with us."""
    monkeypatch.setenv("DISPLAY", ":77")
    with Server(tmp_path / "k", "kiosk", ("--browser", str(browser))) as server:
        until(lambda: len(starts(log)) == 1)
        first = starts(log)[0]
        assert first[-1] == f"{server.url}/"
        assert "--kiosk" in first
        os.kill(int(first[0]), 9)
        until(lambda: len(starts(log)) == 2)
        assert starts(log)[1][1:] == first[1:]
        assert "It is started again" in server.log.read_text(encoding="utf-8")
        assert is_running(int(starts(log)[1][0]))
    assert not is_running(int(starts(log)[1][0]))
    assert "Traceback" not in server.log.read_text(encoding="utf-8")


def test_paired_by_a_code(data: Path) -> None:
    """Once devices are paired, each start offers a fresh code for a kiosk, by this machine's name."""
    with open_store(data / "book.sqlite3") as store:
        assert command._start_path(store) == "/"
        now = datetime.now(UTC)
        store.access.set_up("horse copper lantern sleet", "480217", now)
        paths = {command._start_path(store) for _ in range(2)}
        assert len(paths) == 2
        for path in paths:
            _, device = store.access.pair(path.removeprefix("/pair/").removesuffix("?here"), now)
            assert (device.role, device.name) == (Role.KIOSK, command._name())


def test_old_names_are_revoked(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What this kiosk was more than twelve hours ago is revoked; today's and others' stay."""
    with open_store(data / "book.sqlite3") as store:
        now = datetime.now(UTC)
        book = store.access.books()[0].id
        for name, before in ((command._name(), 13), (command._name(), 1), ("Kiosk other", 13)):
            at = now - timedelta(hours=before)
            store.access.pair(store.access.offer(Role.KIOSK, book, name=name, now=at), at)
        command._revoke_old(store)
        kept = {(each.name, each.revoked is None) for each in store.access.devices()}
    ours = command._name()
    assert kept == {(ours, False), (ours, True), ("Kiosk other", True)}


@pytest.fixture(name="said")
def _said() -> list[str]:
    return []


def test_ends_again_and_again(said: list[str]) -> None:
    """A browser that ends at once is started a few times and no more."""
    asked: list[int] = []

    def words() -> list[str]:
        asked.append(1)
        return [sys.executable, "-S", "-c", "pass"]

    with KeptOpen(words, said.append, lambda: True):
        until(lambda: "not started again" in said[-1] if said else False)
    assert len(asked) == AGAIN + 1
    assert "Is another window of it open?" in said[-1]


def test_it_lasts_for_days(said: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Ends that are far apart are no reason to give up."""
    monkeypatch.setattr(keeping_open, "WITHIN", 0.0)
    asked: list[int] = []

    def words() -> list[str]:
        asked.append(1)
        return [sys.executable, "-S", "-c", "pass"]

    with KeptOpen(words, said.append, lambda: True):
        until(lambda: len(asked) > AGAIN + 3)
    assert not [text for text in said if "not started again" in text]


def test_can_not_be_started(said: list[str]) -> None:
    """A program that is none is told."""
    with KeptOpen(lambda: ["/nowhere/chromium"], said.append, lambda: True):
        until(lambda: said)
    assert said == ["/nowhere/chromium can't be started: No such file or directory."]


def test_no_server(said: list[str]) -> None:
    """Without a server nothing is started."""
    with KeptOpen(lambda: ["/nowhere"], said.append, lambda: False):
        until(lambda: said)
    assert said == ["The server does not answer, so no browser was started."]
    assert not answers(free_port(), patience=0.3)


def test_one_that_will_not_leave(said: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """A browser that hangs is ended all the same."""
    monkeypatch.setattr(keeping_open, "_LEAVE", 0.5)
    code = "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); print(1, flush=True); time.sleep(600)"
    kept = KeptOpen(lambda: [sys.executable, "-S", "-c", code], said.append, lambda: True)
    with kept:
        until(lambda: kept.process)
        time.sleep(0.3)
    assert kept.process
    assert kept.process.wait(20) < 0
    assert said == []


@pytest.fixture(name="late_server")
def _late_server() -> Iterator[int]:
    """Serve 503 twice, then 200; return the port."""
    left = [503, 503]

    class Late(http.server.BaseHTTPRequestHandler):
        """Says that it is well after a while."""

        def do_GET(self) -> None:
            """Answer."""
            self.send_response(left.pop() if left else 200)
            self.end_headers()

        def log_message(self, *_given: object) -> None:
            """Keep quiet."""

    server = http.server.HTTPServer(("127.0.0.1", 0), Late)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield server.server_address[1]
    server.shutdown()
    thread.join()
    server.server_close()


def test_answers(late_server: int) -> None:
    """A server counts as there when it says that it is well, and is asked until then."""
    assert answers(late_server)


def test_profile_of_chromium(tmp_path: Path) -> None:
    """Ours goes into what the browser noted; what it left broken is written anew."""
    profile = tmp_path / "chromium"
    browser = Browser(Kind.CHROMIUM, "chromium")
    file = profile / "Default" / "Preferences"
    prepare(browser, profile)
    noted = json.loads(file.read_text()) | {"browser": {"window": 1}}
    noted["credentials_enable_service"] = True
    file.write_text(json.dumps(noted))
    prepare(browser, profile)
    found = json.loads(file.read_text())
    assert found["browser"] == {"window": 1}
    assert found["credentials_enable_service"] is False
    assert found["autofill"] == {"profile_enabled": False, "credit_card_enabled": False}
    for broken in ("{", "[]"):
        file.write_text(broken)
        prepare(browser, profile)
        assert json.loads(file.read_text())["autofill"]["profile_enabled"] is False
    assert stat.S_IMODE(profile.stat().st_mode) == 0o700


def test_profile_of_firefox(tmp_path: Path) -> None:
    """Its user.js is written at each start."""
    for _ in range(2):
        prepare(Browser(Kind.FIREFOX, "firefox"), tmp_path / "firefox")
    assert "signon.rememberSignons" in (tmp_path / "firefox" / "user.js").read_text()


@pytest.mark.skipif(os.name != "posix", reason="no such lock there")
@pytest.mark.parametrize(
    ("number", "stays"),
    [
        pytest.param(os.getpid(), True, id="ours"),
        pytest.param(2**22 - 3, False, id="nobody's"),
        pytest.param("x", True, id="no number"),
    ],
)
def test_lock_of_another_name(tmp_path: Path, number: object, stays: bool) -> None:
    """A lock by a process that is gone is taken away, whatever the machine was called then."""
    profile = tmp_path / "chromium"
    profile.mkdir()
    lock = profile / "SingletonLock"
    lock.symlink_to(f"old-name-{number}")
    prepare(Browser(Kind.CHROMIUM, "chromium"), profile)
    assert lock.is_symlink() is stays
