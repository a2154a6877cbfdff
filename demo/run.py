"""Start the demo on a machine that has Python 3.11 or newer and nothing else.

Linux and macOS: ``python3 demo/run.py``; Windows: ``py demo/run.py``.

The first start makes an environment of its own in the project (.venv-demo) and installs the project
into it, editable, so that a change to the code is seen at the next start. A stamp in the environment
says for which project file that was done; as long as it is right, a start goes straight on to the
program. Only the standard library is used, and no shell.
"""

from __future__ import annotations  # so that an old Python gets as far as being told so

import argparse
import hashlib
import importlib.util
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
OLDEST = (3, 11)
STAMP = "quickcheck-stamp"
_WAIT_FOR_END = 10  # seconds that the program has to end after Ctrl-C
_NO_NETWORK = re.compile(
    r"(Temporary failure in name resolution|Name or service not known|getaddrinfo failed"
    r"|nodename nor servname|Network is unreachable|Connection refused|timed out|ProxyError|SSLError"
    r"|Failed to resolve|No route to host)[^'\")]*"
)


class TroubleError(Exception):
    """What keeps the demo from starting, and what to do, in words for a person."""


def python_command() -> str:
    """Return what starts Python here."""
    return "py" if os.name == "nt" else "python3"


def check_python(version: tuple[int, int]) -> None:
    """Refuse a Python that the project can't run on."""
    if version < OLDEST:
        raise TroubleError(
            "This needs Python {}.{} or newer; this is {}.{}.\n"
            "Install a newer one beside it and start the demo with that, "
            "for instance: {} demo/run.py".format(
                *OLDEST, *version, "py -3.13" if os.name == "nt" else "python3.13"
            )
        )


def check_venv() -> None:
    """Refuse a Python whose packager left out what environments are made of."""
    missing = [name for name in ("venv", "ensurepip") if importlib.util.find_spec(name) is None]
    if missing:
        raise TroubleError(
            f"This Python comes without {' and '.join(missing)}, so no environment can be made.\n"
            "On Debian and Ubuntu: apt-get install python3-venv"
        )


def check_port(port: int) -> None:
    """Refuse a port that something else listens on, before the person waits for anything."""
    try:
        _bind(port)
    except OSError as error:
        why = (
            "may not be opened by this user" if error.errno == 13 else "is taken by another program"
        )
        raise TroubleError(
            f"Port {port} {why}.\n"
            f"Choose another: {python_command()} demo/run.py --port {_free_port(port)}"
        ) from error


def _bind(port: int) -> int:
    with socket.socket() as probe:
        if os.name == "posix":  # elsewhere this would share a port that is taken
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind(("127.0.0.1", port))
        return int(probe.getsockname()[1])


def _free_port(taken: int) -> int:
    for port in range(max(taken, 8000) + 1, max(taken, 8000) + 20):
        try:
            return _bind(port)
        except (OSError, OverflowError):
            continue
    return _bind(0)


def environment_python(environment: Path) -> Path:
    """Return the Python of an environment."""
    inside = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
    return environment.joinpath(*inside)


def stamp_of(project: Path) -> str:
    """Return what an environment must have been made for: this project file, at this place."""
    content = (project / "pyproject.toml").read_bytes()
    return hashlib.sha256(str(project).encode() + b"\0" + content).hexdigest()


def is_ready(environment: Path, stamp: str) -> bool:
    """Whether an environment was made to the end, for that stamp, and its Python is still there."""
    try:
        made_for = (environment / STAMP).read_text(encoding="ascii")
    except OSError:
        return False
    return made_for == stamp and environment_python(environment).exists()


def prepare(project: Path, environment: Path) -> None:
    """Make the environment and install the project, unless that was done before."""
    stamp = stamp_of(project)
    if is_ready(environment, stamp):
        return
    check_venv()
    say(f"Preparing {environment.name} (once, about a minute) …")
    _make(environment)
    _install(project, environment)
    # Last of all: a start that was broken off is begun anew.
    (environment / STAMP).write_text(stamp, encoding="ascii")


def _make(environment: Path) -> None:
    import venv  # noqa: PLC0415 – slow to import, and missing on a bare Debian

    try:
        venv.EnvBuilder(clear=True, with_pip=True, symlinks=os.name != "nt").create(environment)
    except (OSError, subprocess.CalledProcessError) as error:
        raise TroubleError(f"The environment {environment} could not be made: {error}") from error


def _install(project: Path, environment: Path) -> None:
    log = environment / "pip.log"
    command = [
        *(str(environment_python(environment)), "-m", "pip", "install"),
        *("--disable-pip-version-check", "--no-input", "--retries", "1", "--timeout", "20"),
        *("--editable", str(project)),
    ]
    with log.open("w", encoding="utf-8") as output:
        done = subprocess.run(
            command, env=clean(os.environ), stdout=output, stderr=subprocess.STDOUT, check=False
        )
    if done.returncode:
        said = in_one_line(log.read_text(encoding="utf-8", errors="replace"))
        raise TroubleError(
            f"The project could not be installed. pip said: {said}\n"
            f"All of it: {log}\nThe first start needs a network; start again when there is one."
        )


def in_one_line(output: str) -> str:
    """Return the one line of pip's output that says why it failed."""
    network = _NO_NETWORK.search(output)
    if network:
        return "no network: " + network[0].strip()
    lines = [line.strip() for line in output.splitlines() if line.strip()]
    raised = [line for line in lines if re.match(r"\w+(Error|Exception): ", line)]
    errors = [line for line in lines if line.lower().startswith("error")]
    return (raised or errors or lines or ["nothing"])[-1]


def clean(environment: os._Environ[str] | dict[str, str]) -> dict[str, str]:
    """Return the variables without those that lead Python out of its environment."""
    return {key: value for key, value in environment.items() if key not in _LEADING_OUT}


_LEADING_OUT = ("PYTHONHOME", "PYTHONPATH", "__PYVENV_LAUNCHER__")


def throw_away(data: Path) -> None:
    """Throw the demo's own data away."""
    try:
        if data.exists():
            shutil.rmtree(data)
    except OSError as error:
        raise TroubleError(f"{data} could not be thrown away: {error}") from error


def serve(python: Path, *, project: Path, port: int) -> int:
    """Run the program until it ends or Ctrl-C is pressed; return its exit code."""
    command = [
        *(str(python), "-m", "quickcheck", "demo"),
        *("--port", str(port), "--data", str(project / "demo" / "data")),
    ]
    program = subprocess.Popen(command, cwd=project, env=clean(os.environ))
    signal.signal(signal.SIGTERM, lambda *_: program.terminate())
    try:
        return program.wait()
    except KeyboardInterrupt:
        # The terminal told the program, too; it is given the time to close its book.
        return _ended(program)


def _ended(program: subprocess.Popen[bytes]) -> int:
    try:
        program.wait(_WAIT_FOR_END)
    except (subprocess.TimeoutExpired, KeyboardInterrupt):
        program.kill()
        program.wait()
    return 0


def say(text: str) -> None:
    """Tell the person, at once, also where the terminal can't show every character."""
    encoding = sys.stderr.encoding or "ascii"
    shown = text.encode(encoding, errors="replace").decode(encoding)
    print(shown, file=sys.stderr, flush=True)


def arguments(words: list[str] | None = None) -> argparse.Namespace:
    """Return the options."""
    parser = argparse.ArgumentParser(
        prog=f"{python_command()} demo/run.py",
        description="Start the demo: an invented maker, three references and the book of one show.",
    )
    parser.add_argument("--port", type=_port, default=8000, help="default: %(default)s")
    parser.add_argument(
        "--fresh", action="store_true", help="throw the demo's data away and start new"
    )
    return parser.parse_args(words)


def _port(text: str) -> int:
    number = int(text) if text.isascii() and text.isdigit() else 0
    if not 1 <= number <= 65535:
        raise argparse.ArgumentTypeError("a number from 1 to 65535")
    return number


def main(words: list[str] | None = None) -> int:
    """Start the demo; return the exit code."""
    chosen = arguments(words)
    environment = PROJECT / ".venv-demo"
    try:
        check_python(sys.version_info[:2])
        check_port(chosen.port)
        prepare(PROJECT, environment)
        if chosen.fresh:
            throw_away(PROJECT / "demo" / "data")
        return serve(environment_python(environment), project=PROJECT, port=chosen.port)
    except TroubleError as trouble:
        say(str(trouble))
        return 1
    except KeyboardInterrupt:
        return 0


if __name__ == "__main__":
    sys.exit(main())
