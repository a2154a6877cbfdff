"""How every command speaks: words or JSON, and an exit code that says what was wrong."""

import functools
import json
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

import click
import platformdirs

from quickcheck import paths
from quickcheck.desk import Folders, Shelf, reference_paths, shelf_from
from quickcheck.errors import AnswerError, NotFoundError, QuickcheckError, shown
from quickcheck.reference import Reference, read_reference

Command = TypeVar("Command", bound=Callable[..., None])


def json_option(command: Command) -> Command:
    """Give a command ``--json``."""
    return click.option("as_json", "--json", is_flag=True, help="Print JSON.")(command)


def data_option(command: Command) -> Command:
    """Give a command ``--data``: the folder with the book and the references."""
    return click.option(
        "--data",
        envvar="QUICKCHECK_DATA",
        type=click.Path(file_okay=False, path_type=Path),
        default=lambda: Path(platformdirs.user_data_dir("quickcheck", appauthor=False)),
        show_default="the user's data folder",
        help="Folder with the book and its references/.",
    )(command)


def speaking(command: Command) -> Command:
    """Turn every error of the tree into words (or JSON) and its exit code."""

    @functools.wraps(command)
    def run(*args: Any, **kwargs: Any) -> None:
        try:
            command(*args, **kwargs)
        except QuickcheckError as error:
            if kwargs.get("as_json"):
                print_json({"error": type(error).__name__, "faults": faults_json(error)})
            else:
                click.echo(str(error), err=True)
            sys.exit(error.exit_code)

    return run  # type: ignore[return-value]  # wraps keeps the signature


def faults_json(error: QuickcheckError) -> list[dict[str, str]]:
    """Return the faults of an error as plain data."""
    return [
        {
            "where": fault.where,
            "expected": fault.expected,
            "came": fault.came,
            "remedy": fault.remedy,
        }
        for fault in error.faults
    ]


def print_json(found: object) -> None:
    """Print plain data."""
    click.echo(json.dumps(found, ensure_ascii=False, indent=1))


def general_paths() -> tuple[Path, ...]:
    """Return the program's own references, for what no other reference fits."""
    return reference_paths(paths.GENERAL)


def shelf_of(data: Path) -> Shelf:
    """Return the references of a data folder, and beside them the demo's and the general ones."""
    demo = reference_paths(paths.DEMO / "references")
    return shelf_from(Folders(data / "references", beside=demo, general=general_paths()))


def find_reference(name: str, data: Path) -> Reference:
    """Return the reference that a file, a folder or an id names."""
    path = Path(name)
    return read_reference(path) if path.exists() else shelf_of(data).get(name)


def read_document(path: str) -> Mapping[str, Any]:
    """Return the answers document in a file, or on standard input for ``-``."""
    try:
        text = sys.stdin.read() if path == "-" else Path(path).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise NotFoundError.of(
            path,
            expected="a JSON file with answers",
            came=shown(str(error)),
            remedy="Name an existing file, or - to read standard input.",
        ) from None
    return parse_document(text, path)


def parse_document(text: str, where: str) -> Mapping[str, Any]:
    """Return the JSON object in a text."""
    try:
        found = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise AnswerError.of(
            where, expected="JSON", came=shown(str(error)), remedy="Mend the file there."
        ) from None
    if not isinstance(found, dict):
        raise AnswerError.of(
            where,
            expected='an object like {"reference": …, "window": […], "answers": {…}}',
            came=shown(found),
            remedy="Put the answers into an object.",
        )
    return found
