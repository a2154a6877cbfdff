"""Install what the tests need and run all of them: ``python3 tests/run.py``.

Needs Python 3.11 or newer and Node 20 or newer, nothing else; on Debian, as root, it also fetches
the packages that are missing there. Everything lands in folders of the project that git ignores
(``.venv-test``, ``.venv-wheel``, ``tests/node/node_modules``), and a second run finds them ready.

Every step runs even when an earlier one failed; the exit code is 1 if any did.
"""

import argparse
import hashlib
import json
import re
import shutil
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Any

if (root := str(Path(__file__).resolve().parent.parent)) not in sys.path:
    sys.path.insert(0, root)

from tests.steps import (
    ROOT,
    TESTS,
    Run,
    StepFailedError,
    apt_install,
    command,
    fetch,
    on_debian_as_root,
    program,
)

NODE = TESTS / "node"
MAIN = ROOT / ".venv-test"
WHEEL = ROOT / ".venv-wheel"
ENGINES = ROOT / ".venv-engines"
FUZZ = ROOT / ".venv-fuzz"
DEBIAN_CHROMIUM = Path("/usr/bin/chromium")
ENGINE_PACKAGES = {  # of Debian, each with something that it brings
    "firefox-esr": "/usr/bin/firefox-esr",
    "webkit2gtk-driver": "/usr/bin/WebKitWebDriver",
    "gir1.2-webkit2-4.1": "/usr/share/doc/gir1.2-webkit2-4.1",
    "python3-gi": "/usr/lib/python3/dist-packages/gi",
    "xvfb": "/usr/bin/Xvfb",
}
OLDEST_PYTHON = (3, 11)
OLDEST_NODE = 20
COVERAGE = 95  # per cent of the package, branches included: a little under what is reached
ON_THE_STORE = ("api", "book", "undo", "versions")
ON_THE_STORE_TOO = ("answer", "devices", "photos", "recalling", "sealing")  # in a full run
WORKERS, SEED = 2, 2026
PAGES = (
    *("book", "bundles", "card_paper", "card_picture", "claim", "handover", "health", "learning"),
    *("lifelines", "pairing", "reading", "references", "scan", "start", "stations", "versions"),
)  # in a full run; what each stands on is in any wheel that holds every file
IN_A_WHEEL = ("demo", "test_project.py", "cli/test_serving.py", "cli/test_help.py")
PAGES_ALWAYS = ("assets", "card", "inspection", "offline_routes", "verdict", "writing")
"""What a wheel runs: commands, pages, scripts, the demo, and migrations, by every open book."""
PACKED = {"quickcheck": "", "templates": "templates", "static": "static", "demo": "demo"}
"""The folders whose files a wheel holds, each with where it has them."""
CLOSING = re.compile(
    r"^=+ .*\b(?:passed|failed|errors?|no tests ran|deselected)\b.* in [\d.]+s.*=+$"
)


def declared() -> dict[str, Any]:
    """Return what the project says that it needs."""
    import tomllib  # noqa: PLC0415  # a Python that is too old must live to say so

    tables = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    return {name: tables[name] for name in ("build-system", "project", "dependency-groups")}


def fingerprint(*parts: bytes | str) -> str:
    """Return a hash over these and this Python: while it is the same, so is what they install."""
    digest = hashlib.sha256(sys.version.encode())
    for part in parts:
        digest.update(part if isinstance(part, bytes) else part.encode())
    return digest.hexdigest()


def is_ready(folder: Path, wanted: str) -> bool:
    """Tell whether a folder was filled to the end, from the same files."""
    stamp = folder / "stamp.txt"
    return stamp.exists() and stamp.read_text() == wanted


def make_environment(run: Run, folder: Path, *install: str) -> None:
    """Make a virtual environment with these installed, unless it is there already."""
    wanted = fingerprint(json.dumps(declared()), *install)
    if is_ready(folder, wanted):
        print(f"{folder.name} is ready")
        return
    shutil.rmtree(folder, ignore_errors=True)
    try:
        command(run, sys.executable, "-m", "venv", folder)
    except StepFailedError:
        if not on_debian_as_root():
            raise StepFailedError("Python can't make a virtual environment; install venv") from None
        apt_install(run, "python3-venv")
        shutil.rmtree(folder, ignore_errors=True)  # the half-made one would be taken for whole
        command(run, sys.executable, "-m", "venv", folder)
    python = program(folder, "python")
    command(run, python, "-m", "pip", "install", "-qq", "pip>=25.1")  # the first with --group
    # what is never imported need not be compiled: that halves the time
    command(run, python, "-m", "pip", "install", "-qq", "--no-compile", *install)
    (folder / "stamp.txt").write_text(wanted)


def python_tools(run: Run) -> None:
    """Install the package, editable, and every Python tool."""
    make_environment(run, MAIN, "-e", ".", "--group", "dev")


def node_tools(run: Run) -> None:
    """Install the tools from npm exactly as the lock file has them."""
    npm = shutil.which("npm")
    found = shutil.which("node")
    if not (found and npm):
        raise StepFailedError(f"Node is missing: install Node {OLDEST_NODE} or newer, with npm")
    version = subprocess.run(
        [found, "--version"], capture_output=True, text=True, check=True
    ).stdout
    if int(version.strip().lstrip("v").split(".")[0]) < OLDEST_NODE:
        raise StepFailedError(f"Node {version.strip()} is too old: install {OLDEST_NODE} or newer")
    names = ("package.json", "package-lock.json")
    wanted = fingerprint(version, *((NODE / name).read_bytes() for name in names))
    if is_ready(NODE / "node_modules", wanted):
        print("node_modules is ready")
        return
    command(run, npm, "ci", "--ignore-scripts", cwd=NODE)
    (NODE / "node_modules" / "stamp.txt").write_text(wanted)


def browser(run: Run) -> None:
    """See to a Chromium: Debian's own, or the one that Playwright brings."""
    if not DEBIAN_CHROMIUM.exists() and on_debian_as_root():
        apt_install(run, "chromium")
    if DEBIAN_CHROMIUM.exists():
        command(run, DEBIAN_CHROMIUM, "--version")
        return
    command(run, program(MAIN, "playwright"), "install", "chromium")


def postgresql_server(run: Run) -> None:
    """See to the programs of a PostgreSQL; the tests start one of their own (`tests/postgres.py`)."""
    here = shutil.which("initdb") or any(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    fetch(run, *([] if here else ["postgresql"]))
    print("PostgreSQL is here")


def tool(name: str, *arguments: str | Path) -> Callable[[Run], None]:
    """Return a step that runs a program of the main environment."""

    def step(run: Run) -> None:
        command(run, program(MAIN, name), *arguments)

    return step


def scripts(run: Run) -> None:
    """Check the types of the page's scripts."""
    command(run, "node", NODE / "node_modules/typescript/bin/tsc", "-p", NODE / "tsconfig.json")


def node_tests(run: Run) -> None:
    """Run the tests of the pure modules among the scripts."""
    found = sorted(NODE.glob("*.test.mjs"))
    if not found:
        print("there are none")
        return
    command(run, "node", "--test", *found)


def pytest(run: Run, environment: Path, *arguments: str | Path, cwd: Path = ROOT) -> None:
    """Run pytest and keep its closing line."""
    chosen = ["-k", run.expression] if run.expression else []
    # Another order in every full run; the same in the others, where red is to mean the change.
    order = [] if run.full else [f"--randomly-seed={SEED}"]
    words = ("-m", "pytest", "-n", str(WORKERS), "--dist", "worksteal", *order, *arguments, *chosen)
    printed = ""
    try:
        printed = command(run, program(environment, "python"), *words, cwd=cwd)
    except StepFailedError as error:
        printed = error.printed
        raise
    finally:
        run.closing += [line for line in printed.splitlines() if CLOSING.match(line)][-1:]


def code_tests(run: Run) -> None:
    """Run every test that needs no browser; a full run counts the branches they take."""
    # a part of the tests can't cover the whole
    counted = ["--cov", f"--cov-fail-under={COVERAGE}"] if run.full and not run.expression else []
    # those of PostgreSQL have a step of their own
    marks = "not browser" if run.full else "not browser and not postgresql"
    pytest(run, MAIN, "-m", marks, *counted)


def postgresql_tests(run: Run) -> None:
    """Run the tests of the store, and those of the web that stand on it, against PostgreSQL."""
    stores = (TESTS / "store", TESTS / "transfer/test_merging.py")
    names = ON_THE_STORE + (ON_THE_STORE_TOO if run.full else ())
    chosen = [*stores, *(TESTS / "web" / f"test_{name}.py" for name in names)]
    pytest(replace(run, database="postgresql"), MAIN, "-m", "not browser", *chosen)


def browser_tests(run: Run) -> None:
    """Run the others, never counted: each starts servers of its own, which that would slow down."""
    marked = [
        path for path in TESTS.rglob("test_*.py") if "mark.browser" in path.read_text("utf-8")
    ]
    pytest(run, MAIN, "-m", "browser", *sorted(marked))


EVERY_MODULE = """
import importlib, pkgutil, quickcheck
for found in pkgutil.walk_packages(quickcheck.__path__, "quickcheck."):
    # these two run something as they load: the command line, and a migration under way
    if not found.name.endswith("__main__") and ".migrations." not in found.name:
        importlib.import_module(found.name)
print("every module of", quickcheck.__path__[0])
"""


def holds_every_file(wheel: Path) -> None:
    """See to it that a wheel has each file of the app as it is here, byte for byte."""
    listed = ("git", "ls-files", "-z", "--", *PACKED)
    kept = subprocess.run(listed, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    with zipfile.ZipFile(wheel) as opened:
        held = {name: opened.read(name) for name in opened.namelist()}
    for name in kept.rstrip("\0").split("\0"):
        room, _, rest = name.partition("/")
        there = str(PurePosixPath("quickcheck", PACKED[room], rest))
        if held.get(there) != (ROOT / name).read_bytes():
            raise StepFailedError(f"{wheel.name} has no {there}, or another one than {name}")
    print(f"{wheel.name} has all that is in {', '.join(PACKED)}")


def installed_tests(run: Run) -> None:
    """Test the built wheel, far from the checkout: everything is in it, and works from there.

    Its environment has what the package declares and no more, and every module must load there;
    for the suite it borrows the test tools, which come after its own in the search.
    """
    python = program(WHEEL, "python")
    make_environment(run, WHEEL, *declared()["project"]["dependencies"])
    borrowed = site_packages(run, WHEEL) / "borrowed.pth"
    borrowed.unlink(missing_ok=True)
    with tempfile.TemporaryDirectory(prefix="quickcheck-wheel-") as name:
        there = Path(name)
        offline = ("--no-build-isolation", "--no-deps")  # its builder is in the environment
        pip = (program(MAIN, "python"), "-m", "pip")
        command(run, *pip, "wheel", "-qq", *offline, "-w", there, ROOT)
        (wheel,) = there.glob("*.whl")
        holds_every_file(wheel)
        install = ("-m", "pip", "install", "-qq", "--no-deps", "--force-reinstall", wheel)
        command(run, python, *install)
        command(run, python, "-c", EVERY_MODULE, cwd=there)
        shutil.copytree(TESTS, there / "tests", ignore=shutil.ignore_patterns("node_modules"))
        shutil.copy(ROOT / "pyproject.toml", there)
        borrowed.write_text(f"{site_packages(run, MAIN)}\n")
        pytest(
            run,
            WHEEL,
            "-m",
            "not browser and not checkout and not postgresql",
            *(f"tests/{path}" for path in IN_A_WHEEL),
            *(f"tests/web/test_{name}.py" for name in PAGES_ALWAYS + (PAGES if run.full else ())),
            cwd=there,
        )


def site_packages(run: Run, environment: Path) -> Path:
    """Return the folder where an environment keeps what is installed."""
    ask = ("-c", "import sysconfig; print(sysconfig.get_path('purelib'))")
    return Path(command(run, program(environment, "python"), *ask).strip())


def benchmarks(run: Run) -> None:
    """Run every benchmark."""
    for path in sorted((TESTS / "bench").glob("*_bench.py")):
        call = f"from tests.bench.{path.stem} import main; main()"
        command(run, program(MAIN, "python"), "-c", call)


def engines(run: Run) -> None:
    """Walk through the app in engines other than Chromium's (see ``tests/engines``)."""
    fetch(run, *(name for name, brought in ENGINE_PACKAGES.items() if not Path(brought).exists()))
    make_environment(run, ENGINES, "-e", ".", "--group", "engines")
    command(run, program(ENGINES, "python"), "-m", "tests.engines")


def fuzz(run: Run) -> None:
    """Put bytes in the place of cards for ten minutes (see ``tests/fuzz``)."""
    make_environment(run, FUZZ, "-e", ".", "--group", "fuzz")
    command(run, program(FUZZ, "python"), "-m", "tests.fuzz")


@dataclass(frozen=True)
class Step:
    """One thing to do, and in which kinds of run."""

    name: str
    do: Callable[[Run], None]
    kinds: frozenset[str]


EVERY = frozenset({"quick", "default", "bench"})
CODE = frozenset({"quick", "default"})
DEFAULT = frozenset({"default"})
STEPS = (
    Step("python-tools", python_tools, EVERY),
    Step("node-tools", node_tools, CODE),
    Step("browser", browser, DEFAULT),
    Step("postgresql", postgresql_server, DEFAULT),
    Step("ruff", tool("ruff", "check", "."), CODE),
    Step("format", tool("ruff", "format", "--check", "."), CODE),
    Step("mypy", tool("mypy"), CODE),
    Step("imports", tool("lint-imports"), CODE),
    Step("budgets", tool("python", TESTS / "budgets.py"), CODE),
    Step("scripts", scripts, CODE),
    Step("node-tests", node_tests, CODE),
    Step("tests", code_tests, CODE),
    Step("on-postgresql", postgresql_tests, DEFAULT),
    Step("browser-tests", browser_tests, DEFAULT),
    Step("wheel", installed_tests, DEFAULT),
    Step("bench", benchmarks, frozenset({"bench"})),
    Step("engines", engines, frozenset({"engines"})),
    Step("fuzz", fuzz, frozenset({"fuzz"})),
)


def chosen_steps(asked: argparse.Namespace) -> list[Step]:
    """Return the steps of a run, in order."""
    if asked.step:
        return [step for step in STEPS if step.name in asked.step]
    kind = next((k for k in ("quick", "bench", "engines", "fuzz") if getattr(asked, k)), "default")
    return [step for step in STEPS if kind in step.kinds]


def attempt(step: Step, run: Run) -> tuple[str, bool]:
    """Do one step; return its line in the summary and whether it passed."""
    print(f"\n── {step.name}", flush=True)
    began = time.monotonic()
    why = ""
    try:
        step.do(run)
    except StepFailedError as error:
        why = str(error)
    except Exception as error:  # noqa: BLE001  # the other steps still have their say
        why = f"{type(error).__name__}: {error}"
    line = f"{'FAIL' if why else 'PASS'}  {step.name:<13}{time.monotonic() - began:7.1f} s  {why}"
    print(line.rstrip(), flush=True)
    return line.rstrip(), not why


def parse(arguments: list[str]) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", maxsplit=1)[0])
    kind = parser.add_mutually_exclusive_group()
    kind.add_argument("--quick", action="store_true", help="linters, and tests without a browser")
    kind.add_argument("--bench", action="store_true", help="measure instead of test")
    kind.add_argument("--engines", action="store_true", help="one walk in Firefox and in WebKitGTK")
    kind.add_argument("--fuzz", action="store_true", help="ten minutes of bytes in place of cards")
    full = "the slow tests too, many more examples; with --bench, the long settings"
    parser.add_argument("--full", action="store_true", help=full)
    parser.add_argument("-k", dest="expression", default="", help="only these tests (see pytest)")
    names = [step.name for step in STEPS]
    parser.add_argument("--step", action="append", choices=names, help="only this; may be repeated")
    return parser.parse_args(arguments)


def main(arguments: list[str]) -> int:
    """Run the steps and say how each went."""
    if sys.version_info < OLDEST_PYTHON:
        print(f"Python {'.'.join(map(str, OLDEST_PYTHON))} or newer is needed.")
        return 1
    asked = parse(arguments)
    run = Run(full=asked.full, expression=asked.expression)
    results = [attempt(step, run) for step in chosen_steps(asked)]
    print("\n── all steps\n" + "\n".join(line for line, _ in results))
    passed = all(went_well for _, went_well in results)
    print("\n".join(["PASS" if passed else "FAIL", *run.closing]))
    return 0 if passed else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
