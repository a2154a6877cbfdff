"""`/inspect/<id>/versions`: every version, what differs, and one to choose."""

import re
from functools import partial
from uuid import UUID

import pytest

from tests import kit
from tests.web import sending
from tests.web.checklist import Changing, OfInspection
from tests.web.kit import Site, assert_says, words

ID = UUID("00000000-0000-4000-8000-000000000007")
PATH = f"/inspect/{ID}/versions"
send = partial(sending.send, inspection=ID)


class TestChecklist(Changing, OfInspection):
    """What holds at every endpoint."""

    path = "/inspect/{id}/versions"
    methods = frozenset({"GET", "POST"})


@pytest.fixture(autouse=True, name="two")
def _two(site: Site) -> None:
    """Keep two versions: somebody saved in between."""
    send(site, name="First")
    send(site, name="Seven", base=1)
    horn = {**kit.ANSWERS, "knobs": {"seen": "horn"}}
    send(site, name="Seven", base=1, answers=horn)


def choices(site: Site) -> dict[str, str]:
    """Return the versions that can be chosen, by key, with the revision that they go on."""
    form = r'name="version" value="([^"]+)"><input type="hidden" name="revision" value="(\d+)"'
    return dict(re.findall(form, site.get(PATH).text))


def test_what_differs(site: Site) -> None:
    """Each version says when and from where it came, and what differs from what stands."""
    page = site.get(PATH)
    assert_says(page, 200, "Two versions are kept", "Revision 2", "Revision 1", "Came too late")
    assert_says(page, 200, "Knobs: seen horn wood", "Name First Seven", "Device 1", "11 Apr 2026")
    assert choices(site) == {"revision-1": "2", "revision-2": "2", "late-1": "2"}


def test_choose_the_late_one(site: Site) -> None:
    """The one that came too late is brought back as a new revision, and the mark is gone."""
    response = site.post(PATH, {"version": "late-1", "revision": "2"})
    assert (response.status_code, response.location) == (303, f"/inspect/{ID}")
    assert site.answers(ID)["knobs"] == {"seen": "horn"}
    assert site.store.book.get(ID).revision == 3
    assert "Two versions" not in words(site.get(PATH)) + words(site.get("/book"))
    assert len(site.history(ID)) == 4


def test_let_it_stand(site: Site) -> None:
    """Choosing what stands settles it too, and stays in the history."""
    site.post(PATH, {"version": "revision-2", "revision": "2"})
    assert site.answers(ID)["knobs"] == {"seen": "wood"}
    assert "Two versions" not in words(site.get(f"/inspect/{ID}"))
    assert "Chosen, revision 3" in words(site.get(PATH))


@pytest.mark.parametrize("revision", ["1", "3", "", "x", "-2", "٢"])
def test_chosen_on_an_old_page(site: Site, revision: str) -> None:
    """Somebody saved in between again: nothing is changed, and who chose looks again."""
    response = site.post(PATH, {"version": "late-1", "revision": revision})
    assert_says(response, 409, "Look at the versions again")
    assert len(site.history(ID)) == 3


@pytest.mark.parametrize("version", ["", "late-7", "revision-0", "x"])
def test_unknown_version(site: Site, version: str) -> None:
    """What is no version of this inspection is not found."""
    assert_says(site.post(PATH, {"version": version, "revision": "2"}), 404, "version")


def test_one_that_could_not_be_taken(site: Site) -> None:
    """A parked version is shown with its reason, and can't be made to stand."""
    send(site, base=2, answers={"knobs": {"seen": "glass"}})
    assert_says(site.get(PATH), 200, "Could not be taken", "answers.knobs.seen", "glass")
    response = site.post(PATH, {"version": "parked-1", "revision": "2"})
    assert_says(response, 422, "Something is not right", "glass")
    assert site.store.book.get(ID).revision == 2
