"""A person who goes over an instrument in a browser, with a thumb, a keyboard, or no scripts."""

import json
import re
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from uuid import UUID

from playwright.sync_api import BrowserContext, Locator, Page, expect

from quickcheck import paths
from quickcheck.reference import Kind, Point, Reference, read_reference
from quickcheck.store import Entry, KeyFiles, make_key, open_store
from tests.kit import Server
from tests.web.issuing import ISSUER, MADE

PHONE: Final[Mapping[str, Any]] = {
    "viewport": {"width": 390, "height": 780},
    "device_scale_factor": 2,
    "is_mobile": True,
    "has_touch": True,
}
POPLIN: Final = paths.DEMO / "references" / "hobbinsley-poplin"
CLAIM: Final = {"year": "1953", "part": "early", "access": "open", "name": "By thumb"}


def _sitting() -> dict[str, dict[str, Any]]:
    """Return answers to every point of the Poplin, of every form that an answer can have."""
    text = (paths.DEMO / "book" / "2-the-vicar.json").read_text(encoding="utf-8")
    answers: dict[str, dict[str, Any]] = json.loads(text)["answers"]
    answers["saddles"] = {"seen": "pairs", "sure": False}
    answers["knobs"] = {"seen": "wood", "state": "signs", "note": "one cracked"}
    answers["finish-signs"] = {"seen": ["overspray", "patch"], "where": ["front", "edge"]}
    answers["edge-signs"] = {"seen": "none"}
    answers["volume-pot"] = {"read": "52-48"}
    answers["pickup-cover"] = {"seen": "other"}
    points = read_reference(POPLIN).points
    return {point.id: answers.get(point.id, {"not_seen": "no-time"}) for point in points}


SITTING: Final = _sitting()


@dataclass(frozen=True)
class Shop:
    """A server with the Poplin and a book of its own, and what is stored in it."""

    server: Server
    reference: Reference

    @classmethod
    def on(cls, data: Path) -> "Shop":
        """Make a data folder for it; the server is started by whoever uses it."""
        shutil.copytree(POPLIN, data / "references" / POPLIN.name)
        return cls(Server(data, "serve"), read_reference(POPLIN))

    @classmethod
    def issuing(cls, data: Path) -> "Shop":
        """Make one whose station has an issuer's key."""
        shop = cls.on(data)
        with open_store(data / "book.sqlite3") as store:
            make_key(store.keys, KeyFiles(data / "keys"), issuer=ISSUER, now=MADE)
        return shop

    def begin(self, **more: str) -> str:
        """Open an inspection and return the path of its page."""
        claim = CLAIM | {"reference": self.reference.id} | more
        tools = {tool for point in self.reference.points for tool in point.tools}
        bag = [("tools", tool) for tool in sorted(tools)]
        begun = self.server.post("/", [*claim.items(), *bag])
        assert begun.status == 200, begun.text
        return begun.url.removeprefix(self.server.url)

    def history(self, path: str) -> tuple[Entry, ...]:
        """Return everything that was ever stored of the inspection of a page."""
        found = re.search(r"[0-9a-f-]{36}", path)
        assert found, path
        with open_store(self.server.data / "book.sqlite3") as store:
            return store.book.history(UUID(found[0]))

    def document(self, path: str) -> dict[str, Any]:
        """Return the inspection of a page as it is stored."""
        return self.history(path)[-1].document

    def answers(self, path: str) -> dict[str, Any]:
        """Return the stored answers of the inspection of a page."""
        return dict(self.document(path)["answers"])


def straight(context: BrowserContext) -> BrowserContext:
    """Take a context's storage away, as some private windows do: answers go to the server at once."""
    context.add_init_script("indexedDB.open = () => { throw new Error('no storage here'); }")
    return context


def ready(page: Page) -> None:
    """Wait until the scripts of a page are wired."""
    expect(page.locator("html[data-ready]")).to_have_count(1)


def saved(page: Page) -> None:
    """Wait until the page says that everything is on the server."""
    expect(page.locator('#strip [data-saved="server"]')).to_be_visible()
    expect(page.locator("[data-unsent]")).to_have_attribute("data-unsent", "0")


def at(page: Page, point: str) -> Locator:
    """Return the fields of a point, which must be the one on the screen."""
    shown = page.locator("fieldset[data-point]:visible")
    expect(shown).to_have_attribute("data-point", point)
    return shown


def unfold(box: Locator, field: str, *, thumb: bool) -> None:
    """Open what a field is folded into, if it is."""
    folded = box.locator("details:not([open])", has=box.page.locator(field))
    if folded.count():
        press(folded.locator("summary"), thumb=thumb)


def choose(box: Locator, name: str, value: str, *, thumb: bool) -> None:
    """Press the label of a choice."""
    field = f'input[name="{name}"][value="{value}"]'
    unfold(box, field, thumb=thumb)
    press(box.locator("label", has=box.page.locator(field)), thumb=thumb)


def press(what: Locator, *, thumb: bool) -> None:
    """Tap or click."""
    if thumb:
        what.tap()
    else:
        what.click()


def write(box: Locator, field: str, text: str, *, thumb: bool) -> None:
    """Put text into a field as a person does: touch it, then type."""
    unfold(box, field, thumb=thumb)
    press(box.locator(field), thumb=thumb)
    box.locator(field).press_sequentially(text)


def answer(page: Page, point: Point, given: Mapping[str, Any], *, thumb: bool = False) -> None:
    """Fill in one point that is on the screen."""
    box, name = at(page, point.id), point.id
    for field, value in _choices(name, given):
        choose(box, field, value, thumb=thumb)
    if given.get("unit", point.unit) != point.unit:
        box.locator(f'select[name="{name}.unit"]').select_option(given["unit"])
    text = f"{given['value']:g}" if "value" in given else given.get("read")
    if text:
        write(box, f'input[name="{name}"]', text, thumb=thumb)
    if "note" in given:
        write(box, f'textarea[name="{name}.note"]', given["note"], thumb=thumb)


def _choices(name: str, given: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield name and value of every choice to press for an answer."""
    seen = given.get("seen", [])
    for variant in [seen] if isinstance(seen, str) else seen:
        yield name, variant
    for place in given.get("where", []):
        yield f"{name}.where", place
    if given.get("sure") is False:
        yield f"{name}.unsure", "1"
    for part, key in (("state", "state"), ("not-seen", "not_seen")):
        if key in given:
            yield f"{name}.{part}", given[key]


def order(reference: Reference) -> list[Point]:
    """Return the points as hands go over them: place by place, each in file order."""
    places = ["front", "headstock", "back", "edge", "open", "case"]
    return sorted(reference.points, key=lambda point: places.index(point.place))


def walk(page: Page, reference: Reference, *, thumb: bool) -> None:
    """Answer every point with the sitting, from the outline to the verdict."""
    press(page.get_by_role("link", name="Begin"), thumb=thumb)
    for point in order(reference):
        answer(page, point, SITTING[point.id], thumb=thumb)
        press(page.get_by_role("button", name="Next"), thumb=thumb)
    expect(page).to_have_url(re.compile(r"/verdict$"))


def kinds(reference: Reference) -> set[Kind]:
    """Return the kinds of points that a reference has."""
    return {point.kind for point in reference.points}
