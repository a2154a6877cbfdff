"""Every page of the app, each in the states worth looking at, reached as a person reaches it."""

import re
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from uuid import uuid4

from playwright.sync_api import Page, expect

from quickcheck.card import data_of, digits, unsealed
from tests.desk.small import POINTS, faulty_table, table
from tests.kit import Server

TESTS = Path(__file__).resolve().parent.parent
REFERENCE = "hobbinsley-poplin"
PICK = "knobs"
MEASURE = "neck-depth-1"
_LEARNED_IN = 120  # seconds, on a machine that has other things to do
CARD = {"leave": "y", "interest": "none"}
ELSEWHERE = f"https://cards.elsewhere.example/c/{digits(bytes(90))}"


def npm_file(path: str) -> Path:
    """Return a file that npm installed for the tests; says what to do where it is missing."""
    found = TESTS / "node" / "node_modules" / path
    if not found.exists():
        raise FileNotFoundError(f"{found}: run `npm ci` in tests/node, or tests/run.py")
    return found


@dataclass
class Site:
    """The demo, served by a process of its own, with what the pages are about."""

    server: Server

    @cached_property
    def inspections(self) -> Mapping[str, str]:
        """The path of every inspection in the demo's book, by the name it goes under."""
        found: dict[str, str] = {}
        pattern = r'href="(/inspect/[0-9a-f-]{36})".*?<b>([^<]+)</b>'
        for path, name in re.findall(pattern, self.server.get("/book").text, re.DOTALL):
            found.setdefault(name, path)
        return found

    @cached_property
    def inspection(self) -> str:
        """The path of an inspection with many answers, some of them of changed parts."""
        return self.inspections["The Vicar"]

    @cached_property
    def edition(self) -> str:
        """Where all of the reference's edition is that a device takes along."""
        found = re.search(r"/references/[0-9a-f]{16}(?=/)", self.server.get(self.inspection).text)
        assert found
        return found[0]

    @cached_property
    def card(self) -> str:
        """The path of a card of that inspection."""
        made = self.server.post(f"{self.inspection}/card", CARD)
        assert made.status == 200, made.text
        return made.url.removeprefix(self.server.url)

    @cached_property
    def unsealed(self) -> str:
        """The path of the same card without its seal, as a phone makes it."""
        return f"/c/{digits(unsealed(data_of(self.card.removeprefix('/c/'))))}"

    @cached_property
    def altered(self) -> str:
        """The path of the same card with one bit turned."""
        data = bytearray(data_of(self.card.removeprefix("/c/")))
        data[30] ^= 1
        return f"/c/{digits(bytes(data))}"

    @cached_property
    def ended(self) -> str:
        """The path of an inspection with two cards, of which the first was withdrawn."""
        path = self.inspections["Aunt Ottoline"]
        for interest in ("none", "selling"):
            made = self.server.post(f"{path}/card", CARD | {"interest": interest})
            assert made.status == 200, made.text
        listed = self.server.get(f"{path}/cards").text
        card = re.findall(r'data-card="([a-z2-7]{16})"', listed)[-1]
        ended = self.server.post(f"{path}/cards/withdraw", {"card": card})
        assert ended.status == 200, ended.text
        return path

    @cached_property
    def papers(self) -> str:
        """The path of the papers of an inspection that was marked as documented, and corrected."""
        path = f"{self.inspection}/papers"
        for month in ("1953-03", "1953-04"):
            said = self.server.post(path, {"kind": "ledger", "first": month, "note": "Leaf 12"})
            assert said.status == 200, said.text
        return path

    @cached_property
    def asking(self) -> str:
        """The path of a learning that asks whether rows with faults are to be left out."""
        files = {"points": POINTS, "examples": faulty_table()}
        return self.server.upload("/references/learn", files).url.removeprefix(self.server.url)

    @cached_property
    def learned(self) -> str:
        """The path of a learning that is done."""
        files = {"points": POINTS, "examples": table()}
        path = self.server.upload("/references/learn", files).url.removeprefix(self.server.url)
        ends = time.monotonic() + _LEARNED_IN
        while "What was learned" not in (page := self.server.get(path).text):
            assert time.monotonic() < ends, page
            time.sleep(0.2)
        return path

    @cached_property
    def withdrawn(self) -> str:
        """The path of the card that was withdrawn."""
        listed = self.server.get(f"{self.ended}/cards").text
        found = re.findall(r'data-seal="withdrawn".*?href="(/c/[0-9]+)"', listed, re.DOTALL)
        return str(found[0])


def _nothing(page: Page) -> None:
    """Leave the page as it opened."""


def _begin_without_a_year(page: Page) -> None:
    page.get_by_role("button", name="Begin").press("Enter")
    expect(page.locator(".fault, .faults").first).to_be_visible()


def _make_without_leave(page: Page) -> None:
    page.locator("main form button[type=submit], main form .go button").first.click()
    expect(page.locator(".faults")).to_be_visible()


def _measure_what_is_no_number(page: Page) -> None:
    page.locator(f'input[name="{MEASURE}"]').fill("about an inch")
    page.keyboard.press("Tab")
    expect(page.locator("#fault .faults")).to_be_visible()


def _learn_nothing(page: Page) -> None:
    page.get_by_role("button", name="Learn").click()
    expect(page.locator(".faults")).to_be_visible()


def _say_no_month(page: Page) -> None:
    page.get_by_label("First month").fill("spring")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator(".faults")).to_be_visible()


def _paste(text: str) -> Callable[[Page], None]:
    """Return how a person pastes a text in the place of a card."""

    def paste(page: Page) -> None:
        page.get_by_label("The card’s address, or its digits").fill(text)
        page.get_by_role("button", name="Open the card").click()
        expect(page.locator(".faults, #elsewhere:not([hidden])")).to_be_visible()

    return paste


def _open_everything(page: Page) -> None:
    closed = page.locator("main details:not([open]):visible > summary")
    while closed.count():
        closed.first.click()


@dataclass(frozen=True)
class Shown:
    """A page in one state: its address, what a person does there, what a form would send."""

    name: str
    path: Callable[[Site], str]
    act: Callable[[Page], None] = _nothing
    form: Mapping[str, str] = field(default_factory=dict)  # the same state, asked for by a POST
    target: str = ""  # what the form's address has after the page's own
    status: int = 200

    def open(self, page: Page, site: Site) -> None:
        """Bring a browser's page into this state."""
        page.goto(site.server.url + self.path(site))
        expect(page.locator("html[data-ready]")).to_have_count(1)
        self.act(page)

    def html(self, site: Site) -> str:
        """Return the page as the server sends it."""
        path = self.path(site).partition("?")[0] + self.target
        reply = site.server.post(path, self.form) if self.form else site.server.get(self.path(site))
        assert reply.status == self.status, f"{self.name}: {reply.status}\n{reply.text}"
        return reply.text


def _at(suffix: str) -> Callable[[Site], str]:
    return lambda site: site.inspection + suffix


PAGES = (
    Shown("start", lambda _: "/"),
    Shown("claim", lambda _: f"/?reference={REFERENCE}"),
    Shown("claim-open", lambda _: f"/?reference={REFERENCE}", _open_everything),
    Shown(
        "claim-faults",
        lambda _: f"/?reference={REFERENCE}",
        _begin_without_a_year,
        {"reference": REFERENCE, "first": "spring", "part": "whole"},
        status=422,
    ),
    Shown("claim-again", _at("/claim")),
    Shown("inspection", _at("")),
    Shown("pick", _at(f"?at={PICK}")),
    Shown("pick-open", _at(f"?at={PICK}"), _open_everything),
    Shown("measure", _at(f"?at={MEASURE}")),
    Shown(
        "measure-fault",
        _at(f"?at={MEASURE}"),
        _measure_what_is_no_number,
        {"_point": MEASURE, MEASURE: "about an inch", "_go": "next"},
        "/answer",
        422,
    ),
    Shown("verdict", _at("/verdict")),
    Shown("verdict-apart", lambda site: site.inspections["The marriage"] + "/verdict"),
    Shown("verdict-little", lambda site: site.inspections["Behind glass"] + "/verdict"),
    Shown("make-card", _at("/card")),
    Shown("make-card-faults", _at("/card"), _make_without_leave, {"interest": ""}, status=422),
    Shown("card", lambda site: site.card),
    Shown("card-print", lambda site: f"{site.card}/print"),
    Shown("card-face", lambda site: f"{site.card}/print/card"),
    Shown("card-face-withdrawn", lambda site: f"{site.withdrawn}/print/label"),
    Shown("card-unsealed", lambda site: site.unsealed),
    Shown("card-withdrawn", lambda site: site.withdrawn),
    Shown("card-altered", lambda site: site.altered),
    Shown("cards-issued", lambda site: f"{site.ended}/cards", _open_everything),
    Shown("card-correct", lambda site: f"{site.ended}/card?instead-of=aaaaaaaaaaaaaaaa"),
    Shown("scan", lambda _: "/scan"),
    Shown("scan-fault", lambda _: "/scan", _paste("a guitar"), {"card": "a guitar"}, status=422),
    Shown("scan-elsewhere", lambda _: "/scan", _paste(ELSEWHERE), {"card": ELSEWHERE}),
    Shown("keys", lambda _: "/keys"),
    Shown("recalls", lambda site: site.withdrawn and "/recalls"),
    Shown("references", lambda _: "/references"),
    Shown("reference", lambda _: f"/references/{REFERENCE}"),
    Shown("expected", lambda _: f"/references/{REFERENCE}?window=1953-03..1953-08"),
    Shown("writing-begin", lambda _: "/references/write"),
    Shown("writing", lambda _: "/references/write?of="),
    Shown("writing-pictures", lambda _: f"/references/write?of={REFERENCE}"),
    Shown("compare-editions", lambda _: f"/references/{REFERENCE}/compare"),
    Shown("learn", lambda _: "/references/learn"),
    Shown("learn-faults", lambda _: "/references/learn", _learn_nothing, {"of": ""}, status=422),
    Shown("learn-asking", lambda site: site.asking),
    Shown("learned", lambda site: site.learned),
    Shown("papers", lambda site: site.papers),
    Shown(
        "papers-faults", lambda site: site.papers, _say_no_month, {"first": "spring"}, status=422
    ),
    Shown("book", lambda site: site.papers and "/book"),
    Shown("read", lambda _: "/read?scheme=mark&text=Made+in+Occupied+Japan"),
    Shown("read-faults", lambda _: "/read?scheme=weight&text=3.5", status=422),
    Shown("versions", _at("/versions")),
    Shown("health", lambda _: "/health"),
    Shown("pair", lambda _: "/pair"),
    Shown("pair-confirm", lambda _: f"/pair/{'0' * 26}"),
    Shown("organizer", lambda _: "/organizer"),
    Shown("device-start", lambda _: "/device/start"),
    Shown("device-book", lambda _: "/device/book"),
    Shown("device-read", lambda _: "/device/read"),
    Shown("device-missing", lambda _: "/device/missing"),
    # the empty pages of an edition, opened without an inspection to fill them
    *(
        Shown(f"device-{name}", lambda site, name=name: f"{site.edition}/{name}")
        for name in ("claim", "inspection", "verdict", "card")
    ),
    Shown("error", lambda _: "/nothing-here", status=404),
    Shown("error-card", lambda _: "/c/1234", status=400),
)
"""All of them."""


def new_inspection(site: Site) -> str:
    """Begin an inspection without an answer and return its path."""
    claim = {"reference": REFERENCE, "year": "1954", "part": "early", "access": "open"}
    begun = site.server.post("/", claim | {"name": f"Test {uuid4().hex[:8]}"})
    assert begun.status == 200, begun.text
    return begun.url.removeprefix(site.server.url)
