"""Disclosures and selectors: which points a seller's word changes or silences."""

import re

import pytest

from quickcheck import paths
from quickcheck.reference import DISCLOSURES, Kind, Reference, read_reference, select

DEMO = paths.DEMO / "references"


@pytest.fixture(name="poplin", scope="module")
def _poplin() -> Reference:
    return read_reference(DEMO / "hobbinsley-poplin")


@pytest.fixture(name="taffeta", scope="module")
def _taffeta() -> Reference:
    return read_reference(DEMO / "hobbinsley-taffeta")


@pytest.mark.parametrize(
    ("selector", "ids"),
    [
        ("nut", {"nut"}),
        ("neck-depth*", {"neck-depth-1", "neck-depth-12"}),
        ("*-pot", {"volume-pot", "tone-pot"}),
        ("assembly:electrics", {"pickup-dcr", "volume-pot", "tone-pot"}),
        ("area:tuners", {"tuners", "tuner-ferrules"}),
        ("area:wing", set()),
        ("place:front", set()),
        ("finish-signs", set()),
        ("gone", set()),
    ],
)
def test_selectors(poplin: Reference, selector: str, ids: set[str]) -> None:
    """An id, a star, an area or an assembly select points; signs are never selected."""
    assert select(poplin.points, [selector]) == ids


def test_selectors_add_up(poplin: Reference) -> None:
    """Several selectors select what any of them does."""
    assert select(poplin.points, ["nut", "*-pot"]) == {"nut", "volume-pot", "tone-pot"}


@pytest.mark.parametrize(
    ("name", "own", "others"),
    [
        ("refinish", {"finish"}, {"edge-radius", "head-mark", "motto"}),
        ("changed-tuners", {"tuners"}, set()),
        ("reamed", set(), {"tuners", "tuner-ferrules"}),
        ("replaced-board", {"board"}, {"markers", "neck-depth-1", "neck-depth-12"}),
        ("planed-board", set(), {"markers", "neck-depth-1", "neck-depth-12"}),
        ("replaced-nut", {"nut"}, set()),
        ("rewound", {"pickup-dcr"}, set()),
        ("changed-pickups", {"pickup-cover", "pickup-dcr"}, set()),
        ("rewired", {"volume-pot", "tone-pot"}, set()),
        ("renumbered", {"serial"}, set()),
        ("other-case", {"case"}, set()),
        ("neck-shim", set(), set()),
        ("player-wear", set(), set()),
    ],
)
def test_effects_on_a_solid_body(
    poplin: Reference, name: str, own: set[str], others: set[str]
) -> None:
    """Each term changes its own points and silences those that can't be trusted any more."""
    assert DISCLOSURES[name].effects(poplin) == (own, others)


def test_effects_on_an_archtop(taffeta: Reference) -> None:
    """The same terms fit another kind of instrument by the beginnings of its ids."""
    own, others = DISCLOSURES["new-top"].effects(taffeta)
    assert own == set()
    assert {"label", "brace", "kerfing", "binding", "finish"} <= others
    assert DISCLOSURES["new-binding"].effects(taffeta)[0] == {"binding"}


def test_another_neck_silences_the_neck_only(poplin: Reference) -> None:
    """What is found on a neck from elsewhere says nothing about the rest."""
    own, others = DISCLOSURES["other-neck"].effects(poplin)
    assert own == set()
    assert others == {p.id for p in poplin.points if p.assembly == "neck" and p.kind != Kind.SIGN}


@pytest.mark.parametrize("disclosure", DISCLOSURES.values(), ids=str)
def test_no_point_is_both_changed_and_silenced(poplin: Reference, disclosure: object) -> None:
    """A point declared changed still speaks: of its change."""
    own, others = disclosure.effects(poplin)  # type: ignore[attr-defined]
    assert not own & others


def test_every_row_has_its_words() -> None:
    """Ids are ids, terms and meanings are there, no term comes twice, nothing is 'original'."""
    assert len({each.term for each in DISCLOSURES.values()}) == len(DISCLOSURES)
    for name, each in DISCLOSURES.items():
        assert name == each.id
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", name)
        assert each.term[0].isupper()
        assert each.meaning
        assert "original" not in each.meaning
