"""The reference for what no other fits: sourced, careful, and its floors are floors in the engine."""

import shutil
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from quickcheck import desk, paths
from quickcheck.card import card_of, encode
from quickcheck.card.code import LARGEST
from quickcheck.card.payload import SEAL_BYTES
from quickcheck.engine import compile_model, read_sheet
from quickcheck.engine.witnesses import find_witnesses, gather
from quickcheck.readings import parse_month
from quickcheck.reference.records import SOURCE_KINDS, Access, Kind, Point, Variant
from tests.by_markings import DECLARED, ID, OF_1962, document, read
from tests.store.sealing import MADE

REFERENCE = read()
PICKS = [p for p in REFERENCE.points if p.kind is Kind.PICK]
COUNTED = [p for p in PICKS if p.is_witness]
ENDING = {
    ("registered-mark", "office"),
    ("label-postal", "zone"),
    ("label-telephone", "exchange"),
    ("country-mark", "nippon"),
    ("country-mark", "occupied"),
    ("country-mark", "us-zone"),
    ("frets", "bar"),
}
"""Marks of which a source, or common practice, says that they went; all others only begin."""
LATER = {("label-postal", "zip-four"), ("patent-number", "p-later"), ("late-mark", "later")}
"""Marks that began after all that is covered."""
EVERY = [(p, v) for p in COUNTED for v in p.seen]
FLOORS = [(p, v) for p, v in EVERY if v.knots[0][1] == 0 and (p.id, v.id) not in ENDING | LATER]
NAMES = [f"{p.id}-{v.id}" for p, v in FLOORS]


def chances(point: Point, variant: Variant) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return O and M of that answer by month, from the real engine."""
    model = compile_model(REFERENCE)
    covered = ("1920-01", "1979-12")
    sheet = read_sheet(REFERENCE, document({point.id: {"seen": variant.id}}, covered))
    block = gather(model, find_witnesses(model, sheet)).plain
    return block.first[0] / (1 - point.changed), block.alone[0]


def test_only_marks_of_later_years_are_warned_of() -> None:
    """The reader has no fault to tell, and warns of nothing but what is meant."""
    meant = {f'point "{p}": variant "{v}" is fitted in no month covered' for p, v in LATER}
    assert set(REFERENCE.warnings) == meant
    assert REFERENCE.covers == (parse_month("1920-01"), parse_month("1979-12"))
    assert 25 <= len(REFERENCE.points) <= 45


def test_anothers_edition_goes_before_ours(tmp_path: Path) -> None:
    """Whoever puts a reference of the same id into the folder has that, still as the last one."""
    ours = paths.GENERAL / ID / f"{ID}.toml"
    text = ours.read_text(encoding="utf-8").replace('edition = "2026-11"', 'edition = "my own"')
    own = Path(shutil.copytree(ours.parent, tmp_path / "mine"))
    (own / ours.name).write_text(text, encoding="utf-8")
    demo = desk.reference_paths(paths.DEMO / "references")
    shelf = desk.gather([own, *demo], general=desk.reference_paths(paths.GENERAL))
    assert shelf.get(ID).edition == "my own"
    assert not shelf.faulty
    assert [found.id for found in shelf.listed].index(ID) == 3


def test_every_row_has_a_source_of_a_kind() -> None:
    """Every point and every variant names its source, and what is from memory is called that."""
    for point in REFERENCE.points:
        assert point.source, point.id
        assert all(variant.source for variant in point.seen), point.id
    used = {name for p in REFERENCE.points for row in (p, *p.seen) for name in row.source}
    assert used == set(REFERENCE.sources)
    for name, source in REFERENCE.sources.items():
        assert source.kind in SOURCE_KINDS
        assert (source.kind == "memory") == (name.endswith("-memory") or name == "code-numbers")


def test_words_say_that_floors_bound_a_part() -> None:
    """The paragraph says it, and so does every point whose mark bounds from below."""
    assert "Floors bound a part, never an instrument" in REFERENCE.about
    assert "need a maker" in REFERENCE.about
    dated = {p.id for p, _ in FLOORS} | {p.id for p in REFERENCE.points if p.kind is Kind.DATECODE}
    for name in dated:
        assert "never the instrument" in REFERENCE.by_id[name].look, name


def test_nothing_that_needs_a_maker() -> None:
    """No measure and no serial: of no maker in particular these say nothing."""
    kinds = Counter(point.kind for point in REFERENCE.points)
    assert kinds[Kind.MEASURE] == kinds[Kind.SERIAL] == 0
    assert kinds[Kind.DATECODE] == 5


@pytest.mark.parametrize("point", PICKS, ids=lambda point: point.id)
def test_shares_of_a_point_add_up_in_every_month(point: Point) -> None:
    """What one variant does reaches no other: the engine's table is the shares themselves."""
    at = {month for variant in point.seen for month, _ in variant.knots}
    for month in at:
        if month <= REFERENCE.covers[1]:
            shares = [float(np.interp(month, *zip(*v.knots, strict=True))) for v in point.seen]
            assert sum(shares) == pytest.approx(1, abs=1e-9), point.id


@pytest.mark.parametrize(("point", "variant"), FLOORS, ids=NAMES)
def test_a_floor_is_flat_after_it(point: Point, variant: Variant) -> None:
    """The chance of a mark never falls with time after its floor, whether the part is the first."""
    first, alone = chances(point, variant)
    full = max(month for month, _ in variant.knots) - REFERENCE.covers[0]
    for said in (first, alone):
        assert (np.diff(said) >= -1e-9).all()
        assert said[full:] == pytest.approx(said[-1], abs=1e-9)
    last_without = next(month for month, share in variant.knots[::-1] if share == 0)
    begins = max(0, last_without - REFERENCE.covers[0])
    assert first[begins] == pytest.approx(first[0])
    assert 3 < first[-1] / first[0] < 20


@pytest.mark.parametrize("point", COUNTED, ids=lambda point: point.id)
def test_absence_says_next_to_nothing(point: Point) -> None:
    """The first variant, where no mark is, loses at most a tenth of its chance in sixty years."""
    first, _ = chances(point, point.seen[0])
    if (point.id, "bar") not in ENDING:
        assert first.min() > 0.9 * first.max()


def test_an_old_patent_number_is_no_younger_than_new() -> None:
    """A number of the 1930s speaks as much for 1979 as for 1945, and against 1930 only."""
    point = REFERENCE.by_id["patent-number"]
    number = point.variant("p-1935")
    assert number
    first, _ = chances(point, number)
    year = {name: first[12 * (name - 1920) + 5] for name in (1930, 1945, 1979)}
    assert year[1945] == pytest.approx(year[1979], abs=1e-9)
    assert year[1930] < year[1945] / 5


def test_nothing_seen() -> None:
    """A blank inspection is told as too little seen, without anything found."""
    verdict = desk.judge_sheet(REFERENCE, document({})).verdict
    assert verdict.verdict == "too-little-seen"
    assert not verdict.found


@pytest.mark.parametrize("year", [1925, 1940, 1955, 1965, 1978])
def test_no_marks_at_all(year: int) -> None:
    """Looked at everywhere and no mark seen: too little, in any year, and no leaning away from it."""
    answers = {point.id: {"seen": point.seen[0].id} for point in COUNTED}
    window = (f"{year}-01", f"{year}-12")
    verdict = desk.judge_sheet(REFERENCE, document(answers, window)).verdict
    assert verdict.verdict == "too-little-seen"
    assert verdict.speaking == 0
    assert verdict.ratio_to_best > 1 / 3
    assert not verdict.found


def test_an_instrument_of_1962() -> None:
    """Marks that agree with each other agree with their year, and no part is found."""
    verdict = desk.judge_sheet(REFERENCE, document(OF_1962)).verdict
    assert verdict.verdict in ("agrees", "too-little-seen")
    assert not verdict.found
    assert verdict.ratio_to_best > 1 / 2


def test_the_same_marks_claimed_for_1940() -> None:
    """They speak against a claim that is older than their floors."""
    early = desk.judge_sheet(REFERENCE, document(OF_1962, ("1940-01", "1940-12")))
    assert early.verdict.verdict in ("disagrees", "in-doubt")


def test_zip_code_on_a_part_claimed_for_1955() -> None:
    """The part is flagged; of the instrument one mark says nothing."""
    answers = {"label-postal": {"seen": "zip"}, "plate-screws": {"seen": "cross"}}
    judged = desk.judge_sheet(REFERENCE, document(answers, ("1955-01", "1955-12")))
    assert judged.verdict.flagged == ("label-postal",)
    assert judged.verdict.verdict == "too-little-seen"


@pytest.mark.parametrize(("point", "variant"), FLOORS, ids=NAMES)
def test_a_mark_before_its_floor_is_found(point: Point, variant: Variant) -> None:
    """On a claim years before its floor a mark is found: flagged, or fitting nothing."""
    last_without = next(m for m, share in variant.knots[::-1] if share == 0)
    claimed = max(1920, last_without // 12 - 4)
    window = (f"{claimed}-01", f"{claimed}-03")
    verdict = desk.judge_sheet(
        REFERENCE, document({point.id: {"seen": variant.id}}, window)
    ).verdict
    assert verdict.found == (point.id,)


@pytest.mark.parametrize(("point", "variant"), sorted(LATER))
def test_a_mark_of_later_years_is_found_at_any_claim(point: str, variant: str) -> None:
    """What began after all that is covered is no first part in any year, and says no month."""
    for window in (("1930-01", "1930-12"), ("1979-01", "1979-12")):
        verdict = desk.judge_sheet(REFERENCE, document({point: {"seen": variant}}, window)).verdict
        assert verdict.found == (point,)
        assert verdict.speaking == 0


def test_cautions_stand_where_work_can_hurt() -> None:
    """UV, opening up, old celluloid, valves and declared materials carry their caution."""
    for point in REFERENCE.points:
        if "uv-lamp" in point.tools:
            assert "Never look into a UV lamp" in point.caution, point.id
        if point.access is Access.OPEN:
            assert "Unplug first" in point.caution, point.id
            assert "qualified technician" in point.caution, point.id
        if any("elluloid" in variant.label + variant.note for variant in point.seen):
            assert "burns fiercely" in point.caution, point.id
        if point.asks_material:
            assert "national CITES Management Authority" in point.caution, point.id


def test_labels_fit_a_thumb_button() -> None:
    """The words of a variant fit its button, and no two of a point are alike."""
    for point in REFERENCE.points:
        labels = [variant.label for variant in point.seen]
        assert len(set(labels)) == len(labels), point.id
        assert all(len(label) <= 28 for label in labels), point.id
        assert point.ask.endswith("?"), point.id


def test_no_species_is_asserted() -> None:
    """What is asked of materials is called declared or suspected, and never what it is."""
    asked = [point for point in REFERENCE.points if point.asks_material]
    assert [point.id for point in asked] == ["declared-board", "declared-inlay", "declared-nut"]
    for point in asked:
        assert "declared" in point.ask, point.id
        for variant in point.seen:
            assert variant.label.startswith(("Declared: ", "Suspected, not known", "Not asked"))
            assert variant.border == (variant.id not in ("none", "not-asked")), variant.id


def test_declared_materials_change_no_verdict() -> None:
    """What is declared is written down and moves nothing."""
    bare = desk.judge_sheet(REFERENCE, document(OF_1962)).verdict
    told = desk.judge_sheet(REFERENCE, document({**OF_1962, **DECLARED})).verdict
    assert told == bare


def test_everything_answered_fits_a_sealed_card() -> None:
    """All points answered, with signs everywhere, leave room for a seal."""
    answers: dict[str, object] = {}
    for point in REFERENCE.points:
        if point.kind is Kind.DATECODE:
            answers[point.id] = {"read": "1376-6134", "sure": False, "state": "no-sign"}
        elif point.kind is Kind.SIGN:
            ids = [variant.id for variant in point.seen]
            where = ["front", "back", "edge"]
            answers[point.id] = {"seen": ids if point.many else ids[0], "where": where}
        else:
            answers[point.id] = {"seen": "other", "sure": False, "state": "signs"}
    judged = desk.judge_sheet(REFERENCE, document(answers, serial_text="X" * 16, access="open"))
    card = card_of(judged.sheet, judged.verdict, issued=MADE, interest="selling")
    assert len(encode(card)) <= LARGEST - SEAL_BYTES
