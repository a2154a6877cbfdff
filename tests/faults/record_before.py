"""Record what the build of a tree and its server say to each other, for `test_builds`.

``python -m tests.faults.record_before TREE`` writes `before.json`; done at each release with the tree
of the release before. A real browser opens that build's pages, answers, sends, undoes, and keeps one
inspection to itself.
"""

import json
import sys
import tempfile
from pathlib import Path
from typing import Any, Final

from playwright.sync_api import Route, sync_playwright

from tests.browser.handset import drafts
from tests.browser.walking import PHONE
from tests.faults.hands import Hands
from tests.faults.ledger import Ledger
from tests.kit import CHROMIUM, REFERENCE, Server, write_reference

PATH: Final = Path(__file__).with_name("before.json")
_HEADERS: Final = ("content-type", "x-outbox", "x-unsent")


def _told(route: Route) -> dict[str, Any]:
    """Let a message through; return it with its reply."""
    request, response = route.request, route.fetch()
    told = {
        "method": request.method,
        "path": "/" + request.url.split("/", 3)[3],
        "headers": {name: request.headers[name] for name in _HEADERS if name in request.headers},
        "body": request.post_data,
        "status": response.status,
        "reply": response.json(),
    }
    route.fulfill(response=response)
    return told


def record(tree: Path) -> dict[str, Any]:
    """Return the messages, in order, and what the phone kept at the end."""
    messages: list[dict[str, Any]] = []
    data = Path(tempfile.mkdtemp())
    write_reference(data)
    with sync_playwright() as driver, Server(data, "serve", tree=tree) as server:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_context(**PHONE).new_page()
        page.route("**/api/inspections/*", lambda route: messages.append(_told(route)))
        hands = Hands(page, server.url, Ledger())
        hands.begin()
        for point in ("knobs", "serial", "knobs"):
            hands.put_in(point)
            page.locator('#strip [data-saved="server"]').wait_for()
        page.get_by_role("button", name="Undo").tap()
        page.locator('#strip [data-saved="server"]').wait_for()
        page.unroute_all()
        page.route("**/api/**", lambda route: route.abort())
        hands.begin()
        hands.put_in("knobs")
        page.locator('#strip [data-saved="device"]').wait_for()
        kept = list(drafts(page).values())
        browser.close()
    return {"reference": REFERENCE, "messages": messages, "drafts": kept}


if __name__ == "__main__":
    told = record(Path(sys.argv[1]).resolve())
    PATH.write_text(json.dumps(told, indent=1, sort_keys=True) + "\n", encoding="utf-8")
