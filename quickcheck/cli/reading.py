"""``read``: what one marking or gauge says."""

import click

from quickcheck.cli.shell import json_option, print_json, speaking
from quickcheck.readings import SCHEMES, Meaning, read_text


@click.command()
@click.argument("scheme", metavar="SCHEME")
@click.argument("text")
@json_option
@speaking
def read(scheme: str, text: str, *, as_json: bool) -> None:
    """Read a marking's or a gauge's TEXT by a SCHEME."""
    reading = read_text(scheme, text)
    if as_json:
        print_json(reading.as_json())
        return
    click.echo(reading.says)
    for meaning in reading.meanings:
        click.echo(f"  {_days(meaning)}{meaning.says}")


def _days(meaning: Meaning) -> str:
    """Return the days of a meaning, an open end as …; nothing where it bounds none."""
    if meaning.first is None and meaning.last is None:
        return ""
    first = meaning.first.isoformat() if meaning.first else "…"
    last = meaning.last.isoformat() if meaning.last else "…"
    return f"{first} to {last}: "


# \b keeps click from filling the lines of the list.
read.help = "\n".join(
    [
        "Read a marking's or a gauge's TEXT by a SCHEME.",
        "",
        "\b",
        *(f'{name}: {scheme.about} Like "{scheme.example}".' for name, scheme in SCHEMES.items()),
    ]
)
