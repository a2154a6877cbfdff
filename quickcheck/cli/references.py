"""``reference check`` and ``reference list``."""

import sys
from pathlib import Path
from typing import Any

import click

from quickcheck.cli.shell import (
    data_option,
    faults_json,
    json_option,
    print_json,
    shelf_of,
    speaking,
)
from quickcheck.errors import ReferenceFaultsError
from quickcheck.readings import run_words
from quickcheck.reference import read_reference


@click.group()
def reference() -> None:
    """Check and list references."""


def _checked(path: Path) -> dict[str, Any]:
    try:
        found = read_reference(path)
    except ReferenceFaultsError as error:
        return {"file": str(path), "ok": False, "faults": faults_json(error), "words": str(error)}
    return {
        "file": str(path),
        "ok": True,
        "id": found.id,
        "hash": found.hash,
        "points": len(found.points),
        "warnings": list(found.warnings),
        "faults": [],
        "words": f"{path}: no faults ({found.id}, {len(found.points)} points, "
        f"{run_words(*found.covers)}, {found.hash[:16]})",
    }


@reference.command()
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
@json_option
@speaking
def check(paths: tuple[Path, ...], *, as_json: bool) -> None:
    """Check reference files or folders; tell every fault of each. Exit 4 where there is one."""
    results = [_checked(path) for path in paths]
    if as_json:
        print_json({"files": [{k: v for k, v in r.items() if k != "words"} for r in results]})
    else:
        for result in results:
            click.echo(result["words"], err=not result["ok"])
            for warning in result.get("warnings", ()):
                click.echo(f"  remark: {warning}")
    if not all(result["ok"] for result in results):
        sys.exit(ReferenceFaultsError.exit_code)


@reference.command("list")
@json_option
@data_option
@speaking
def list_(*, as_json: bool, data: Path) -> None:
    """List the references at hand: the data folder's, the demo's, the general ones."""
    shelf = shelf_of(data)
    if as_json:
        print_json(
            {
                "references": [
                    {
                        "id": found.id,
                        "title": found.title,
                        "edition": found.edition,
                        "points": len(found.points),
                        "hash": found.hash,
                    }
                    for found in shelf.current.values()
                ],
                "faulty": {name: faults_json(error) for name, error in shelf.faulty.items()},
            }
        )
        return
    for found in shelf.current.values():
        click.echo(
            f"{found.id}  {found.title}, edition {found.edition}, {run_words(*found.covers)}"
        )
    for name, error in shelf.faulty.items():
        click.echo(f"{name} was not loaded: {error}", err=True)
