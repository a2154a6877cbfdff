"""`/inspect/<id>/card`: ask for leave, interest and marks; make the card."""

from typing import Any

import pytest

from quickcheck import desk
from tests import kit
from tests.web.checklist import Changing, OfInspection
from tests.web.kit import Site, assert_says

FORM: dict[str, Any] = {"leave": "y", "interest": "none"}
TWO_MARKS: dict[str, Any] = {
    "mark-place": ["board-9", "cavity"],
    "mark-kind": ["burn", "initials"],
    "mark-mm": ["6", "20"],
}


class TestChecklist(Changing, OfInspection):
    """What holds at every endpoint."""

    path = "/inspect/{id}/card"
    methods = frozenset({"GET", "POST"})


def answered(site: Site) -> Any:
    """Open an inspection with the answers of the kit and return its id."""
    inspection = site.begin(serial_text="0420")
    for point, answer in kit.ANSWERS.items():
        site.answer(inspection, point, seen=str(next(iter(answer.values()))))
    return inspection


def test_form(site: Site) -> None:
    """The form says what a card carries and does not prove, and has nothing ticked."""
    page = site.get(f"/inspect/{answered(site)}/card")
    assert_says(
        page, 200, "Make a card", "never carries the owner’s name, a price or a place", "unsealed"
    )
    assert "checked" not in page.text
    assert "The issuer has no interest in it." in page.text


def test_made(site: Site) -> None:
    """With leave and interest a card is made whose digits hold exactly what is stored."""
    inspection = answered(site)
    response = site.post(f"/inspect/{inspection}/card", {**FORM, **TWO_MARKS})
    assert response.status_code == 303
    digits = (response.location or "").removeprefix("/c/")
    read = desk.read_card(site.store, digits)
    judged = desk.judge_sheet(site.reference, site.document(inspection))
    assert read.judged.as_json() == judged.as_json()
    assert read.front.interest == "none"
    assert [(m.place, m.kind, m.mm) for m in read.judged.sheet.marks] == [
        ("board-9", "burn", 6.0),
        ("cavity", "initials", 20.0),
    ]


def test_marks_are_kept(site: Site) -> None:
    """The marks stay with the inspection and stand in the form the next time."""
    inspection = answered(site)
    site.post(f"/inspect/{inspection}/card", {**FORM, **TWO_MARKS})
    assert site.document(inspection)["marks"] == [
        {"place": "board-9", "kind": "burn", "mm": 6.0},
        {"place": "cavity", "kind": "initials", "mm": 20.0},
    ]
    page = site.get(f"/inspect/{inspection}/card").text
    for value in ("board-9", "burn", "cavity", "initials"):
        assert f'<option value="{value}" selected>' in page


def test_without_marks(site: Site) -> None:
    """Marks may be left out."""
    inspection = answered(site)
    assert site.post(f"/inspect/{inspection}/card", FORM).status_code == 303
    assert site.document(inspection)["marks"] == []


WRONG: list[tuple[str, dict[str, Any], list[str]]] = [
    ("no leave", {"leave": None}, ["the owner’s leave", "Ask the owner"]),
    ("other leave", {"leave": "no"}, ["the owner’s leave"]),
    ("no interest", {"interest": None}, ["the issuer’s interest", "one of the three lines"]),
    ("other interest", {"interest": "fame"}, ["the issuer’s interest"]),
    ("place alone", {"mark-place": "board-9"}, ["mark 1", "Choose both, or neither"]),
    ("kind alone", {"mark-kind": "burn"}, ["mark 1", "Choose both, or neither"]),
    ("size alone", {"mark-mm": "6"}, ["mark 1"]),
    ("place", {"mark-place": "moon", "mark-kind": "burn"}, ['"moon"']),
    ("kind", {"mark-place": "board-9", "mark-kind": "kiss"}, ['"kiss"']),
    (
        "size",
        {"mark-place": "board-9", "mark-kind": "burn", "mark-mm": "big"},
        ['"big"', "number"],
    ),
    (
        "huge",
        {"mark-place": "board-9", "mark-kind": "burn", "mark-mm": "99999"},
        ["mm"],
    ),
]


@pytest.mark.parametrize(("more", "said"), [w[1:] for w in WRONG], ids=[w[0] for w in WRONG])
def test_bad_input(site: Site, more: dict[str, Any], said: list[str]) -> None:
    """What can't go on a card is told in words; what was chosen stays; nothing is stored."""
    inspection = answered(site)
    before = len(site.history(inspection))
    fields = {key: value for key, value in {**FORM, **more}.items() if value is not None}
    response = site.post(f"/inspect/{inspection}/card", fields)
    assert_says(response, 422, *said)
    assert len(site.history(inspection)) == before
    if fields.get("leave") == "y":
        assert 'name="leave" value="y" checked' in response.text
    if fields.get("interest") == "none":
        assert 'value="none" checked' in response.text
    if more.get("mark-mm"):
        assert f'value="{more["mark-mm"]}"' in response.text


def test_page_after_a_refusal_can_be_used(site: Site) -> None:
    """An inspection is not harmed by a card that was refused."""
    inspection = answered(site)
    site.post(f"/inspect/{inspection}/card", {**FORM, "mark-place": "moon", "mark-kind": "burn"})
    assert site.get(f"/inspect/{inspection}/card").status_code == 200
    assert site.post(f"/inspect/{inspection}/card", FORM).status_code == 303


def test_two_faults_at_once(site: Site) -> None:
    """Everything that is missing is told at once."""
    response = site.post(f"/inspect/{answered(site)}/card", {})
    assert_says(response, 422, "the owner’s leave", "the issuer’s interest")


def test_inch_marks(site: Site) -> None:
    """A size may be typed with its unit; it is stored in mm."""
    inspection = answered(site)
    fields = {**FORM, "mark-place": "board-9", "mark-kind": "burn", "mark-mm": "1/4 in"}
    response = site.post(f"/inspect/{inspection}/card", fields)
    assert response.status_code == 303
    assert site.document(inspection)["marks"][0]["mm"] == pytest.approx(6.35)
