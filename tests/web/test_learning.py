"""`/references/learn`: a table and points in, a bar, the report, an edition."""

import io
import re
from dataclasses import replace
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from quickcheck import desk
from quickcheck.desk import Learning, PointsFile, Stage, Workshop
from quickcheck.desk.workshop import Result
from quickcheck.errors import Fault
from quickcheck.learn import Table
from quickcheck.reference import read_reference
from tests import kit as plain
from tests.desk.small import POINTS, faulty_table, table
from tests.web.checklist import Changing, Page
from tests.web.kit import HERE, REFERENCE, Site, assert_says, has_trace, words

PATH = "/references/learn"
NOWHERE = f"{PATH}/{'0' * 32}"


def test_wrong_methods(site: Site) -> None:
    """What only shows can't be posted to, and what changes can't be fetched."""
    assert site.client.put(PATH, headers=HERE).status_code == 405
    for path in ("start", "stop", "keep"):
        assert site.get(f"{NOWHERE}/{path}").status_code == 405


class TestBegin(Page):
    """What holds at every endpoint."""

    path = PATH
    methods = frozenset({"GET", "POST"})


class TestPut(Changing):
    """What holds at every endpoint that changes something; a table may be longer than a form."""

    path = PATH
    methods = frozenset({"GET", "POST"})

    def test_too_large_body(self, site: Site) -> None:
        """More than any table is refused with a page."""
        assert_says(site.post(PATH, {"of": "x" * 8_000_001}), 413, "Too large")


def workshop(site: Site) -> Workshop:
    """Return where the site learns."""
    found: Workshop = site.app.extensions["quickcheck-workshop"]
    return found


def sent(client: FlaskClient, points: str = POINTS, rows: str = "", **more: str) -> str:
    """Send points and a table; return where the page is that shows what comes of it."""
    files = {"points": (io.BytesIO(points.encode()), "points.toml")}
    if rows:
        files["examples"] = (io.BytesIO(rows.encode()), "t.csv")
    reply = client.post(PATH, data={**files, **more}, headers=HERE)
    assert reply.status_code == 303, words(reply)
    return str(reply.location)


def put(site: Site, stage: Stage, **more: object) -> str:
    """Put a learning into the workshop as if it were so far; return its page."""
    file: PointsFile = desk.points_in(POINTS, name="small.toml", pictures={})
    rows = desk.examples_in(file.reference, table().encode(), name="t.csv")
    made = replace(Learning("a" * 32, file, rows, stage), **more)  # type: ignore[arg-type]
    workshop(site)._kept[made.id] = made
    return f"{PATH}/{made.id}"


def test_from_a_table_to_an_edition(writer: Site, folder: Path) -> None:
    """Faulty rows are listed by their numbers and left out on request; the rest is learned and kept."""
    page = sent(writer.client, rows=faulty_table())
    asking = writer.get(page)
    assert_says(asking, 200, "8 rows are without fault", "2 rows with faults", "Row 3", "Row 9")
    assert_says(asking, 200, 'column "month": expected a month', "Learn without these 2 rows")
    assert writer.post(f"{page}/start", {}).location == page
    workshop(writer).wait()
    done = writer.get(page)
    assert_says(done, 200, "What was learned", "Left out: 2 rows with faults", "slot → cross")
    assert "<svg" in done.text
    assert writer.post(f"{page}/keep", {"edition": "2, learned"}).location == "/references/small"
    assert read_reference(folder / "small.toml").edition == "2, learned"
    assert_says(writer.get("/references/small"), 200, "Edition 2, learned")


def test_points_of_a_reference_and_the_book(writer: Site) -> None:
    """Points may be a reference's own, with its pictures, and examples the book's documented ones."""
    assert_says(writer.get(PATH), 200, "once they are marked as documented")
    inspection = writer.begin(name="The Vicar")
    writer.answer(inspection, "knobs", seen="wood")
    papers = {"kind": "photo", "first": "1952-03"}
    writer.post(f"/inspect/{inspection}/papers", papers)
    assert_says(writer.get(PATH), 200, "1 marked as documented", "1 of Loom One (invented)")
    reply = writer.post(PATH, {"of": "loom-one", "book": "y"})
    assert reply.status_code == 303
    workshop(writer).wait()
    done = writer.get(str(reply.location))
    assert_says(done, 200, "1 documented instruments", "takes the place of the edition in force")


def test_a_faulty_inspection_of_the_book(writer: Site) -> None:
    """An inspection that the points can't take is listed by its name, not by a row."""
    inspection = writer.begin(name="The Vicar")
    writer.answer(inspection, "knobs", seen="wood")
    writer.post(f"/inspect/{inspection}/papers", {"kind": "photo", "first": "1952-03"})
    points = plain.REFERENCE.replace('id = "wood"', 'id = "bone"')
    page = writer.get(sent(writer.client, points=points, book="y"))
    assert_says(page, 200, "1 row with faults", "Book", "The Vicar (", "Send another table")
    assert "Learn without" not in page.text


@pytest.mark.parametrize(
    ("form", "status", "message"),
    [
        ({}, 422, "expected a reference whose points are looked at, or a points file; got neither"),
        ({"of": "none"}, 404, "expected one of loom-one"),
        ({"of": "loom-one"}, 422, "at least one documented instrument"),
        ({"points": (io.BytesIO(b"= 1"), "p.toml")}, 422, "p.toml"),
        ({"points": (io.BytesIO(b"\xff"), "p.toml")}, 422, "expected a points file: text in UTF-8"),
        (
            {"of": "loom-one", "examples": (io.BytesIO(b"\xff"), "t.csv")},
            422,
            "expected a table saved as CSV in UTF-8",
        ),
        (
            {"of": "loom-one", "examples": (io.BytesIO(b"a,b\n"), "t.csv")},
            422,
            'expected a head with "instrument"',
        ),
    ],
    ids=["nothing", "no-reference", "no-table", "no-toml", "no-text", "no-csv", "no-head"],
)
def test_what_can_not_be_learned_from(
    writer: Site, form: dict[str, object], status: int, message: str
) -> None:
    """What is wrong with the whole is told on the page that asks for it."""
    assert_says(writer.post(PATH, form), status, message)


def test_one_at_a_time(writer: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """While the server learns another table is refused, before and after it was asked about."""
    page = sent(writer.client, rows=faulty_table())
    monkeypatch.setattr(workshop(writer), "_thread", StillThere())
    assert_says(writer.post(f"{page}/start", {}), 409, "One at a time", "Learn without these 2")
    form = {"points": (io.BytesIO(POINTS.encode()), "points.toml")}
    form["examples"] = (io.BytesIO(table().encode()), "t.csv")
    assert_says(writer.post(PATH, form), 409, "One at a time")


class StillThere:
    """A thread that does not end."""

    def is_alive(self) -> bool:
        """Say so."""
        return True


def test_the_bar(site: Site) -> None:
    """The page shows how much is done, asks again by itself without scripts; a script gets the bar."""
    page = put(site, Stage.RUNNING, share=0.4217)
    whole = site.get(page)
    assert_says(whole, 200, "42 %", "10 documented instruments", "Stop")
    assert '<noscript><meta http-equiv="refresh" content="2"></noscript>' in whole.text
    assert 'value="0.422"' in whole.text
    part = site.get(page, headers={"X-Part": "1"})
    assert "<html" not in part.text
    assert 'data-stage="running"' in part.text
    assert_says(site.get(f"{page}/reference.toml"), 404, "expected one that is done; got running")
    assert site.post(f"{page}/stop", {}).location == page
    assert_says(site.get(page), 200, "Stopped", "Send a table")


def test_failed(site: Site) -> None:
    """A learning that failed says why, and nothing is to be had of it."""
    page = put(site, Stage.FAILED, faults=(Fault("learning", "an end", "none", "Take fewer."),))
    assert_says(site.get(page), 200, "Nothing was learned", "Take fewer.")
    assert 'http-equiv="refresh"' not in site.get(page).text


def test_files(site: Site) -> None:
    """Reference and report are handed out as files, never shown as pages of ours."""
    page = put(site, Stage.DONE, result=Result("a = 1\n", "<!doctype html>x", "<p>x</p>"))
    for name, text in (("reference.toml", "a = 1\n"), ("report.html", "<!doctype html>x")):
        reply = site.get(f"{page}/{name}")
        assert reply.text == text
        extension = name.partition(".")[2].replace("html", "report.html")
        assert reply.headers["Content-Disposition"] == f"attachment; filename=small.{extension}"


def test_the_label_of_another(writer: Site) -> None:
    """Kept under the label of the edition in force it is refused on the same page, label and all."""
    text = REFERENCE.replace("odds = 5", "odds = 6")
    page = put(writer, Stage.DONE, result=Result(text, "", "<p>x</p>"))
    reply = writer.post(f"{page}/keep", {"edition": "2026-04"})
    assert_says(reply, 422, "expected a label that no other edition has")
    assert 'value="2026-04"' in reply.text
    assert writer.post(f"{page}/keep", {"edition": "2026-05"}).status_code == 303


def test_not_known(site: Site) -> None:
    """After a new start of the server, or with nonsense in the address, it is said what to do."""
    for page in (NOWHERE, f"{PATH}/nonsense"):
        reply = site.get(page)
        assert_says(reply, 404, "since this server was started", "Send the table again")
        assert not has_trace(reply)
        for path in ("start", "stop", "keep"):
            assert site.post(f"{page}/{path}", {}).status_code == 404


def test_its_own_script_and_sheet(site: Site) -> None:
    """Script and sheet are loaded by these pages alone, and are nothing that a phone takes along."""
    page = site.get(put(site, Stage.RUNNING)).text
    worker = site.get("/sw.js").text
    for name in ("js/learning.js", "css/page/learning.css"):
        assert name in page
        assert name not in worker
        assert name not in site.get("/").text


def test_learning_from_nothing_is_not_asked_twice(site: Site) -> None:
    """A table in which every row has faults can't be learned without them."""
    faulty = Table((), (Fault("t.csv, row 2, its cells", "2 cells", "3", "Mend it."),), 1)
    page = put(site, Stage.ASKING, table=faulty)
    assert re.search("0 rows are without fault", words(site.get(page)))
    assert_says(site.post(f"{page}/start", {}), 422, "at least one documented instrument")
