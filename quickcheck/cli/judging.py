"""``verdict`` and ``expect``."""

from pathlib import Path

import click

from quickcheck.cli.shell import (
    data_option,
    find_reference,
    json_option,
    print_json,
    read_document,
    speaking,
)
from quickcheck.desk import Judged, expected, judge_sheet, parse_window
from quickcheck.engine import VERDICT_WORDS
from quickcheck.readings import run_words
from quickcheck.reference import OTHER

_TITLES = {
    "why": "Why",
    "width": "How wide the claim is",
    "claim": "The claim that nothing was changed",
    "found": "Parts that do not fit",
    "count": "How usual that is",
    "apart": "Assemblies apart",
    "declared": "Declared as changed",
    "border": "Materials declared or suspected",
    "leaning": "What the parts speak for",
    "best": "Where it would fit best",
    "unseen": "Not looked at",
    "next": "Would tell most next",
}


@click.command()
@click.argument("reference")
@click.argument("answers")
@click.option("--window", help="Months claimed, like 1954-03..1954-08, in place of the file's own.")
@json_option
@data_option
@speaking
def verdict(reference: str, answers: str, window: str | None, *, as_json: bool, data: Path) -> None:
    """Judge the ANSWERS (a JSON file, or - for standard input) against a REFERENCE (id or file)."""
    found = find_reference(reference, data)
    claimed = parse_window(window) if window else None
    judged = judge_sheet(found, read_document(answers), window=claimed)
    if as_json:
        print_json(judged.as_json())
    else:
        _print(judged)


def _print(judged: Judged) -> None:
    click.secho(VERDICT_WORDS[judged.verdict.verdict], bold=True)
    for sentence in judged.said("finding"):
        click.echo(sentence.text)
    for about, title in _TITLES.items():
        if sentences := judged.said(about):
            click.echo(f"\n{title}")
            for sentence in sentences:
                click.echo(f"  {sentence.text}")


@click.command()
@click.argument("reference")
@click.argument("window")
@json_option
@data_option
@speaking
def expect(reference: str, window: str, *, as_json: bool, data: Path) -> None:
    """Say what an instrument of a WINDOW (1954-03..1954-08) should look like, by a REFERENCE."""
    found = find_reference(reference, data)
    months = parse_window(window)
    points = expected(found, months)
    if as_json:
        shares = {
            each.point.id: {
                way.variant.id if way.variant else OTHER: way.share for way in each.ways
            }
            for each in points
            if each.ways
        }
        print_json({"reference": found.id, "window": window.split(".."), "points": shares})
        return
    click.secho(f"{found.title}, {run_words(*months)}", bold=True)
    for each in points:
        if each.ways:
            click.echo(f"\n{each.point.ask}")
        for way in each.ways:
            click.echo(f"  {way.share:4.0%}  {way.label}")
