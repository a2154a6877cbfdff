"""`/api`: documents that devices send, and what they ask for."""

import json
from concurrent.futures import ThreadPoolExecutor
from typing import Any
from uuid import UUID, uuid4

import pytest
from flask import abort

from quickcheck.reference import read_reference_text
from quickcheck.store import Kind, write
from quickcheck.web.guard import HEADERS
from tests import kit
from tests.web.checklist import METHODS
from tests.web.kit import HERE, NOBODY, PICTURE, REFERENCE, Site, has_trace
from tests.web.sending import OUTBOX, message, put, send

ID = UUID(NOBODY)


def hash_of(**more: Any) -> str:
    """Return the hash of a document with these keys."""
    return write(kit.document(**more)).sha256


def kinds(site: Site, inspection: UUID = ID) -> list[str]:
    """Return what the history holds, in order."""
    return [str(entry.kind) for entry in site.history(inspection)]


def fault(response: Any, status: int) -> dict[str, Any]:
    """Return a fault, which is JSON with words in it and no trace."""
    assert response.status_code == status, response.text
    assert response.mimetype == "application/json"
    told: dict[str, Any] = response.get_json()
    assert told["error"]
    assert told["text"]
    assert isinstance(told["faults"], list)
    assert not has_trace(response)
    return told


def test_receipt(site: Site) -> None:
    """The receipt echoes id, revision and hash, names the book, and has the server's judgement."""
    response = send(site, name="Seven")
    told = response.get_json()
    assert response.status_code == 201
    assert (told["uuid"], told["revision"], told["sha256"]) == (NOBODY, 1, hash_of(name="Seven"))
    assert told["verdict"]["verdict"]
    assert told["missing"] == []
    assert len(told["epoch"]) == 32
    assert site.document(ID) == kit.document(name="Seven")


def test_repeat(site: Site) -> None:
    """Sent again after the reply was lost, it gets the same receipt and is nothing new."""
    first = send(site, name="Seven")
    again = send(site, name="Seven")
    assert again.status_code == first.status_code
    assert again.get_json() == first.get_json()
    assert kinds(site) == ["answer"]


def test_edited_after_a_lost_reply(site: Site) -> None:
    """What the device wrote after the reply was lost lies on what it sent."""
    send(site, name="Seven")
    response = send(site, hash_of(name="Seven"), name="Eight")
    assert (response.status_code, response.get_json()["revision"]) == (200, 2)
    assert kinds(site) == ["answer", "answer"]


def test_two_devices(site: Site) -> None:
    """The one that comes second learns what stands, both are kept, and pages say so."""
    send(site, name="Seven")
    send(site, name="One", base=1)
    told = fault(send(site, name="Two", base=1), 409)
    assert (told["uuid"], told["revision"]) == (NOBODY, 2)
    assert told["sha256"] == hash_of(name="One")
    assert (told["error"], told["kept"], told["again"]) == ("conflict", True, False)
    assert site.get(told["versions"]).status_code == 200
    assert kinds(site) == ["answer", "answer", "late"]
    for page in ("/book", f"/inspect/{NOBODY}"):
        assert told["versions"] in site.get(page).text, page
    assert site.get(f"/api/inspections/{NOBODY}").get_json()["two_versions"]


def test_an_answer_on_a_page_in_between(site: Site) -> None:
    """A page of the server and a phone on one inspection overwrite each other as little."""
    inspection = site.begin()
    site.answer(inspection, "knobs", seen="horn")
    assert fault(send(site, base=1, inspection=inspection), 409)["revision"] == 2
    assert site.answers(inspection) == {"knobs": {"seen": "horn"}}


def test_unknown_edition(site: Site) -> None:
    """A document for an edition that is not here is kept, with what to do; then it is taken."""
    newer = read_reference_text(
        REFERENCE.replace('edition = "2026-04"', 'edition = "2027-01"'),
        pictures={"wood.svg": PICTURE},
    )
    body = message(kit.document(), newer.hash)
    told = fault(put(site, body), 424)
    assert (told["error"], told["kept"], told["again"]) == ("edition", True, True)
    assert "Add the reference file" in told["text"]
    assert kinds(site) == ["parked"]
    assert put(site, body).status_code == 424
    assert kinds(site) == ["parked"]
    site.store.library.keep(newer)
    assert put(site, body).status_code == 201


def test_another_edition_than_it_began_with(site: Site) -> None:
    """An open inspection is never judged by another edition; the document is kept."""
    newer = read_reference_text(
        REFERENCE.replace('edition = "2026-04"', 'edition = "2027-01"'),
        pictures={"wood.svg": PICTURE},
    )
    site.store.library.keep(newer)
    send(site)
    told = fault(put(site, message(kit.document(n=2), newer.hash, base=1)), 424)
    assert site.reference.hash in told["text"]
    assert (told["revision"], told["again"]) == (1, False)
    assert kinds(site) == ["answer", "parked"]


def test_faults_of_the_document(site: Site) -> None:
    """All faults are told by place, and the document is kept beside."""
    answers = {"knobs": {"seen": "glass"}, "serial": {"read": "no number"}}
    told = fault(send(site, answers=answers), 422)
    assert {each["where"] for each in told["faults"]} >= {"answers.knobs.seen"}
    assert (told["error"], told["kept"], told["again"]) == ("faults", True, False)
    (entry,) = site.history(ID)
    assert (entry.kind, entry.document["answers"]) == (Kind.PARKED, answers)
    assert "answers.knobs.seen" in entry.reason
    page = site.get(told["versions"])
    assert "glass" in page.text
    assert "Let" not in page.text  # there is nothing that it could be put on


def test_judged_otherwise(site: Site) -> None:
    """A phone that judges otherwise is taken, and the difference is kept with both sides."""
    ours = send(site, name="Seven").get_json()["verdict"]
    same = {"rules": ours["rules"], "verdict": ours["verdict"], "reads_as": ours["reads_as"]}
    assert send(site, base=1, judged=same).status_code == 200
    assert site.store.book.differences() == ()
    assert send(site, base=2, judged={**same, "verdict": "other"}).status_code == 200
    (told,) = site.store.book.differences()
    assert (told.inspection, told.revision) == (ID, 3)
    assert json.loads(told.found.phone) == {"verdict": "other"}
    assert json.loads(told.found.server) == {"verdict": ours["verdict"]}
    report = site.get("/health?json").get_json()
    assert report["differences"][0]["revision"] == 3
    assert send(site, base=3, judged="nonsense").status_code == 200
    assert len(site.store.book.differences()) == 1


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"sha256": "0" * 64}, "sha256"),
        ({"sha256": "A" * 64}, "sha256"),
        ({"sha256": None}, "sha256"),
        ({"base": -1, "revision": 0}, "base"),
        ({"base": True}, "base"),
        ({"base": 2**31, "revision": 2**31 + 1}, "base"),
        ({"base": 0.0}, "base"),
        ({"base": "0"}, "base"),
        ({"revision": 3}, "revision"),
        ({"sent": "x"}, "sent"),
        ({"sent": ["x"]}, "sent"),
        ({"sent": ["0" * 64] * 1001}, "sent"),
        ({"reference": "../x"}, "reference"),
        ({"document": []}, "document"),
        ({"document": None}, "document"),
    ],
)
def test_malformed_message(site: Site, change: dict[str, Any], where: str) -> None:
    """What is not in the form agreed on names the field, and nothing of it is kept."""
    before = site.counts(), site.store.health()["parked"]
    told = fault(put(site, message(kit.document(), site.reference.hash) | change), 400)
    assert where in {each["where"] for each in told["faults"]}
    assert (site.counts(), site.store.health()["parked"]) == before


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"[]",
        b"null",
        b"{",
        b"\xff\xfe",
        b"<!doctype html><title>Sign in</title>",
        b"[" * 100_000,
        b'{"base": NaN}',
        b'{"base": 0, "base": 0}',
        b'{"base": ' + b"9" * 5000 + b"}",
        "{\ufeff}".encode(),
    ],
)
def test_no_json(site: Site, body: bytes) -> None:
    """Anything but a JSON object is refused in words."""
    assert fault(put(site, body), 400)["faults"][0]["where"] == "body"


@pytest.mark.parametrize("value", ["NaN", "Infinity", '"\\ud800"'])
def test_no_plain_json(site: Site, value: str) -> None:
    """What could not be kept as text is refused, not taken as something else."""
    body = json.dumps(message(kit.document(n="N"), site.reference.hash)).replace('"N"', value)
    assert put(site, body).status_code in (400, 422)
    assert site.counts()["inspections"] == 0


def test_truncated_anywhere(site: Site) -> None:
    """Cut at any byte, a message leaves nothing behind."""
    whole = json.dumps(message(kit.document(), site.reference.hash)).encode()
    for at in range(0, len(whole), 13):
        fault(put(site, whole[:at]), 400)
    assert site.counts()["inspections"] == 0
    assert put(site, whole).status_code == 201


@pytest.mark.parametrize("kind", ["text/html", "text/plain", "multipart/form-data", ""])
def test_content_type(site: Site, kind: str) -> None:
    """A message that does not say it is JSON is none."""
    body = message(kit.document(), site.reference.hash)
    assert fault(put(site, body, Content_Type=kind), 415)["again"] is False
    assert site.counts()["inspections"] == 0


def test_too_large(site: Site) -> None:
    """A document beyond 256 kB is refused as such, and the next one is taken."""
    assert fault(send(site, note="x" * 256 * 1024), 413)["error"] == "Too large"
    assert send(site, note="x" * 250 * 1024).status_code == 201


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site", "X-Outbox": "1"},
        {"Origin": "https://elsewhere.example", "X-Outbox": "1"},
        {"X-Outbox": "1"},
    ],
)
def test_from_elsewhere(site: Site, headers: dict[str, str]) -> None:
    """What no page of ours sent is refused, in JSON as well."""
    for path in (f"/api/inspections/{NOBODY}", f"/api/inspections/{NOBODY}/photos/{'0' * 64}"):
        response = site.client.put(path, json=message(kit.document(), site.reference.hash),
                                   headers=headers)  # fmt: skip
        assert fault(response, 403)["again"] is True
    assert site.counts()["inspections"] == 0


def test_without_the_outboxs_header(site: Site) -> None:
    """A change that no outbox sent is refused."""
    body = message(kit.document(), site.reference.hash)
    response = site.client.put(f"/api/inspections/{NOBODY}", json=body, headers=HERE)
    assert fault(response, 400)["faults"][0]["where"] == "X-Outbox"


@pytest.mark.parametrize(
    ("path", "takes"),
    [
        ("/api/epoch", {"GET"}),
        ("/api/book", {"GET"}),
        (f"/api/inspections/{NOBODY}", {"GET", "PUT"}),
        (f"/api/inspections/{NOBODY}/photos/{'0' * 64}", {"PUT"}),
    ],
)
def test_wrong_method(site: Site, path: str, takes: set[str]) -> None:
    """Any other method is refused in JSON, with those that work."""
    for method in METHODS - takes:
        response = site.client.open(path, method=method, headers=OUTBOX)
        fault(response, 405)
        assert takes <= set(response.allow)


@pytest.mark.parametrize(
    "path", ["/api/", "/api/nothing", "/api/inspections/x", "/api/book?before=x"]
)
def test_nowhere(site: Site, path: str) -> None:
    """An address under /api that leads nowhere is a fault in JSON."""
    fault(site.get(path), 404)


@pytest.mark.parametrize("status", [400, 404, 418, 429, 501, 503])
def test_any_fault_is_json(site: Site, status: int) -> None:
    """Faults of HTTP and of the program are JSON under /api, with all the headers."""

    def bug() -> str:
        message = "the inner workings"
        raise RuntimeError(message)

    site = site.with_own_app()
    site.app.add_url_rule("/api/fails", "fails", lambda: abort(status))
    site.app.add_url_rule("/api/bug", "bug", bug)
    response = site.get("/api/fails")
    fault(response, status)
    assert {name: response.headers.get(name) for name in HEADERS} == HEADERS
    assert "inner" not in fault(site.get("/api/bug"), 500)["text"]


def test_get(site: Site) -> None:
    """An inspection is given back with its revision and hash, so that a device can go on."""
    inspection = site.begin(name="Seven")
    told = site.get(f"/api/inspections/{inspection}").get_json()
    saved = site.store.book.get(inspection)
    assert (told["uuid"], told["revision"]) == (str(inspection), 1)
    assert told["sha256"] == saved.sha256 == write(told["document"]).sha256
    assert told["reference"] == site.reference.hash
    assert (told["missing_photos"], told["two_versions"]) == ([], False)


def test_book(site: Site) -> None:
    """All inspections are listed in pages, each once, with what a device compares."""
    opened = {str(site.begin(n=n)) for n in range(205)}
    path, found, pages = "/api/book", [], 0
    while path:
        told = site.get(path).get_json()
        found += told["inspections"]
        path = f"/api/book?before={told['before']}" if told["before"] else ""
        pages += 1
    assert pages == 3
    assert len(found) == 205
    assert {each["uuid"] for each in found} == opened
    one = site.store.book.get(UUID(found[0]["uuid"]))
    assert (found[0]["revision"], found[0]["sha256"]) == (one.revision, one.sha256)


def test_epoch(site: Site) -> None:
    """The book says its name, its count and the time; every write counts."""
    before = site.get("/api/epoch").get_json()
    send(site)
    after = site.get("/api/epoch").get_json()
    assert after["epoch"] == before["epoch"]
    assert after["commits"] == before["commits"] + 1
    assert after["mark"] != before["mark"]
    assert after["time"] > before["time"]


def test_epoch_after_a_loss(site: Site) -> None:
    """A device that saw more than is here brings a new epoch, which everybody then sees."""
    told = site.get("/api/epoch").get_json()
    book, start, count = told["mark"].split(".")
    lost = f"{book}.{start}.{int(count) + 5}"
    noticed = site.get("/api/epoch", headers={"X-Mark": lost}).get_json()
    assert noticed["epoch"] != told["epoch"]
    assert site.get("/api/book").get_json()["epoch"] == noticed["epoch"]


def test_eight_at_once(site: Site) -> None:
    """The same message eight times at once, twenty times over: one revision, one receipt."""
    for n in range(20):
        inspection = uuid4()
        body = message(kit.document(n=n), site.reference.hash)

        def deliver(_: int, inspection: UUID = inspection, body: Any = body) -> tuple[str, ...]:
            site_of_thread = Site(site.app, site.store, site.reference, site.app.test_client())
            told = put(site_of_thread, body, inspection).get_json()
            return (told["uuid"], told["revision"], told["sha256"], told["saved"])

        with ThreadPoolExecutor(8) as threads:
            receipts = set(threads.map(deliver, range(8)))
        assert len(receipts) == 1
        assert kinds(site, inspection) == ["answer"]
