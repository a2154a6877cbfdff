"""``read``: what one marking says."""

import click

from quickcheck.cli.shell import json_option, print_json, speaking
from quickcheck.readings import SCHEMES, read_code


@click.command()
@click.argument("scheme", metavar="SCHEME")
@click.argument("text")
@json_option
@speaking
def read(scheme: str, text: str, *, as_json: bool) -> None:
    """Read a marking's TEXT by a SCHEME (year-week or source-week)."""
    reading = read_code(scheme, text)
    if as_json:
        print_json(reading.as_json())
        return
    click.echo(reading.says)
    for meaning in reading.meanings:
        click.echo(f"  {meaning.first.isoformat()} to {meaning.last.isoformat()}: {meaning.says}")


read.help = f"Read a marking's TEXT by a SCHEME: {', '.join(SCHEMES)}."
