"""The organizer's page: counts that add up, and a day that is finished."""

import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from uuid import UUID

import pytest
from werkzeug.test import TestResponse

from quickcheck.reference import Reference
from tests import kit
from tests.web.kit import words
from tests.web.showing import Show, showing


@pytest.fixture(name="show")
def _show(tmp_path: Path, reference: Reference) -> Iterator[Show]:
    with showing(tmp_path, reference) as show:
        extensions = show.site.app.extensions
        now = show.now()  # it stands still from here on
        extensions["quickcheck"] = replace(
            extensions["quickcheck"], exports=tmp_path / "exports", now=lambda: now
        )
        yield show


def tell(show: Show, who: str, *, unsent: int = 0, tally: str = "0 0 0") -> None:
    """Let somebody's phone tell what waits on it."""
    headers = {"X-Unsent": str(unsent), "X-Tally": tally, "X-Clock": show.now().isoformat()}
    assert show.ask(who, "/api/epoch", headers=headers).status_code == 200


def look(show: Show, path: str = "/stations") -> TestResponse:
    """Ask as the organizer, who has just unlocked the station."""
    show.unlock("organizer")
    return show.ask("organizer", path)


def finish(show: Show, **fields: str) -> TestResponse:
    """Finish the day as the organizer."""
    show.unlock("organizer")
    return show.post("organizer", "/stations/finish", **fields)


def choose(show: Show) -> None:
    """Decide the two versions that the show begins with."""
    book = show.site.store.book
    current = book.get(show.inspection)
    document = kit.document(name="Chosen")
    book.bring_back(show.inspection, document, revision=current.revision, now=show.now())


def test_the_page_shows_who_has_what(show: Show) -> None:
    """Each device's count, what waits there, the cards of the day, and what is open."""
    tell(show, "dealer B", tally="0 0 0")
    show.put("dealer B", UUID(int=5))
    tell(show, "dealer B", unsent=2, tally="3 2 0")
    page = words(look(show))
    assert "The count adds up." in page
    assert "dealer B: 2 not sent yet" in page
    assert "Of 1 inspections two versions are kept" in page


def test_a_count_that_does_not_add_up_is_said(show: Show) -> None:
    """An inspection that was begun and is nowhere stands against the day, by the device's name."""
    tell(show, "dealer B")
    tell(show, "dealer B", tally="1 0 0")
    page = words(look(show))
    assert "The count does not add up." in page
    assert "dealer B: 1 begun there, and neither here nor waiting there." in page


def test_the_counts_come_alone(show: Show) -> None:
    """What the script asks for every five seconds is the part that changes, and asks again."""
    part = look(show, "/stations/live").text
    assert part.lstrip().startswith('<section id="counts"')
    assert 'hx-get="/stations/live"' in part


def test_nobody_else_sees_a_count(show: Show) -> None:
    """A station whose rights ran out is told that, in place of the counts; it asks no more."""
    for who in ("dealer A", "kiosk", "locked", "nobody"):
        part = show.ask(who, "/stations/live").text
        assert "hx-get" not in part, who
        assert "Locked" in part, who
        assert "dealer" not in part, who
        assert show.ask(who, "/stations").status_code in {401, 404}, who


def test_the_day_is_not_finished_while_something_waits(show: Show, tmp_path: Path) -> None:
    """What is open is named, nothing is written, and a tick lets the organizer go on."""
    tell(show, "dealer B", unsent=1, tally="1 1 0")
    refused = finish(show)
    assert refused.status_code == 409
    assert "dealer B: 1 not sent yet" in words(refused)
    assert not (tmp_path / "exports").exists()
    done = finish(show, anyway="y")
    assert done.status_code == 200
    assert "The day is finished" in done.text


def test_a_finished_day_is_one_file_to_take_along(show: Show, tmp_path: Path) -> None:
    """With nothing open it is exported and proved, and the file given out is the one on the disk."""
    choose(show)
    for who in ("dealer A", "dealer B", "kiosk", "organizer", "locked"):
        tell(show, who, tally="0 0 0")
    done = finish(show)
    assert done.status_code == 200, words(done)
    (file,) = (tmp_path / "exports").iterdir()
    with look(show, f"/stations/exports/{file.name}") as given:
        assert given.data == file.read_bytes()
    with zipfile.ZipFile(file) as kept:
        assert kept.testzip() is None


def test_only_exports_are_given_out_and_to_nobody_else(show: Show) -> None:
    """Nothing that is no export has a name that is asked for; each holds every book."""
    for name in ("..%2Fshow.sqlite3", "show.sqlite3", "quickcheck-book-.zip"):
        assert look(show, f"/stations/exports/{name}").status_code == 404, name
    name = "quickcheck-book-2026-04-11.zip"
    assert show.ask("dealer A", f"/stations/exports/{name}").status_code == 404
