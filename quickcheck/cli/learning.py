"""``learn``."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from quickcheck.cli.serving import existing_book
from quickcheck.cli.shell import data_option, json_option, print_json, speaking
from quickcheck.desk import (
    Lesson,
    examples_of_book,
    learn_from,
    read_examples,
    read_points,
    together,
    write_lesson,
)
from quickcheck.learn import LearnedPoint, Table, check_words, kappa_words, range_words
from quickcheck.readings import month_text, month_words
from quickcheck.reference import Reference

_STEPS = 1000
_FILE = click.Path(dir_okay=False, path_type=Path)


@click.command()
@click.argument("examples", type=_FILE, required=False)
@click.option(
    "--points",
    required=True,
    type=click.Path(path_type=Path),
    help="Points to learn: a reference file in which the variants need no dates.",
)
@click.option("-o", "--out", required=True, type=_FILE, help="Reference to write.")
@click.option(
    "--report", "page", type=_FILE, help="Report to write.  [default: OUT, ending in .report.html]"
)
@click.option(
    "--leave-out-faulty", is_flag=True, help="Learn without the rows that have faults; list them."
)
@click.option(
    "--book", is_flag=True, help="Learn from the book's inspections marked as documented as well."
)
@json_option
@data_option
@speaking
def learn(
    examples: Path | None, *, points: Path, out: Path, page: Path | None, **more: Any
) -> None:
    """Learn a reference from EXAMPLES, a CSV table with a row for each documented instrument.

    With --book the inspections of the same reference that are marked as documented are learned
    from as well, or, without EXAMPLES, alone.
    """
    file, as_json = read_points(points), more["as_json"]
    table = _examples(file.reference, examples, more["data"] if more["book"] else None)
    with click.progressbar(length=_STEPS, label="Learning", hidden=as_json) as bar:

        def tell(share: float) -> None:
            bar.update(round(share * _STEPS) - bar.pos)

        lesson = learn_from(file, table, leave_out_faulty=more["leave_out_faulty"], tell=tell)
    page = page or out.with_suffix(".report.html")
    write_lesson(lesson, out, page)
    for fault in table.faults:
        click.echo(f"left out: {fault}", err=True)
    if as_json:
        print_json(_json(lesson) | {"out": str(out), "report": str(page)})
        return
    for line in _lines(lesson):
        click.echo(line)
    click.echo(f"\nWritten: {out} and {page}")


def _examples(reference: Reference, file: Path | None, data: Path | None) -> Table:
    """Return the rows of the table, and those of the book of a data folder, of either or both."""
    if file is None and data is None:
        raise click.UsageError("Name a table of examples, or take --book, or both.")
    found = read_examples(reference, file) if file else Table((), (), 0)
    if data:
        with existing_book(data) as store:
            found = together(found, examples_of_book(store, reference))
    return found


def _lines(lesson: Lesson) -> Iterator[str]:
    learned = lesson.learned
    yield from check_words(learned.check, learned.rows)
    yield kappa_words(learned, lesson.reference)
    for point in learned.points:
        yield f"\n{lesson.reference.by_id[point.id].name}: {point.rows} examples"
        for change in point.change_overs:
            at = month_words(int(change.middle))
            yield f"  {change.old} → {change.new}: {at}, 90 % {range_words(change)}"
        if point.changed:
            rate = point.changed
            yield f"  changed on {rate.counted} of {rate.of}, taken as {rate.rate:.1%}"
        yield from (f"  {remark}" for remark in point.remarks)


def _json(lesson: Lesson) -> dict[str, Any]:
    learned = lesson.learned
    check = learned.check
    return {
        "reference": lesson.reference.id,
        "hash": lesson.reference.hash,
        "rows": learned.rows,
        "kappa": learned.kappa,
        "check": None
        if check is None
        else {
            "dated": check.dated,
            "alone": check.alone,
            "coverage": {str(level): share for level, share in check.coverage.items()},
            "mean_error": check.mean_error,
            "log_score": check.log_score,
            "bad": check.is_bad,
        },
        "points": {point.id: _point_json(point) for point in learned.points},
    }


def _point_json(point: LearnedPoint) -> dict[str, Any]:
    return {
        "method": point.method.value,
        "rows": point.rows,
        "counts": dict(point.counts),
        "changed": None
        if point.changed is None
        else {
            "rate": point.changed.rate,
            "counted": point.changed.counted,
            "of": point.changed.of,
        },
        "change_overs": [
            {
                "old": change.old,
                "new": change.new,
                "low": month_text(int(change.low)),
                "middle": month_text(int(change.middle)),
                "high": month_text(int(change.high)),
            }
            for change in point.change_overs
        ],
        "remarks": list(point.remarks),
    }
