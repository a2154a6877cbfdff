"""What the steps of `tests/run.py` share: what was asked for, how programs are started and fetched."""

import os
import subprocess
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TESTS = ROOT / "tests"


class StepFailedError(Exception):
    """A step that did not reach its end; says why and what to do, and has what was printed."""

    def __init__(self, why: str, printed: str = "") -> None:
        super().__init__(why)
        self.printed = printed


@dataclass
class Run:
    """What was asked for on the command line, and what came out of it."""

    full: bool = False
    expression: str = ""
    database: str = ""  # what the tests of the store run on, where it is no file
    closing: list[str] = field(default_factory=list)  # pytest's closing lines

    @property
    def environment(self) -> dict[str, str]:
        """The environment of everything that is started."""
        more = {"PYTHONUTF8": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
        more |= {"QUICKCHECK_FULL": "1"} if self.full else {}
        more |= {"QUICKCHECK_TEST_DATABASE": self.database} if self.database else {}
        return os.environ | more


def program(environment: Path, name: str) -> str:
    """Return the path of a program in a virtual environment."""
    return str(environment / ("Scripts" if os.name == "nt" else "bin") / name)


def command(run: Run, *words: str | Path, cwd: Path = ROOT) -> str:
    """Run a program, show what it prints while it prints it, and return that.

    Raises StepFailedError when it ends with anything but 0.
    """
    printed: list[str] = []
    with subprocess.Popen(
        [str(word) for word in words],
        cwd=cwd,
        env=run.environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        errors="replace",
    ) as process:
        for line in process.stdout or ():
            print(line, end="", flush=True)
            printed.append(line)
    text = "".join(printed)
    if process.returncode:
        raise StepFailedError(f"{Path(words[0]).name} ended with {process.returncode}", text)
    return text


def on_debian_as_root() -> bool:
    """Tell whether apt-get may be used without asking anybody."""
    return Path("/etc/debian_version").exists() and hasattr(os, "geteuid") and os.geteuid() == 0


def apt_install(run: Run, package: str) -> None:
    """Install a Debian package."""
    command(run, "apt-get", "update", "-qq")
    # env, because apt must not stop to ask: nobody would answer
    apt = ("env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "install", "-y", "-qq")
    command(run, *apt, "--no-install-recommends", package)


def fetch(run: Run, *packages: str) -> None:
    """Install packages of Debian's that are missing; elsewhere say which they are."""
    if packages and not on_debian_as_root():
        raise StepFailedError(f"this needs Debian and its packages {', '.join(packages)}")
    for package in packages:
        apt_install(run, package)
