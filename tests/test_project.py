"""The project as a whole: it stands by itself, its rooms hold, and what it tells is true."""

import ast
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

import quickcheck
from quickcheck import paths
from quickcheck.cli import main
from quickcheck.desk import Shelf
from quickcheck.reference import read_reference
from quickcheck.store import open_store
from quickcheck.web import Settings, create_app
from quickcheck.web.assets import HEADS, build_hash

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = Path(quickcheck.__file__).resolve().parent
checkout = pytest.mark.checkout

_FOREIGN = {
    "a folder outside the project": r"\.\./shared\b|\bshared/(?:facts|trade|research)",
    "a document outside the project": r"\b(?:design|engine|offline|reference-format)\.md\b",
    "a path of one machine": r"(?<![\w.])/(?:work/|root/|home/(?!me\b))\w",
    "a host of a package registry": r"npmjs\.org|pypi\.org|pythonhosted|deb\.debian\.org",
}
_BINARY = {".ttf", ".woff2", ".png", ".webp", ".ico"}

# The order of the rooms, lowest first; those of one row don't know each other.
_ROOMS = (
    ("errors",),
    ("paths",),
    ("readings",),
    ("reference",),
    ("engine",),
    ("learn",),
    ("card",),
    ("store",),
    ("transfer",),
    ("desk",),
    ("web", "cli"),
)
_LEVEL = {room: level for level, row in enumerate(_ROOMS) for room in row}
_STARTS_THE_APP = ("cli/serving.py", "web")


def tracked() -> list[Path]:
    """Return the files that git keeps or would keep."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        check=True,
    )
    names = listed.stdout.decode().split("\0")
    return [ROOT / name for name in names if name and (ROOT / name).is_file()]


def imports(path: Path) -> Iterator[str]:
    """Yield the rooms that a module of the package imports."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module == "quickcheck":
            names = [f"quickcheck.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [node.module or ""]
        else:
            continue
        for name in names:
            package, _, rest = name.partition(".")
            if package == "quickcheck" and rest:
                yield rest.split(".")[0]


def commands(group: click.Group, before: str = "") -> Iterator[tuple[str, click.Command]]:
    """Yield every command that does something, with the words that call it."""
    for name, command in group.commands.items():
        words = f"{before}{name}"
        if isinstance(command, click.Group):
            yield from commands(command, f"{words} ")
        else:
            yield words, command


COMMANDS = dict(commands(main))


def readme_calls() -> list[str]:
    """Return what the README writes as code and begins with the program's name."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    spans = re.findall(r"`([^`]+)`", text) + re.findall(r"^ {4}(.+)$", text, re.MULTILINE)
    return [span for span in spans if re.match(r"quickcheck\b", span)]


@checkout
@pytest.mark.parametrize("what", _FOREIGN)
def test_the_project_stands_by_itself(what: str) -> None:
    """No file leads to something that only the people who wrote it have."""
    searched = [path for path in tracked() if path != Path(__file__).resolve()]  # it has the list
    found = [
        f"{path.relative_to(ROOT)}: {hit[0]}"
        for path in searched
        if path.suffix not in _BINARY and "vendor" not in path.parts
        for hit in re.finditer(_FOREIGN[what], path.read_text(encoding="utf-8", errors="replace"))
    ]
    assert not found, "\n".join(found)


def test_imports_only_go_up_the_list_of_rooms() -> None:
    """A room imports those below it, never one above it or beside it."""
    wrong = []
    for path in PACKAGE.rglob("*.py"):
        inside = path.relative_to(PACKAGE)
        room = inside.parts[0].removesuffix(".py")
        if room not in _LEVEL:
            assert room in {"__init__", "__main__", "demo"}, f"{room} has no place in the list"
            continue
        for other in imports(path):
            allowed = other == room or (inside.as_posix(), other) == _STARTS_THE_APP
            if other in _LEVEL and not allowed and _LEVEL[other] >= _LEVEL[room]:
                wrong.append(f"{inside.as_posix()} imports {other}")
    assert not wrong, "\n".join(wrong)


@checkout
def test_the_readme_calls_only_what_exists() -> None:
    """Every call in the README names a command and options that the program has."""
    calls = readme_calls()
    assert calls, "the README shows no command"
    for call in calls:
        words = call.split()[1:]
        name = next((n for n in (" ".join(words[:2]), words[0]) if n in COMMANDS), None)
        assert name, f"no such command: {call}"
        known = {opt for param in COMMANDS[name].params for opt in param.opts} | {"--help"}
        asked = set(re.findall(r"--[a-z][a-z-]*", call))
        assert asked <= known, f"no such option: {call}: {sorted(asked - known)}"


@checkout
def test_every_link_in_the_documents_leads_somewhere() -> None:
    """Pictures and files that a document points to are there, and so are the scripts it starts."""
    missing = []
    for path in tracked():
        if path.suffix == ".md":
            text = path.read_text(encoding="utf-8")
            links = re.findall(r"\]\(([^)#:\s]+)(?:#[^)]*)?\)", text)
            links = [str(path.parent / link) for link in links]
            links += [str(ROOT / script) for script in re.findall(r"\bpython3 (\S+\.py)\b", text)]
            missing += [f"{path.relative_to(ROOT)}: {to}" for to in links if not Path(to).exists()]
    assert not missing, "\n".join(missing)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_and_option_is_told_by_help(name: str) -> None:
    """`--help` says what a command does and what each of its options is for."""
    command = COMMANDS[name]
    assert command.help, f"{name} has no help"
    silent = [
        param.opts[0]
        for param in command.params
        if isinstance(param, click.Option) and not param.help
    ]
    assert not silent, f"{name}: no help for {silent}"


@checkout
def test_the_readme_names_every_command() -> None:
    """Whoever reads the README learns of every command."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    missing = [name for name in COMMANDS if f"quickcheck {name}" not in text]
    assert not missing


def test_every_static_file_is_served(tmp_path: Path) -> None:
    """What pages load has an address under the build's hash; a file that is not ours, as it is."""
    with open_store(f"sqlite:///{tmp_path / 'book.sqlite3'}") as store:
        client = create_app(Settings(store, Shelf({}, {}))).test_client()
        files = [path for path in paths.STATIC.rglob("*") if path.is_file()]
        as_they_are = {path.relative_to(paths.STATIC).as_posix(): path for path in files}
        ours = [name for name in as_they_are if name.startswith(("js/", "css/"))]
        for name in ours:
            del as_they_are[name]
        assert ours
        assert as_they_are
        for name in (*as_they_are, *HEADS, "css/app.css"):
            reply = client.get(f"/s/{build_hash()}/{name}")
            assert (reply.status_code, name) == (200, name)
            assert name not in as_they_are or reply.data == as_they_are[name].read_bytes()
            assert "immutable" in reply.headers["Cache-Control"]
        assert client.get(f"/s/{'0' * 12}/css/app.css").status_code == 404


def test_the_package_carries_what_it_shows() -> None:
    """Templates, scripts, demo and general reference are found, in a checkout as in a wheel."""
    assert (paths.TEMPLATES / "layout.html").is_file()
    assert list(paths.STATIC.glob("css/*.css"))
    assert list(paths.DEMO.glob("references/*/*.toml"))
    (general,) = paths.GENERAL.glob("*/*.toml")
    assert read_reference(general).pictures
