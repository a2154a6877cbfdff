"""``move``: from the file of a book into PostgreSQL."""

from dataclasses import asdict
from pathlib import Path

import click

from quickcheck.cli.serving import ADDRESS, BOOK
from quickcheck.cli.shell import data_option, json_option, print_json, speaking
from quickcheck.store import Content, move

_EPILOG = (
    "Stop every server of the book first. The address may hold a password, so it is better in "
    f"{ADDRESS} than among the words of a command, which others on this machine may see. Secret "
    "keys and references stay where they are, in the data folder."
)


@click.command("move", epilog=_EPILOG)
@click.argument("address", envvar=ADDRESS)
@data_option
@json_option
@speaking
def move_(address: str, *, data: Path, as_json: bool) -> None:
    """Move the book of a data folder into an empty PostgreSQL, and compare the two."""
    found = move(data / BOOK, address)
    if as_json:
        print_json({name: asdict(content) for name, content in found.items()})
        return
    _print(found)
    click.echo(
        f"Moved, and the same in both: {sum(each.rows for each in found.values())} rows. "
        f"{data / BOOK} is as it was; from now on set {ADDRESS}."
    )


def _print(found: dict[str, Content]) -> None:
    width = max(map(len, found))
    for name, content in found.items():
        click.echo(f"{name:<{width}}  {content.rows:>9}  {content.sha256[:16]}…")
