"""Hostile texts in a real browser: no dialog, nothing thrown, nothing that the policy had to refuse."""

from collections.abc import Iterator, Mapping
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests import kit
from tests.kit import Server
from tests.web.hostile import PAYLOADS, Texts
from tests.web.kit import REFERENCE

pytestmark = pytest.mark.browser
REFUSED = """
globalThis.refused = [];
document.addEventListener('securitypolicyviolation', (event) => {
  refused.push(`${event.violatedDirective} ${event.blockedURI} ${event.sample}`);
});
"""
TEXT = """() => [...document.querySelectorAll('input, textarea')].map(({ value }) => value)
  .concat(document.body.textContent).join(' ').replace(/\\s+/g, ' ')"""
HALF = len(PAYLOADS) // 2
POINTS = ("knobs", "neck-depth", "serial", "volume-pot")
Begun = tuple[Server, str, Mapping[str, Any]]


@pytest.fixture(name="begun", scope="module")
def _begun(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Begun]:
    """Serve a reference of such texts, and an inspection with a card; yield its path as well."""
    data, texts = tmp_path_factory.mktemp("hostile"), Texts(PAYLOADS)
    kit.write_reference(data, texts.reference(REFERENCE.replace('picture = "wood.svg"', "")))
    with Server(data, command="serve") as server:
        claim = {"reference": "loom-one", "year": "1953", "part": "early", "access": "open"}
        made = server.post("/", claim | {"name": texts()})
        path = made.url.removeprefix(server.url).partition("?")[0].removesuffix("#")
        for point in POINTS:
            fields = {"_point": point, point: "wood" if point == "knobs" else "", "name": texts()}
            fields[f"{point}.note"] = " ".join(texts() for _ in range(10))
            answered = server.post(f"{path}/answer", fields)
            assert answered.status in (200, 422), answered.text
        card = server.post(f"{path}/card", {"leave": "y", "interest": "none"})
        assert card.status == 200, card.text
        yield server, path, {"card": card.url.removeprefix(server.url)}


def test_no_page_runs_any_of_it(begun: Begun, page: Page, complaints: list[str]) -> None:
    """Server's pages and the phone's own, with what the phone kept of them."""
    server, path, more = begun
    dialogs: list[str] = []

    def heard(dialog: Any) -> None:
        dialogs.append(dialog.message)
        dialog.dismiss()

    page.on("dialog", heard)
    page.add_init_script(REFUSED)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    refused: list[str] = []
    there = ""
    for where in (
        *("/", "/book", path, f"{path}/verdict", f"{path}/card", f"{path}/claim"),
        *(f"{path}/papers", f"{path}/versions", "/references/loom-one", "/references/write"),
        *(more["card"], f"{more['card']}/print", "/device/start", "/device/book"),
    ):
        page.goto(server.url + where)
        expect(page.locator("main")).to_be_visible()
        page.wait_for_timeout(100)  # whatever would run, runs now
        refused += page.evaluate("globalThis.refused")
        there += page.evaluate(TEXT)
    assert (dialogs, refused, complaints) == ([], [], [])
    assert [url for url in asked if "evil.example" in url] == []
    assert len([text for text in PAYLOADS if " ".join(text.split()) in there]) > HALF
