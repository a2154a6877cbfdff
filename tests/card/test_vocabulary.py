"""The closed tables: every row keeps its number, and they agree with what the engine knows."""

import re
from pathlib import Path

import pytest

from quickcheck import card
from quickcheck.card import INTERESTS, MARK_KINDS, MARK_PLACES
from quickcheck.card.front import WIDTHS
from quickcheck.card.vocabulary import ACCESS, NOT_SEEN, SIGN_PLACES, STATES, VERDICTS
from quickcheck.engine import constants, rules
from quickcheck.reference import DISCLOSURES
from quickcheck.reference.records import Access, Place

PINNED = {
    "verdicts": "agrees agrees-with-changes in-doubt too-little-seen disagrees",
    "access": "look handle open",
    "states": "- changed signs no-sign undisturbed",
    "not_seen": "not-allowed not-visible no-tool no-time",
    "sign_places": "front headstock back edge open case",
    "interests": "selling selling-for-owner none",
    "mark_places": (
        "headstock headstock-back headstock-edge nut neck-back neck-pocket heel belly "
        "belly-treble belly-bass bridge bridge-back tailpiece guard knob back "
        "back-upper back-lower side side-treble side-bass upper-edge lower-edge "
        "upper-horn lower-horn forearm soundhole inside cavity label tag case"
    ),
    "mark_kinds": (
        "burn dent chip scratch crack mended-crack holes filled-holes pins wear "
        "checking line seam touch-up stain pale-square dark-patch initials stamp tape "
        "sticker ticket tear knot figure missing patch"
    ),
    "disclosures": (
        "refinish overspray touch-up stripped polished checking faded refret "
        "partial-refret planed-board replaced-board replaced-nut replaced-saddle "
        "changed-tuners plugged-holes reamed changed-hardware reproduction-part "
        "period-part replated rewound changed-pickups rewired resoldered routed "
        "filled-rout refitted-electronics new-top new-back neck-reset neck-shim "
        "neck-reshaped other-neck married headstock-repair new-veneer renumbered "
        "replaced-bridge cleated-crack new-braces new-binding player-wear other-case "
        "modified"
    ),
}
TABLES = {
    "verdicts": VERDICTS,
    "access": ACCESS,
    "states": tuple(state or "-" for state in STATES),
    "not_seen": NOT_SEEN,
    "sign_places": SIGN_PLACES,
    "interests": tuple(INTERESTS),
    "mark_places": tuple(MARK_PLACES)[24:],
    "mark_kinds": tuple(MARK_KINDS),
    "disclosures": tuple(DISCLOSURES),
}


@pytest.mark.parametrize("table", PINNED)
def test_rows_keep_their_numbers(table: str) -> None:
    """A table may grow at its end; a printed number never changes its meaning."""
    pinned = tuple(PINNED[table].split())
    assert TABLES[table][: len(pinned)] == pinned


def test_the_frets_come_first() -> None:
    """The first 24 places are the frets, by number."""
    assert tuple(MARK_PLACES)[:24] == tuple(f"board-{fret}" for fret in range(1, 25))


def test_the_card_has_a_number_for_all_that_the_engine_says() -> None:
    """No verdict, state, reason, access or place is without its row."""
    assert set(VERDICTS) == {rule.verdict for rule in rules.TABLE}
    assert {state or "" for state in STATES} == set(constants.STATES)
    assert set(NOT_SEEN) == set(constants.NOT_SEEN)
    assert tuple(Access) == ACCESS
    assert tuple(Place) == SIGN_PLACES


@pytest.mark.parametrize(
    ("table", "bits"),
    [(MARK_PLACES, 6), (MARK_KINDS, 5), (VERDICTS, 3), (INTERESTS, 2), (DISCLOSURES, 6)],
)
def test_tables_fit_their_bits(table: tuple[str, ...], bits: int) -> None:
    """No table outgrows its field (for disclosures: 15 blocks of 8 are far off)."""
    assert len(table) <= 1 << bits
    assert len(set(table)) == len(table)


def test_the_front_is_23_bytes_before_its_texts() -> None:
    """The fields of fixed width add up to 190 bits."""
    assert sum(WIDTHS.values()) == 190


def test_the_readme_has_every_field_with_its_width() -> None:
    """The write-up of the layout lists the fields of the front in order, with their bits."""
    text = (Path(card.__file__).parent / "README.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| ([a-z ]+) \| (\d+) \|", text.split("\n## Front")[1], re.MULTILINE)
    assert rows[: len(WIDTHS)] == [(field, str(width)) for field, width in WIDTHS.items()]
