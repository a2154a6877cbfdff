"""Whatever is typed anywhere stays text: no page gets another element or attribute by it."""

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote
from uuid import UUID

import pytest
from werkzeug.test import TestResponse

from quickcheck.desk import examples_in, learn_from, points_in
from quickcheck.reference import read_reference_text
from quickcheck.store import Role
from tests import kit as plain
from tests.desk.small import POINTS, table
from tests.web.hostile import PAYLOADS, Reading, Texts, tame
from tests.web.kit import PICTURE, REFERENCE, words
from tests.web.showing import Show, showing
from tests.web.test_who_may_see import address, rules

INSPECTION = UUID(int=0xE11)
HALF = len(PAYLOADS) // 2


@dataclass
class Filled:
    """A show in which every text that anybody may type is one of the texts."""

    show: Show
    texts: Texts
    text: str  # of a reference that is typed in


def answers(texts: Texts) -> dict[str, Any]:
    """Return answers with a text at each."""
    given = {point: {**answer, "note": texts()} for point, answer in plain.ANSWERS.items()}
    given["finish-signs"] = {"seen": ["patch"], "note": texts()}
    given["volume-pot"] = {"not_seen": "not-allowed", "note": texts()}
    return given


def fill(show: Show, texts: Texts) -> None:
    """Give dealer A an inspection of the texts, with a card, papers and two versions."""
    path = f"/inspect/{INSPECTION}"
    more = {"answers": answers(texts), "name": texts(), "serial_text": "0420", "owner": texts()}
    assert show.put("dealer A", INSPECTION, **more).status_code == 201
    card = show.post("dealer A", f"{path}/card", leave="y", interest="none")
    assert card.status_code == 303, words(card)  # of a serial that a card has letters for
    show.card = (card.location or "").removeprefix("/c/")
    more["serial_text"] = texts()
    base = show.site.store.book.get(INSPECTION).revision
    assert show.put("dealer A", INSPECTION, base=base, **more).status_code == 200
    assert show.put("dealer A", INSPECTION, **more | {"name": texts()}).status_code == 409
    papers = {"kind": "ledger", "first": "1953-03", "note": texts()}
    assert show.post("dealer A", f"{path}/papers", **papers).status_code == 303


def filled(folder: Path, texts: Texts) -> Iterator[Filled]:
    """Open a show with the texts in its reference, an inspection, devices, books and papers."""
    reference = read_reference_text(texts.reference(REFERENCE), pictures={"wood.svg": PICTURE})
    with showing(folder, reference) as show:
        fill(show, texts)
        show.site.store.access.new_book(texts()[:40], show.now())
        for who in ("spare", "other"):
            show.let_in(who, Role.DEALER, show.books["B"])
            show.unlock("organizer")
            name = f"/devices/{show.devices[who].id}/name"
            assert show.post("organizer", name, name=texts()[:40]).status_code == 303
        yield Filled(show, texts, texts.reference(REFERENCE))


def shown(made: Filled) -> dict[str, TestResponse]:
    """Return every page that anybody can open, and pages that repeat what was just sent."""
    show, texts = made.show, made.texts
    show.unlock("organizer")
    pages = {
        rule.endpoint: show.ask("organizer", address(show, rule, INSPECTION))
        for rule, method in rules(show)
        if method == "GET"
    }
    for scheme in ("mark", "patent-us", "source-week", "scale-length"):
        pages[f"read {scheme}"] = show.ask(
            "organizer", f"/read?scheme={scheme}&text={quote(texts())}"
        )
    for path in ("/inspect/{}", "/c/{}", "/references/{}", "/pair/{}", "/book?words={}", "/{}"):
        pages[f"typed {path}"] = show.ask("organizer", path.format(quote(texts(), safe="")))
    for name, (path, fields) in forms(made).items():
        pages[f"sent {name}"] = show.post("organizer", path, **fields)
    return pages


def forms(made: Filled) -> dict[str, tuple[str, dict[str, str]]]:
    """Return forms whose fields come back."""
    texts, here = made.texts, f"/inspect/{INSPECTION}"
    claim = {"reference": texts(), "name": texts(), "serial_text": texts(), "year": texts()}
    papers = {"kind": texts(), "first": texts(), "last": texts(), "note": texts()}
    return {
        "claim": ("/", claim),
        "claim again": (f"{here}/claim", claim),
        "answer": (f"{here}/answer", {"_point": "neck-depth", "neck-depth": texts()}),
        "no point": (f"{here}/answer", {"_point": texts()}),
        "papers": (f"{here}/papers", papers),
        "card": (f"{here}/card", {"interest": texts()}),
        "version": (f"{here}/versions", {"version": texts(), "revision": texts()}),
        "scan": ("/scan", {"card": texts()}),
        "pair": ("/pair", {"code": texts()}),
        "offer": ("/devices/offer", {"role": "dealer", "book": "", "name": texts()}),
        "check": ("/references/write/check", {"text": made.text}),
        "faulty": ("/references/write/check", {"text": f"{made.text}\nx = {json.dumps(texts())}"}),
        "changes": ("/references/write/changes", {"text": made.text}),
    }


def read(pages: dict[str, TestResponse]) -> dict[str, Reading]:
    """Return the pages that are HTML, read."""
    return {
        name: Reading(response.text)
        for name, response in pages.items()
        if response.mimetype == "text/html"
    }


def both(folder: Path, first: int, look: Callable[[Filled], Any]) -> tuple[Any, Any, Texts]:
    """Return what is seen with hostile texts, and with tame ones in the same places."""
    hostile, plain_ones = Texts(PAYLOADS, first=first), Texts([*map(tame, PAYLOADS)], first=first)
    seen = []
    for name, texts in (("hostile", hostile), ("tame", plain_ones)):
        (folder / name).mkdir()
        seen.extend(look(made) for made in filled(folder / name, texts))
    return seen[0], seen[1], hostile


@pytest.mark.parametrize("first", [0, HALF])
def test_no_text_becomes_a_piece_of_a_page(tmp_path: Path, first: int) -> None:
    """Sixty texts, in every field and on every page: the same elements as with tame ones."""
    replies, tame_replies, texts = both(tmp_path, first, shown)
    hostile, tamed = read(replies), read(tame_replies)
    assert hostile.keys() == tamed.keys()
    for name, page in hostile.items():
        assert page.shapes == tamed[name].shapes, name
        assert not page.leads, name
    there = "\0".join(" ".join(text.split()) for page in hostile.values() for text in page.texts)
    seen = {text for text in texts.given if " ".join(text.split())[:20] in there}
    assert len(seen) >= 40  # the others stand in what no page of these shows
    kinds = {name: reply.mimetype for name, reply in replies.items() if reply.data}
    data = {kind for name, kind in kinds.items() if name not in hostile}
    assert {kinds["api.book"], kinds["api.get"], kinds["offline.model"]} == {"application/json"}
    # no XML of anybody but a reference's picture, looked through when it was taken
    assert {kind for kind in data if "xml" in kind or "html" in kind} == {"image/svg+xml"}


def test_a_page_that_lets_it_through_is_found() -> None:
    """The comparison sees an element, an attribute, a comment and an address more."""
    tamed = Reading(f'<p title="{tame(PAYLOADS[0])}">{tame(PAYLOADS[0])}</p>')
    assert Reading("<p title='&lt;b>'>&lt;script&gt;</p>").shapes == tamed.shapes
    for page in ("<p title=''><b></p>", "<p title='' on=''></p>", "<p title=''><!--x--></p>"):
        assert Reading(page).shapes != tamed.shapes
    assert Reading("<a href=' java\tscript:x'>").leads


@pytest.mark.parametrize("first", [0, HALF])
def test_the_report_of_a_learning(first: int) -> None:
    """A report is a page by itself with its styles in it: its texts are text there, too."""
    pages = []
    for texts in (Texts(PAYLOADS, first=first), Texts([*map(tame, PAYLOADS)], first=first)):
        file = points_in(texts.reference(POINTS), name="points.toml", pictures={})
        rows = table().replace("no. ", f"{texts()} ".replace(",", ";").replace('"', "''"))
        learned = learn_from(
            file,
            examples_in(file.reference, rows.encode(), name="t.csv"),
            leave_out_faulty=True,
            tell=lambda _: None,
        )
        pages.append((Reading(learned.told), Reading(learned.report)))
    for hostile, tamed in zip(*pages, strict=True):
        assert hostile.shapes == tamed.shapes
        assert not hostile.leads
