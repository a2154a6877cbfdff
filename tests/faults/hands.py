"""A person who answers in a real browser; what the page tells them goes into the ledger.

The reference is the small one of `tests.kit`. Every answer is a note that was never written before,
so that no two documents of a run are the same.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import count
from time import monotonic
from typing import Any, Final

from playwright.sync_api import Page, expect

from tests.browser.handset import PATIENCE, claim, drafts, flush, id_of
from tests.browser.walking import ready
from tests.faults.ledger import Ledger, hash_of

POINTS: Final = ("knobs", "neck-depth", "serial", "volume-pot")
_NUMBERS: Final = count(1)
_PUT_IN: Final = """([point, text]) => {
  document.querySelector(`.stops a[data-go="${point}"]`).click();
  const field = document.querySelector(`textarea[name="${point}.note"]`);
  field.value = text;
  for (const name of ['input', 'change']) field.dispatchEvent(new Event(name, { bubbles: true }));
}"""


@dataclass
class Hands:
    """One tab: ``written`` is what was given in it, by point."""

    page: Page
    url: str
    ledger: Ledger
    path: str = ""
    written: dict[str, str] = field(default_factory=dict)

    def begin(self) -> str:
        """Begin an inspection in this tab; return its id."""
        self.page.goto(self.url)
        self.path, self.written = claim(self.page), {}
        return id_of(self.path)

    def show(self, point: str = POINTS[0]) -> None:
        """Open a point of the inspection."""
        self.page.goto(f"{self.url}{self.path}?at={point}")
        ready(self.page)

    def type(self, point: str = POINTS[0]) -> str:
        """Write a new note at the point on the screen, and stay in its field."""
        box = self.page.locator(f'fieldset[data-point="{point}"]')
        folded = box.locator("details:not([open])", has=self.page.locator("textarea"))
        if folded.count():
            folded.locator("summary").tap()
        text = f"{point} {next(_NUMBERS)}"
        box.locator("textarea").fill(text)
        return text

    def write(self, point: str = POINTS[0]) -> None:
        """Write a new note at the point on the screen, and leave its field."""
        self.written[point] = self.type(point)
        self.page.keyboard.press("Tab")

    def put_in(self, point: str) -> None:
        """Write a new note at a point, even in a tab that takes no taps."""
        self.written[point] = f"{point} {next(_NUMBERS)}"
        self.page.evaluate(_PUT_IN, [point, self.written[point]])

    @property
    def said(self) -> str:
        """What the strip says of saving: device, server or nothing yet."""
        return self.page.locator("#strip .saved").get_attribute("data-saved") or ""

    def hear(self) -> None:
        """Wait until the page calls the answers saved; AssertionError if it said so too early."""
        strip = self.page.locator("#strip .saved")
        expect(strip).not_to_have_attribute("data-saved", "", timeout=PATIENCE)
        said, kept = self.said, self.kept()
        answers = {point: given.get("note") for point, given in kept["document"]["answers"].items()}
        assert answers == answers | self.written, f"called saved, but is not: {said}"
        self.ledger.note(kept["id"], hash_of(kept["document"]))
        if said == "server" and not kept["dirty"]:
            self.ledger.note(kept["id"], hash_of(kept["document"]), kept["base"])

    def drain(self) -> float:
        """Come back to the app until all is on the server; return the seconds that it took."""
        began, unsent = monotonic(), self.page.locator("#unsent")
        while unsent.get_attribute("data-unsent") != "0":
            assert monotonic() - began < PATIENCE / 1000, unsent.text_content()
            flush(self.page)
        self.hear()
        return monotonic() - began

    def kept(self) -> dict[str, Any]:
        """Return the inspection as this phone keeps it."""
        found: dict[str, Any] = drafts(self.page)[id_of(self.path)]
        return found


def store(page: Page) -> Mapping[str, str]:
    """Return what a phone keeps, by inspection: the hash of its document."""
    return {one: hash_of(each["document"]) for one, each in drafts(page).items()}
