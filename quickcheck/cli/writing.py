"""``reference new``, ``import``, ``compare`` and ``schema``: for those who write references."""

from dataclasses import asdict
from pathlib import Path

import click

from quickcheck.cli.serving import open_book
from quickcheck.cli.shell import data_option, find_reference, json_option, print_json, speaking
from quickcheck.desk import Affected, affected, rows_of_table
from quickcheck.engine import VERDICT_WORDS
from quickcheck.errors import StoreError, shown
from quickcheck.reference import (
    BLANK,
    COLUMNS,
    Change,
    Reference,
    compare,
    json_schema,
    read_reference_text,
    text_of_table,
)

_out = click.option(
    "-o",
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    help="The file to write.",
    show_default="ID.toml",
)


@click.command()
@click.argument("name", metavar="ID")
@click.option("--title", help="What it is called.", show_default="ID")
@_out
@json_option
@speaking
def new(name: str, *, title: str | None, out: Path | None, as_json: bool) -> None:
    """Begin a reference: a file with one point to write over."""
    _write(text_of_table(BLANK, name=name, title=title or name), out, as_json=as_json)


@click.command("import")
@click.argument("table", type=click.Path(path_type=Path))
@click.option("--id", "name", help="The reference's id.", show_default="the table's name")
@click.option("--title", help="What it is called.", show_default="its id")
@_out
@json_option
@speaking
def import_(
    table: Path, *, name: str | None, title: str | None, out: Path | None, as_json: bool
) -> None:
    """Make a reference out of a TABLE (CSV or XLSX) of what was fitted when."""
    try:
        content = table.read_bytes()
    except OSError as error:
        raise StoreError.of(
            str(table),
            expected="a table that can be read",
            came=shown(str(error)),
            remedy="Look at the path.",
        ) from None
    rows = rows_of_table(content, name=table.name)
    called = name or table.stem
    _write(text_of_table(rows, name=called, title=title or called), out, as_json=as_json)


import_.help = f"""Make a reference out of a TABLE (CSV or XLSX) of what was fitted when.

Columns: {", ".join(COLUMNS)}; one row a variant. What the table does not say is written as a guess
with a remark beside it: go on in the file.
"""


def _write(text: str, out: Path | None, *, as_json: bool) -> None:
    made = read_reference_text(text)
    file = out or Path(f"{made.id}.toml")
    try:
        with file.open("x", encoding="utf-8") as opened:
            opened.write(text)
    except OSError as error:
        raise StoreError.of(
            str(file),
            expected="a file that is not there yet, in a folder that can be written",
            came=shown(str(error)),
            remedy="Name another with -o.",
        ) from None
    points = len(made.points)
    if as_json:
        print_json({"file": str(file), "id": made.id, "points": points})
    else:
        click.echo(f"{file}: {points} points. Go on there; `reference check` tells faults.")


@click.command("compare")
@click.argument("old")
@click.argument("new")
@json_option
@data_option
@speaking
def compare_(old: str, new: str, *, as_json: bool, data: Path) -> None:
    """Say what differs between two editions (files or ids), and whose verdicts the NEW one changes."""
    before, after = find_reference(old, data), find_reference(new, data)
    changes = compare(before, after)
    with open_book(data) as store:
        changed = affected(store, after)
    if as_json:
        found = [asdict(each) | {"id": str(each.id)} for each in changed]
        print_json({"changes": [asdict(change) for change in changes], "affected": found})
    else:
        _print(before, after, changes=changes, changed=changed)


def _print(
    before: Reference,
    after: Reference,
    *,
    changes: tuple[Change, ...],
    changed: tuple[Affected, ...],
) -> None:
    click.secho(f"{before.title}, edition {before.edition} → {after.edition}", bold=True)
    for change in changes:
        click.echo(f"  {change_words(change)}")
    if not changes:
        click.echo("  Nothing differs.")
    click.echo(f"\n{len(changed)} saved inspections would get another verdict")
    for each in changed:
        later = VERDICT_WORDS.get(each.after, f"can't be judged: {each.why}")
        click.echo(f"  {each.name}: {VERDICT_WORDS[each.before]} → {later}")


def change_words(change: Change) -> str:
    """Return one difference in a line."""
    where = ", ".join(part for part in (change.where, change.what) if part)
    if not change.before:
        return f"{where}: new, {change.after}"
    return f"{where}: {change.before} → {change.after or 'gone'}"


@click.command()
@json_option
@speaking
def schema(*, as_json: bool) -> None:  # noqa: ARG001  # JSON is what it prints anyway
    """Print the format as a JSON Schema, for editors that complete and check by one."""
    print_json(json_schema())
