"""From one person at a kiosk to the next, as the server sees it."""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from quickcheck.card import digits
from quickcheck.desk import DISCARDED, Shelf
from quickcheck.reference import Reference
from quickcheck.store import THIS_BOOK, KeyFiles, Role, Store, make_key, open_store
from quickcheck.web import Settings, create_app
from tests.store.pictures import photo
from tests.web.kit import HERE, assert_says, words

NOON = datetime(2026, 4, 11, 12, tzinfo=UTC)
CARD = {"leave": "y", "interest": "none"}
CLAIM = {"reference": "loom-one", "year": "1953", "part": "early", "access": "open"}
SCRIPT = {"Accept": "application/json"}
DOCUMENT = {"Sec-Fetch-Dest": "document"}


@dataclass
class Kiosk:
    """A browser that was paired as a kiosk, and a clock that stands until it is put forward."""

    client: FlaskClient
    store: Store
    clock: list[datetime] = field(default_factory=lambda: [NOON])

    def wait(self, seconds: float) -> None:
        """Let time go by."""
        self.clock[0] += timedelta(seconds=seconds)

    def get(self, path: str, **headers: str) -> TestResponse:
        """Open a page."""
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return self.client.get(path, headers={**DOCUMENT, **named})

    def post(self, path: str, fields: dict[str, Any], **headers: str) -> TestResponse:
        """Send a form."""
        return self.client.post(path, data=fields, headers={**HERE, **headers})

    def begin(self, **words: str) -> str:
        """Begin an inspection; return its path."""
        begun = self.post("/", CLAIM | words)
        assert begun.status_code == 303, words
        return str(begun.location)

    def restart(self) -> None:
        """Start the browser again: what ends with it has ended."""
        self.client.delete_cookie("turn")
        self.client.delete_cookie("cards")

    def document(self, path: str) -> dict[str, Any]:
        """Return what is stored of an inspection, whoever may see it."""
        return self.store.book.get(UUID(path.rpartition("/")[2])).document


@pytest.fixture(name="show", scope="module")
def _show(tmp_path_factory: pytest.TempPathFactory, empty_book: Path, reference: Reference) -> Path:
    """Return a folder with a book that has an organizer and a key, made once: secrets take time."""
    folder = tmp_path_factory.mktemp("show")
    shutil.copy(empty_book, folder / "book.sqlite3")
    with open_store(folder / "book.sqlite3") as store:
        store.library.keep(reference)
        store.access.set_up("three looms and a half", "250814", NOON)
        files = KeyFiles(folder / "keys")
        make_key(store.keys, files, issuer="A test", now=NOON - timedelta(days=1))
    return folder


@pytest.fixture(name="sealing")
def _sealing() -> bool:
    return True


@pytest.fixture(name="kiosk")
def _kiosk(tmp_path: Path, show: Path, reference: Reference, sealing: bool) -> Iterator[Kiosk]:
    shutil.copy(show / "book.sqlite3", tmp_path)
    with open_store(tmp_path / "book.sqlite3") as store:
        clock = [NOON]
        shelf = Shelf({reference.id: reference}, {})
        keys = KeyFiles(show / "keys") if sealing else None
        app = create_app(Settings(store, shelf, now=lambda: clock[0], keys=keys))
        code = store.access.offer(Role.KIOSK, THIS_BOOK, name="By the door", now=NOON)
        found = Kiosk(app.test_client(), store, clock)
        assert found.post("/pair", {"code": code}).status_code == 303
        hand_over(found)
        yield found


def hand_over(kiosk: Kiosk, keep: str = "y") -> TestResponse:
    """Hand over as the page's script does."""
    reply = kiosk.post("/hand-over", {"keep": keep}, **SCRIPT)
    assert reply.status_code == 200, words(reply)
    return reply


def is_over(page: TestResponse) -> bool:
    """Whether a page says that the machine is free, and nothing else."""
    return page.status_code == 200 and 'data-over="1"' in page.text


def test_a_page_says_whose_turn_it_is(kiosk: Kiosk) -> None:
    """A kiosk's page names its visit, how long it waits, and has the button; its title is neutral."""
    path = kiosk.begin(name="Aunt Zebedine")
    page = kiosk.get(path)
    assert 'data-role="kiosk"' in page.text
    assert 'data-idle="600"' in page.text
    assert "Finished: next person" in words(page)
    assert "<title>quickcheck</title>" in page.text
    assert "data-offline" not in page.text
    assert 'data-idle="90"' in kiosk.get(f"{path}/verdict").text


def test_nobody_else_has_any_of_it(kiosk: Kiosk) -> None:
    """A dealer's page has no kiosk's script, and a dealer can't hand over."""
    code = kiosk.store.access.offer(Role.DEALER, THIS_BOOK, now=NOON)
    kiosk.post("/pair", {"code": code})
    assert "handover.js" not in kiosk.get("/").text
    assert "hand-over" not in kiosk.get("/").text
    assert kiosk.post("/hand-over", {"keep": "y"}).status_code == 404
    assert kiosk.post("/hand-over/here", {}).status_code == 404


def test_the_next_person_sees_nothing(kiosk: Kiosk) -> None:
    """After a hand-over the addresses of the visit before lead nowhere, and the book has it all."""
    path = kiosk.begin(serial_text="QX4471")
    before = kiosk.client.get_cookie("device")
    hand_over(kiosk)
    after = kiosk.client.get_cookie("device")
    assert before
    assert after
    assert before.value != after.value
    for rest in ("", "/verdict", "/claim", "/card", "/cards", "/versions"):
        assert kiosk.get(path + rest).status_code == 404
    assert kiosk.get(f"/api{path.replace('inspect', 'inspections')}").status_code == 404
    assert "QX4471" not in kiosk.get("/").text
    assert kiosk.document(path)["serial_text"] == "QX4471"


def test_the_old_cookie_is_worth_nothing(kiosk: Kiosk) -> None:
    """Once the new cookie was in use for a minute, whoever kept the old one is let in nowhere."""
    path = kiosk.begin()
    before = kiosk.client.get_cookie("device")
    assert before
    hand_over(kiosk)
    kiosk.wait(61)
    assert kiosk.client.get("/api/epoch", headers={"Sec-Fetch-Dest": "empty"}).status_code == 200
    kiosk.client.set_cookie("device", before.value)
    assert kiosk.get(path).status_code == 401


def test_a_power_cut_right_after_a_hand_over(kiosk: Kiosk) -> None:
    """A browser that comes back with the cookie before is still the kiosk, and shows nothing."""
    old = kiosk.begin()
    before = kiosk.client.get_cookie("device")
    assert before
    hand_over(kiosk)
    path = kiosk.begin()
    kiosk.restart()
    kiosk.client.set_cookie("device", before.value)
    assert kiosk.get(old).location == kiosk.get(path).location == "/"
    assert is_over(kiosk.get("/"))
    hand_over(kiosk)
    assert kiosk.get(path).status_code == 404
    assert not is_over(kiosk.get("/"))


def test_a_revoked_kiosk(kiosk: Kiosk) -> None:
    """A kiosk that was revoked is let in by neither cookie, and a made-up one by no chance."""
    before = kiosk.client.get_cookie("device")
    assert before
    hand_over(kiosk)
    (device,) = kiosk.store.access.devices()
    kiosk.store.access.revoke(device.id, NOON)
    for token in (before.value, "made up"):
        kiosk.client.set_cookie("device", token)
        assert kiosk.get("/").status_code == 401


def test_it_is_asked_what_to_keep(kiosk: Kiosk) -> None:
    """With an inspection that has no card it is asked first; nothing is handed over meanwhile."""
    path = kiosk.begin()
    assert kiosk.post("/hand-over", {}, **SCRIPT).get_json() == {"ask": True}
    assert_says(
        kiosk.post("/hand-over", {}), 200, "Keep it in the book", "Discard it", "Go on here"
    )
    assert kiosk.get(path).status_code == 200


def test_a_card_settles_it(kiosk: Kiosk) -> None:
    """Where a card was sealed of everything, nothing is asked."""
    path = kiosk.begin()
    assert kiosk.post(f"{path}/card", CARD).status_code == 303
    assert kiosk.post("/hand-over", {}).location == "/"


def test_discarded_is_empty_and_can_be_undone(kiosk: Kiosk) -> None:
    """Of a discarded inspection the book lists the window alone; an undo brings it all back."""
    path = kiosk.begin(serial_text="QX4471", name="Aunt Zebedine")
    hand_over(kiosk, keep="n")
    left = kiosk.document(path)
    assert set(left) <= {"reference", "window", "access", "tools", "name", "answers"}
    assert left["name"] == DISCARDED
    kiosk.store.book.undo(UUID(path.rpartition("/")[2]), now=NOON)
    assert kiosk.document(path)["serial_text"] == "QX4471"


def test_without_scripts(kiosk: Kiosk) -> None:
    """The plain form hands over, has the browser empty its cache, and leads to the start page."""
    kiosk.begin()
    done = kiosk.post("/hand-over", {"keep": "y"})
    assert (done.status_code, done.location) == (303, "/")
    assert done.headers["Clear-Site-Data"] == '"cache"'
    gone = {
        name
        for name in ("veil", "cards")
        if f"{name}=;" in " ".join(done.headers.getlist("Set-Cookie"))
    }
    assert gone == {"veil", "cards"}
    assert not is_over(kiosk.get("/"))


@pytest.mark.parametrize(("rest", "seconds"), [("/verdict", 90), ("/card", 90), ("", 600)])
def test_left_alone(kiosk: Kiosk, rest: str, seconds: int) -> None:
    """A page that was left for longer than its rule opens no more, nor does any other of the visit."""
    path = kiosk.begin()
    kiosk.get(path + rest)
    kiosk.wait(seconds)
    assert kiosk.get(path + rest).status_code == 200
    kiosk.wait(seconds + 11)
    turned_away = kiosk.get(path + rest)
    assert (turned_away.status_code, turned_away.location) == (303, "/")
    assert kiosk.get(f"/api{path.replace('inspect', 'inspections')}").status_code == 303
    assert is_over(kiosk.get("/"))
    assert "Begin" in words(kiosk.get("/"))
    hand_over(kiosk)
    assert not is_over(kiosk.get("/"))


def test_who_tells_stays(kiosk: Kiosk) -> None:
    """Somebody who types for minutes on one page is told of, and stays."""
    path = kiosk.begin()
    kiosk.get(f"{path}/claim")
    for _ in range(5):
        kiosk.wait(80)
        assert kiosk.post("/hand-over/here", {"inspecting": "n"}).status_code == 204
    assert kiosk.get(f"{path}/claim").status_code == 200
    kiosk.wait(611)
    assert kiosk.post("/hand-over/here", {"inspecting": "y"}).status_code == 409


def test_an_inspection_waits_for_hands(kiosk: Kiosk) -> None:
    """Told from an open inspection, the visit lasts ten minutes more."""
    path = kiosk.begin()
    kiosk.post("/hand-over/here", {"inspecting": "y"})
    kiosk.wait(599)
    assert kiosk.get(path).status_code == 200


def test_what_still_sends_is_taken(kiosk: Kiosk) -> None:
    """A page that wakes after an hour still sends its document to the visit that it is of."""
    path = kiosk.begin()
    kiosk.wait(3600)
    got = kiosk.client.get(
        f"/api{path.replace('inspect', 'inspections')}", headers={"Sec-Fetch-Dest": "empty"}
    )
    assert got.status_code == 200


def test_a_late_form_is_taken_and_not_shown(kiosk: Kiosk) -> None:
    """An answer that comes by a form after the rule is kept, and its reply shows nothing."""
    path = kiosk.begin()
    kiosk.get(f"{path}?at=knobs")
    kiosk.wait(3600)
    fields = {"_point": "knobs", "knobs": "wood", "_go": "next"}
    late = kiosk.post(f"{path}/answer", fields)
    assert (late.status_code, late.location) == (303, "/")
    assert kiosk.document(path)["answers"]["knobs"]["seen"] == "wood"
    assert is_over(kiosk.get("/"))


def test_a_browser_that_was_started_again(kiosk: Kiosk) -> None:
    """With the browser the visit ends, however short ago somebody was there."""
    path = kiosk.begin()
    kiosk.restart()
    assert kiosk.get(path).location == "/"
    assert is_over(kiosk.get("/"))


@pytest.mark.parametrize("told", ["", "x", "{}.1", "{}.-5.90", "{}.1.90", "other.99999999999.90"])
def test_a_cookie_that_was_made_up(kiosk: Kiosk, told: str) -> None:
    """What is no time of this visit counts as long ago."""
    page = kiosk.get("/").text
    mark = page.partition('data-visit="')[2][:16]
    kiosk.client.set_cookie("turn", told.replace("{}", mark))
    assert is_over(kiosk.get("/"))


@pytest.mark.parametrize("sealing", [True, False], ids=["sealed", "unsealed"])
def test_cards_have_names_of_the_visit(kiosk: Kiosk) -> None:
    """A kiosk's address of a card holds no card, and is of no use to the next person."""
    path = kiosk.begin(serial_text="QX4471")
    card = str(kiosk.post(f"{path}/card", CARD).location)
    assert len(card) == len("/c/") + 16
    page = kiosk.get(card)
    assert_says(page, 200, "QX4471")
    for link in ("/print", "/print/a6"):
        assert f'href="{card}/print' in page.text or link
        assert kiosk.get(card + link).status_code == 200
    assert "download=" not in page.text
    hand_over(kiosk)
    for link in ("", "/print", "/print/a6", "/card.png"):
        assert kiosk.get(card + link).status_code == 404


def test_a_card_by_its_digits(kiosk: Kiosk) -> None:
    """At a kiosk the digits of a card, out of a history or a book, open nothing."""
    path = kiosk.begin(serial_text="QX4471")
    kiosk.post(f"{path}/card", CARD)
    listed = kiosk.get(f"{path}/cards")
    shown = listed.text.partition('href="/c/')[2].partition('"')[0]
    assert "QX4471" in kiosk.get(f"/c/{shown.partition('/')[0]}").text
    (issued,) = kiosk.store.cards.of_inspection(UUID(path.rpartition("/")[2]))
    assert_says(kiosk.get(f"/c/{digits(issued.data)}"), 404, "in this visit")


def test_a_kiosk_keeps_no_app(kiosk: Kiosk) -> None:
    """A kiosk gets the worker that takes all back, and no page offers an app."""
    assert "unregister" in kiosk.get("/sw.js").text
    assert "manifest.webmanifest" not in kiosk.get("/").text


def test_fields_remember_nothing(kiosk: Kiosk) -> None:
    """Every form at a kiosk that takes words tells the browser not to keep them."""
    path = kiosk.begin()
    pages = (
        "/?reference=loom-one",
        path,
        f"{path}/claim",
        f"{path}/card",
        "/read",
        "/references/loom-one",
    )
    for address in pages:
        text = kiosk.get(address).text
        for form in text.split("<form")[1:]:
            inside = form.partition("</form>")[0]
            has_words = (
                any(f'type="{kind}"' in inside for kind in ("text", "search", "month"))
                or "<textarea" in inside
            )
            assert not has_words or 'autocomplete="off"' in form.partition(">")[0], (
                address,
                form[:200],
            )


def test_a_disk_that_fills_up(kiosk: Kiosk, monkeypatch: pytest.MonkeyPatch) -> None:
    """With room for answers only photos are refused, answers taken, and every page says so."""
    path = kiosk.begin()
    assert "nearly full" not in words(kiosk.get(path))
    monkeypatch.setattr(Store, "room", lambda _: 63_999_999)
    assert "nearly full: answers are kept, photos are not taken" in words(kiosk.get(path))
    content = photo()
    address = f"/api{path.replace('inspect', 'inspections')}/photos/{sha256(content).hexdigest()}"
    headers = {**HERE, "X-Outbox": "1"}
    refused = kiosk.client.put(address, data=content, content_type="image/jpeg", headers=headers)
    assert refused.status_code == 503
    assert "63 MB" in refused.text
    kiosk.post(f"{path}/answer", {"_point": "knobs", "knobs": "wood", "_go": "next"})
    assert kiosk.document(path)["answers"]["knobs"]["seen"] == "wood"
    monkeypatch.setattr(Store, "room", lambda _: None)  # a database on another machine
    taken = kiosk.client.put(address, data=content, content_type="image/jpeg", headers=headers)
    assert taken.status_code == 200, taken.text


def test_a_kiosk_reads_no_cards(kiosk: Kiosk) -> None:
    """A kiosk shows what is on it: cards of others are read at a station, and nothing offers it."""
    assert kiosk.get("/scan").status_code == 404
    path = kiosk.begin()
    card = str(kiosk.post(f"{path}/card", CARD).location)
    for address in ("/", "/?reference=loom-one", card):
        assert 'href="/scan"' not in kiosk.get(address).text
