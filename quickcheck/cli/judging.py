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
from quickcheck.desk import Judged, judge_sheet
from quickcheck.engine import VERDICT_WORDS, compile_model
from quickcheck.errors import AnswerError, shown
from quickcheck.readings import parse_month, run_words
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


def parse_window(text: str) -> tuple[int, int]:
    """Return the months of ``1954-03..1954-08``."""
    first, dots, last = text.partition("..")
    if not dots:
        raise AnswerError.of(
            "window",
            expected="two months like 1954-03..1954-08",
            came=shown(text),
            remedy="Put two full stops between the first and the last month.",
        )
    return parse_month(first, where="window"), parse_month(last, where="window")


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
    _check_inside(found.covers, months)
    shares = compile_model(found).expect(months)
    if as_json:
        print_json({"reference": found.id, "window": window.split(".."), "points": shares})
        return
    click.secho(f"{found.title}, {run_words(*months)}", bold=True)
    for point in found.points:
        if point.id not in shares:
            continue
        click.echo(f"\n{point.ask}")
        labels = {variant.id: variant.label for variant in point.seen} | {OTHER: "none of these"}
        for variant, share in sorted(shares[point.id].items(), key=lambda item: -item[1]):
            if share >= 0.005:
                click.echo(f"  {share:4.0%}  {labels[variant]}")


def _check_inside(covers: tuple[int, int], months: tuple[int, int]) -> None:
    if not covers[0] <= months[0] <= months[1] <= covers[1]:
        raise AnswerError.of(
            "window",
            expected=f"months in order, within {run_words(*covers)}",
            came=run_words(*months),
            remedy="Choose months that the reference knows.",
        )
