"""Learning as a whole: from a table and a points file to a reference and a report."""

import re
import tomllib
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest

from quickcheck.desk import (
    Lesson,
    PointsFile,
    learn_from,
    read_examples,
    read_points,
    write_lesson,
)
from quickcheck.engine import judge_document
from quickcheck.errors import ExamplesError, ReferenceFaultsError
from quickcheck.learn import Check, Method, Points, Story, Table, check_words, read_table, report
from quickcheck.learn.constants import LEARNING
from quickcheck.readings import month_text
from quickcheck.reference import Kind, read_reference
from tests.learn import made


def silent(_: float) -> None:
    """Hear how much is done."""


@pytest.fixture(name="file", scope="module")
def _file(tmp_path_factory: pytest.TempPathFactory) -> PointsFile:
    folder = tmp_path_factory.mktemp("points")
    for picture in made.POPLIN.glob("*.svg"):
        (folder / picture.name).write_bytes(picture.read_bytes())
    (folder / "points.toml").write_text(made.without_dates(made.POPLIN), encoding="utf-8")
    return read_points(folder / "points.toml")


@pytest.fixture(name="table", scope="module")
def _table(file: PointsFile) -> Table:
    text = made.table_of(made.poplin(), made.drawn(made.poplin(), 70, seed=3), doubt=2)
    return read_table(file.reference, text, name="t.csv")


@pytest.fixture(name="lesson", scope="module")
def _lesson(file: PointsFile, table: Table) -> Lesson:
    return learn_from(file, table, leave_out_faulty=False, tell=silent)


def test_what_is_written_is_a_reference(file: PointsFile, lesson: Lesson, tmp_path: Path) -> None:
    """The file reads back as what was dated with; its pictures lie beside it."""
    write_lesson(lesson, tmp_path / "out.toml", tmp_path / "out.html")
    found = read_reference(tmp_path / "out.toml")
    assert found.hash == lesson.reference.hash
    assert found.pictures.keys() == file.reference.pictures.keys()
    assert (tmp_path / "out.html").read_text(encoding="utf-8") == lesson.report


def test_the_points_files_own_words_stay(file: PointsFile, lesson: Lesson) -> None:
    """Remarks, questions and order of the points file are in what is written."""
    remarks = [line for line in file.text.splitlines() if line.startswith("#")]
    assert remarks
    assert set(remarks) <= set(lesson.text.splitlines())
    assert [p.id for p in lesson.reference.points] == [p.id for p in file.reference.points]
    assert all(
        new.ask == old.ask
        for new, old in zip(lesson.reference.points, file.reference.points, strict=True)
    )


def test_learned_facts_name_their_source(lesson: Lesson) -> None:
    """A point that was learned names the examples as a source, a variant how many it was."""
    assert lesson.reference.sources["examples"].kind == "census"
    for learned in lesson.learned.points:
        point = lesson.reference.by_id[learned.id]
        assert ("examples" in point.source) == (learned.method is not Method.KEPT)
        if learned.counts and learned.method is not Method.KEPT:
            seen = point.seen[0]
            assert f"{learned.counts[seen.id]} of {learned.rows} examples" in seen.note


def test_change_overs_are_about_the_true_ones(lesson: Lesson) -> None:
    """Of the change-overs of the invented maker, most lie in their 90 % ranges."""
    truth = made.poplin()
    held = []
    for learned in lesson.learned.points:
        if truth.by_id[learned.id].kind is Kind.PICK:
            for change in learned.change_overs:
                old, new = (truth.by_id[learned.id].variant(v) for v in (change.old, change.new))
                if old and new and old.last is not None and new.first == old.last + 1:
                    held.append(change.low <= new.first <= change.high)
    assert len(held) >= 8
    assert sum(held) / len(held) >= 0.75


def test_leaving_out_tells_what_new_instruments_get(lesson: Lesson) -> None:
    """κ is learned from 60 rows on; coverage is told, and about what it should be."""
    check = lesson.learned.check
    assert check is not None
    assert lesson.learned.kappa == lesson.reference.kappa
    assert check.dated == 70
    assert not check.alone
    assert 0.8 <= check.coverage[90] <= 1
    assert check.mean_error < 12


def test_few_rows_are_left_out_one_by_one(file: PointsFile, table: Table) -> None:
    """Under 60 rows each is left out by itself, and κ stays the engine's."""
    few = replace(table, examples=table.examples[:12])
    lesson = learn_from(file, few, leave_out_faulty=False, tell=silent)
    check = lesson.learned.check
    assert check is not None
    assert (check.dated, check.alone, lesson.learned.kappa) == (12, True, None)
    assert lesson.reference.kappa is None
    assert "each example dated by what all others teach" in lesson.report


def test_a_handful_teaches_without_a_check(file: PointsFile, table: Table) -> None:
    """With four rows nothing can be said of how well it dates, and that is said."""
    four = replace(table, examples=table.examples[:4])
    lesson = learn_from(file, four, leave_out_faulty=False, tell=silent)
    assert lesson.learned.check is None
    assert "nothing can be left out" in lesson.report


def test_progress_rises_to_its_end(file: PointsFile, table: Table) -> None:
    """What is told of progress never falls, and ends at all of it."""
    told: list[float] = []
    few = replace(table, examples=table.examples[:8])
    learn_from(file, few, leave_out_faulty=False, tell=told.append)
    assert told == sorted(told)
    assert told[-1] == pytest.approx(1)
    assert len(told) > 5


def test_a_taught_reference_can_be_taught_again(lesson: Lesson, table: Table) -> None:
    """What was written is a points file itself: its notes don't pile up, its facts stay the same."""
    pictures = lesson.reference.pictures
    tree = tomllib.loads(lesson.text)
    points = PointsFile(lesson.text, Points.of(tree, name="again", pictures=pictures))
    again = learn_from(points, table, leave_out_faulty=False, tell=silent)
    assert "Learned: " in again.text
    assert not re.search(r"Learned: [^\"]*Learned: ", again.text)
    learned = {p.id: p.table for p in again.learned.points if p.change_overs}
    assert learned == {p.id: p.table for p in lesson.learned.points if p.change_overs}


def test_faulty_rows_are_left_out_on_request_only(file: PointsFile, table: Table) -> None:
    """Faults stop the learning, all of them told; on request these rows are left out and listed."""
    text = made.table_of(made.poplin(), made.drawn(made.poplin(), 6, seed=3), doubt=2)
    lines = text.splitlines()
    lines[2] = lines[2].replace("19", "29", 1).replace("instrument 2", "second")
    lines[4] = lines[4].replace("instrument 4", "")
    faulty = read_table(file.reference, "\n".join(lines), name="t.csv")
    with pytest.raises(ExamplesError, match=r"row 3.*\n.*row 5"):
        learn_from(file, faulty, leave_out_faulty=False, tell=silent)
    lesson = learn_from(file, faulty, leave_out_faulty=True, tell=silent)
    assert lesson.learned.rows == 4
    assert "Left out: 2 rows with faults" in lesson.report


def test_nothing_to_learn_from(file: PointsFile) -> None:
    """A table without a row is refused."""
    empty = read_table(file.reference, "instrument,month\n", name="t.csv")
    with pytest.raises(ExamplesError, match="at least one documented instrument"):
        learn_from(file, empty, leave_out_faulty=True, tell=silent)


def test_what_is_no_table_or_no_points(file: PointsFile, tmp_path: Path) -> None:
    """A file that is not there, or not text, or no TOML, is told as a fault of that file."""
    with pytest.raises(ExamplesError, match=r"none\.csv"):
        read_examples(file.reference, tmp_path / "none.csv")
    (tmp_path / "bad.toml").write_text("= 1")
    with pytest.raises(ReferenceFaultsError, match=r"bad\.toml"):
        read_points(tmp_path / "bad.toml")


def test_a_learned_reference_judges(lesson: Lesson) -> None:
    """The engine takes it like any other: a true claim agrees, one six years off does not."""
    drawn = min(
        made.drawn(made.poplin(), 60, seed=8, answers=26),
        key=lambda one: len(one.changed | one.misread),
    )
    first = made.poplin().covers[0]
    truth = month_text(drawn.month)
    off = month_text(drawn.month + (72 if drawn.month < first + 96 else -72))
    document = {"reference": lesson.reference.id, "answers": drawn.answers}
    said = [
        judge_document(lesson.reference, document | {"window": [month, month]})["ratio_to_best"]
        for month in (truth, off)
    ]
    assert said[0] > 0.1 > said[1]


# The report


def test_the_report_is_a_page_by_itself(lesson: Lesson) -> None:
    """Pictures are well-formed, one a learned point, every example of a pick on it; no script."""
    assert "<script" not in lesson.report
    assert not re.search(r"(?:src|href)=|url\(|https?:", lesson.report)
    pictures = re.findall(r"<svg class=.picture.*?</svg>.*?</svg>", lesson.report, re.DOTALL)
    learned = [p for p in lesson.learned.points if p.method is not Method.KEPT]
    assert len(pictures) == len(learned)
    for picture, point in zip(pictures, learned, strict=True):
        drawing = ET.fromstring(picture)  # noqa: S314  # our own
        assert drawing.findtext("title")
        bands = [one for one in drawing.iter() if one.get("class") == "band"]
        if point.change_overs:
            assert len(bands) == len(point.change_overs)
            strokes = sum(
                one.get("d", "").count("M")
                for one in drawing.iter("path")
                if one.get("class") == "seen"
            )
            assert 0 < strokes <= point.rows


def test_the_report_tells_ranges_and_rates(lesson: Lesson) -> None:
    """Every change-over is there with its month and range, every rate with its counts."""
    for point in lesson.learned.points:
        for change in point.change_overs:
            assert f"{change.old} → {change.new}" in lesson.report
        if point.changed:
            words = f"hanged on {point.changed.counted} of {point.changed.of}, taken as"
            assert words in lesson.report


def test_names_are_not_taken_for_markup(lesson: Lesson, table: Table) -> None:
    """A title with signs of HTML is shown as it is."""
    named = replace(lesson.reference, title="<i>&")
    page = report(Story(named, lesson.learned, table.examples))
    assert "&lt;i&gt;&amp;" in page
    assert "<i>" not in page


@pytest.mark.parametrize(
    ("dated", "held", "bad"),
    [(500, 0.855, True), (500, 0.87, False), (20, 0.8, False), (20, 0.7, True), (100, 0.99, False)],
)
def test_a_bad_coverage_is_told_first(dated: int, held: float, bad: bool) -> None:
    """Too few held, by more than chance: the first sentence says it."""
    coverage = {50: 0.5, 80: 0.8, 90: held, 95: 0.95}
    check = Check(dated, True, dated, coverage, 3.0, log_score=-2.0, width=20.0)
    first = check_words(check, dated)[0]
    assert check.is_bad is bad
    assert ("surer than they should be" in first) is bad
    assert f"{held:.0%}" in first


def test_constants_agree_with_what_is_written_of_them() -> None:
    """The README's grids are those of the code."""
    text = (made.ROOT / "quickcheck/learn/README.md").read_text(encoding="utf-8")
    assert "s ∈ {½, 1, 2, 4, 8, 16, 32}" in text
    assert LEARNING.scales == (0.5, 1, 2, 4, 8, 16, 32)
