"""`/inspect/<id>/undo`: take the last change back."""

from tests.web.checklist import Changing, OfInspection
from tests.web.kit import Site


class TestChecklist(Changing, OfInspection):
    """What holds at every endpoint."""

    path = "/inspect/{id}/undo"


def test_last_answer_is_taken_back(site: Site) -> None:
    """The last answer is gone, the one before is there, and the page shows the point."""
    inspection = site.begin()
    site.answer(inspection, "knobs", seen="wood")
    site.answer(inspection, "serial", seen="420")
    response = site.post(f"/inspect/{inspection}/undo", {})
    assert (response.status_code, response.location) == (303, f"/inspect/{inspection}?at=serial")
    assert site.answers(inspection) == {"knobs": {"seen": "wood"}}


def test_earlier_answer_comes_back(site: Site) -> None:
    """An answer that was changed is again what it was."""
    inspection = site.begin()
    site.answer(inspection, "knobs", seen="wood", note="chip")
    site.answer(inspection, "knobs", seen="horn")
    site.post(f"/inspect/{inspection}/undo", {})
    assert site.answers(inspection) == {"knobs": {"seen": "wood", "note": "chip"}}


def test_cleared_answer_comes_back(site: Site) -> None:
    """An answer that was cleared is there again."""
    inspection = site.begin()
    site.answer(inspection, "knobs", seen="wood")
    site.answer(inspection, "knobs", go="clear")
    site.post(f"/inspect/{inspection}/undo", {})
    assert site.answers(inspection) == {"knobs": {"seen": "wood"}}


def test_undo_after_undo(site: Site) -> None:
    """One undo after another walks back to the beginning and stays there."""
    inspection = site.begin()
    for point, seen in (("knobs", "wood"), ("serial", "420"), ("edge-sign", "none")):
        site.answer(inspection, point, seen=seen)
    counts = []
    for _ in range(5):
        response = site.post(f"/inspect/{inspection}/undo", {})
        assert response.status_code == 303
        counts.append(len(site.answers(inspection)))
    assert counts == [2, 1, 0, 0, 0]
    assert response.location == f"/inspect/{inspection}"


def test_nothing_to_undo(site: Site) -> None:
    """At the beginning an undo changes nothing and shows the outline."""
    inspection = site.begin()
    response = site.post(f"/inspect/{inspection}/undo", {})
    assert (response.status_code, response.location) == (303, f"/inspect/{inspection}")
    assert len(site.history(inspection)) == 1


def test_changed_claim_is_taken_back(site: Site) -> None:
    """A change of the claim is a change like any other; no point is shown for it."""
    inspection = site.begin()
    fields = {"first": "1953-01", "last": "1953-02", "access": "open"}
    site.post(f"/inspect/{inspection}/claim", fields)
    assert site.document(inspection)["window"] == ["1953-01", "1953-02"]
    response = site.post(f"/inspect/{inspection}/undo", {})
    assert response.location == f"/inspect/{inspection}"
    assert site.document(inspection)["window"] == ["1952-03", "1952-08"]


def test_nothing_is_lost(site: Site) -> None:
    """What was taken back can still be read in the history."""
    inspection = site.begin()
    site.answer(inspection, "knobs", seen="wood")
    site.post(f"/inspect/{inspection}/undo", {})
    answers = [entry.document["answers"] for entry in site.history(inspection)]
    assert answers == [{}, {"knobs": {"seen": "wood"}}, {}]
