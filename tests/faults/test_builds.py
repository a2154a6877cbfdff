"""The build before against today's server, and today's pages against the server before.

`before.json` is what a real browser and a real server of that build said to each other, and what the
browser kept, recorded from its tree by `record_before`. These tests prove that today's server takes
those very messages and gives replies with all that they were read for; that today's pages open,
judge and send what that build left on a phone; and that today's outbox is content with replies that
hold no more than that server gave. They do not run the old pages themselves: that a page of another
build and its server go on together while tabs change over is what `test_browser_update` and
`tests/browser/test_offline_shell` show, with two builds that differ in their files and not in what
they say.
"""

import http.client
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.handset import flush
from tests.browser.walking import PHONE, ready
from tests.faults.conftest import NewContext
from tests.faults.hands import Hands
from tests.faults.ledger import Ledger, hash_of, read_book
from tests.kit import Server, write_reference

pytestmark = pytest.mark.browser
BEFORE: Final = json.loads(Path(__file__).with_name("before.json").read_text(encoding="utf-8"))
SEED = """(drafts) => new Promise((done, fail) => {
  const opening = indexedDB.open('quickcheck', 1);
  opening.onerror = () => fail(opening.error);
  opening.onupgradeneeded = () => {
    opening.result.createObjectStore('drafts', { keyPath: 'id' });
    opening.result.createObjectStore('photos', { keyPath: 'sha256' });
  };
  opening.onsuccess = () => {
    const transaction = opening.result.transaction('drafts', 'readwrite');
    for (const draft of drafts) transaction.objectStore('drafts').put(draft);
    transaction.oncomplete = () => { opening.result.close(); done(); };
  };
})"""
"""Makes the database as that build made it, with these inspections in it."""


@pytest.fixture(name="server")
def _server(tmp_path: Path) -> Iterator[Server]:
    """Serve a book of its own with the reference of the recording."""
    write_reference(tmp_path, BEFORE["reference"])
    with Server(tmp_path, "serve") as running:
        yield running


def sent(server: Server, message: Mapping[str, Any]) -> tuple[int, dict[str, Any]]:
    """Send a recorded message; return status and reply."""
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=30)
    here = {"Host": f"localhost:{server.port}", "Sec-Fetch-Site": "same-origin"}
    try:
        connection.request(
            message["method"], message["path"], message["body"], {**message["headers"], **here}
        )
        got = connection.getresponse()
        said: dict[str, Any] = json.loads(got.read())
    finally:
        connection.close()
    return got.status, said


def shape(value: Any) -> Any:
    """Return keys and types of a reply."""
    if isinstance(value, dict):
        return {key: shape(each) for key, each in value.items()}
    return type(value).__name__


def test_the_phone_before_and_the_server_of_today(server: Server) -> None:
    """Each message of that build gets the status it got, with every key of the reply, same of type."""
    assert len(BEFORE["messages"]) >= 4
    for message in BEFORE["messages"]:
        status, said = sent(server, message)
        then = message["reply"]
        assert status == message["status"], said
        receipt = ("uuid", "revision", "sha256")
        assert [said[name] for name in receipt] == [then[name] for name in receipt]
        assert shape({key: said.get(key) for key in then}) == shape(then)
    last = json.loads(BEFORE["messages"][-1]["body"])
    [kept] = read_book(server.data).values()
    assert hash_of(kept.current) == last["sha256"]
    assert json.loads(server.get("/health?json").text)["differences"] == []


def test_what_the_phone_before_kept(server: Server, new_context: NewContext) -> None:
    """Fifty inspections that a build left unsent are opened and sent by the next, each once."""
    [waiting] = [draft for draft in BEFORE["drafts"] if draft["dirty"]]
    ids = [f"{number:08x}{waiting['id'][8:]}" for number in range(50)]
    page = new_context(**PHONE).new_page()
    page.goto(f"{server.url}/api/epoch")
    page.evaluate(SEED, [{**waiting, "id": one} for one in ids])
    page.goto(f"{server.url}/references")
    unsent = page.locator("#unsent")
    expect(unsent).to_have_attribute("data-unsent", "0", timeout=60_000)
    while len(read_book(server.data)) < len(ids):
        flush(page)
    book = read_book(server.data)
    assert set(book) == set(ids)
    wanted = hash_of(waiting["document"])
    assert all(kept.hashes == {wanted: 1} for kept in book.values())
    page.goto(f"{server.url}/inspect/{ids[7]}?at=knobs")
    ready(page)
    [note] = [given["note"] for given in waiting["document"]["answers"].values()]
    expect(page.locator('textarea[name="knobs.note"]')).to_have_value(note)
    expect(page.locator("#strip .saved")).to_have_attribute("data-saved", "server")


def as_before(page: Page) -> None:
    """Have every receipt say no more than the server of that build did."""
    known = set.intersection(*(set(each["reply"]) for each in BEFORE["messages"]))

    def answer(route: Route) -> None:
        response = route.fetch()
        said = response.json()
        route.fulfill(response=response, json={key: said[key] for key in said if key in known})

    page.route("**/api/inspections/*", answer)


def test_the_phone_of_today_and_the_server_before(
    server: Server, new_context: NewContext, ledger: Ledger
) -> None:
    """Replies as that build gave them are receipts to the outbox of today."""
    hands = Hands(new_context(**PHONE).new_page(), server.url, ledger)
    as_before(hands.page)
    hands.begin()
    for point in ("knobs", "serial"):
        hands.put_in(point)
        hands.hear()
    hands.drain()
    account = ledger.settle(read_book(server.data))
    assert (account.lost, account.doubled) == (0, 0)
