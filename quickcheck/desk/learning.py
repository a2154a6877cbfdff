"""Learn a reference: a table and a points file in, the text of a reference and a report out."""

import csv
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import tomlkit

from quickcheck.desk.shelf import Shelf
from quickcheck.desk.writing import pictures_for, write_reference
from quickcheck.errors import ExamplesError, ReferenceFaultsError, shown
from quickcheck.learn import (
    Learned,
    Points,
    Story,
    Table,
    Tell,
    Training,
    apply,
    learn,
    read_table,
    report,
    told,
    with_room_for_measures,
    within,
)
from quickcheck.reference import Reference, read_reference_text, reference_parts

_MOST: Final = 0.9  # of the time; the rest goes into writing


@dataclass(frozen=True, slots=True, eq=False)
class PointsFile:
    """A points file: its text, with remarks and blanks, and what it says."""

    text: str
    points: Points

    @property
    def reference(self) -> Reference:
        """The points, nothing learned."""
        return self.points.reference


@dataclass(frozen=True, slots=True, eq=False)
class Lesson:
    """What came out of learning."""

    learned: Learned
    reference: Reference
    text: str  # the reference file
    report: str  # a page of HTML
    told: str  # the same without what makes it a page by itself


def read_points(path: Path) -> PointsFile:
    """Return the points of a file or a folder; ReferenceFaultsError has all that is wrong."""
    name, text, pictures = reference_parts(path)
    return points_in(text, name=name, pictures=pictures)


def points_in(text: str, *, name: str, pictures: Mapping[str, bytes]) -> PointsFile:
    """Return the points of a text; ReferenceFaultsError has all that is wrong."""
    try:
        tree = tomllib.loads(text)
    except (ValueError, RecursionError):  # told as of any other reference
        tree = {}
        read_reference_text(text, name=name)
    return PointsFile(text, Points.of(tree, name=name, pictures=pictures))


def sent_points(shelf: Shelf, content: bytes, *, name: str) -> PointsFile:
    """Return the points of a file that came alone: its pictures are those of the shelf's edition."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ReferenceFaultsError.of(
            name,
            expected="a points file: text in UTF-8",
            came=shown(str(error)),
            remedy="Save it as UTF-8.",
        ) from None
    return points_in(text, name=name, pictures=pictures_for(shelf, text))


def read_examples(reference: Reference, path: Path) -> Table:
    """Return the table in a file; ExamplesError where it is no table."""
    try:
        content = path.read_bytes()
    except OSError as error:
        raise _no_table(path.name, error) from None
    return examples_in(reference, content, name=path.name)


def examples_in(reference: Reference, content: bytes, *, name: str) -> Table:
    """Return the table in some bytes; ExamplesError where it is no table."""
    try:
        return read_table(reference, content.decode("utf-8-sig"), name=name)
    except (UnicodeDecodeError, csv.Error) as error:
        raise _no_table(name, error) from None


def _no_table(name: str, why: Exception) -> ExamplesError:
    return ExamplesError.of(
        name,
        expected="a table saved as CSV in UTF-8",
        came=shown(str(why)),
        remedy='Save it from the spreadsheet as "CSV UTF-8".',
    )


def write_lesson(lesson: Lesson, out: Path, page: Path) -> None:
    """Write the reference, the pictures that it names beside it, and the report."""
    write_reference(out, lesson.text, lesson.reference)
    page.write_text(lesson.report, encoding="utf-8")


def learn_from(file: PointsFile, table: Table, *, leave_out_faulty: bool, tell: Tell) -> Lesson:
    """Return what a table teaches; ExamplesError with all its faults, unless these are left out."""
    if table.faults and not leave_out_faulty:
        raise ExamplesError(*table.faults)
    check_some(table)
    learned, training = learn(file.points, table.examples, tell=within(tell, 0, _MOST))
    text = _written(file, learned, training)
    pictures = file.reference.pictures
    made = read_reference_text(text, name=file.reference.id, pictures=pictures)
    story = Story(made, learned, table.examples, table.faults, table.faulty_rows)
    lesson = Lesson(learned, made, text, report(story), told(story))
    tell(1.0)
    return lesson


def check_some(table: Table) -> None:
    """Refuse a table from which nothing can be learned."""
    if not table.examples:
        raise ExamplesError.of(
            "the table",
            expected="at least one documented instrument",
            came="none",
            remedy="Write a row for each instrument under the head.",
        )


def _written(file: PointsFile, learned: Learned, training: Training) -> str:
    """Return the points file's own text with what was learned put in: its remarks stay."""
    document = tomlkit.parse(file.text)
    with_room_for_measures(document)
    apply(document, training, rows=learned.rows, kappa=learned.kappa)
    return tomlkit.dumps(document)
