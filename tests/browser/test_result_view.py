"""The phone's own pages of a verdict and of a card are the server's, element by element."""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

import pytest
from flask import Flask, render_template
from playwright.sync_api import Page, Route

from quickcheck import desk, paths
from quickcheck.card import data_of, head
from quickcheck.engine import compile_model
from quickcheck.engine.export import model_json
from quickcheck.store import Store, open_store
from quickcheck.web import Settings, create_app
from tests import by_markings
from tests.browser.alone import WHERE, alone
from tests.web.kit import HERE

pytestmark = pytest.mark.browser
ORIGIN = "http://localhost"
SAID = by_markings.document(
    {**by_markings.OF_1962, **by_markings.DECLARED}, at="2026-04-11T12:00+00:00"
)
BOOK = {
    path.stem: document
    for path in sorted((paths.DEMO / "book").glob("*.json"))
    if "answers" in (document := json.loads(path.read_text(encoding="utf-8")))
} | {"by-markings": SAID}
MARKS = {
    "mark-place": ["board-9", "cavity"],
    "mark-kind": ["burn", "initials"],
    "mark-mm": ["6", ""],
}

TREE = """
const OURS = ['data-slot', 'data-about', 'data-head', 'data-link', 'data-shell', 'data-base'];
const parse = (text) => new DOMParser().parseFromString(text, 'text/html');
const isPlace = (element) => element.matches('span[data-slot]:not([class]), div[data-slot]');
const tidy = (text) => text.replace(/\\s+/g, ' ').trim();
const attributes = (element) => [...element.attributes]
  .filter(({ name }) => !OURS.includes(name))
  .map(({ name, value }) => `${name}=${value.replace(/\\.0(?=%|$)/g, '')}`).sort();

// A tree of tags, attributes and words. Left out: what is hidden, and the places that hold words.
function tree(node) {
  const found = [];
  const say = (text) => {
    if (typeof found.at(-1) === 'string') found.push(found.pop() + text);
    else found.push(text);
  };
  const visit = (child) => {
    if (child.nodeType === Node.TEXT_NODE) say(child.data);
    else if (child.nodeType !== Node.ELEMENT_NODE || child.matches('template, [hidden]')) return;
    else if (isPlace(child)) child.childNodes.forEach(visit);
    else found.push([child.localName, attributes(child), tree(child)]);
  };
  node.childNodes.forEach(visit);
  return found.map((each) => (typeof each === 'string' ? tidy(each) : each)).filter((each) => each !== '');
}
"""
SHOW = (
    "async (given) => {"
    + TREE
    + """
  const { issued, showCard, showVerdict, resultOf } = await import(`${given.scripts}/resultview.js`);
  const { compileModel } = await import(`${given.scripts}/engine/model.js`);
  const shell = parse(given.shell).querySelector('main');
  shell.querySelector('form[data-make]')?.remove(); // what asks for the owner's leave before
  shell.querySelector('[data-shell]').removeAttribute('hidden');
  const result = resultOf(compileModel(given.model), given.document);
  const told = given.told && { ...given.told, issued: new Date(given.told.issued) };
  const made = told && issued(result, told);
  if (made) showCard(shell, { ...made, result: { ...made.result, sentences: given.sentences } });
  else showVerdict(shell, { ...result, sentences: given.sentences }, given.links);
  return { ours: tree(shell), theirs: tree(parse(given.page).querySelector('main')), title: document.title, url: made?.url };
}"""
)


@dataclass(frozen=True)
class Stall:
    """The application with the demo's book, in this process; a browser's requests are put to it."""

    app: Flask
    store: Store
    ids: Mapping[str, UUID]

    def answer(self, route: Route) -> None:
        """Answer a request of the browser: for a page with nothing on it, for the rest as it is."""
        path = urlsplit(route.request.url).path
        reply = self.app.test_client().get(path)
        body = b"<!doctype html><title>Nothing</title>" if path == "/" else reply.data
        route.fulfill(status=reply.status_code, headers=dict(reply.headers), body=body)

    def text(self, path: str) -> str:
        """Return a page of the server."""
        reply = self.app.test_client().get(path)
        assert reply.status_code == 200, reply.text
        return reply.text

    def shell(self, name: str) -> str:
        """Return an empty page of the phone."""
        with self.app.test_request_context():
            return render_template(f"device/{name}.html")

    def given(self, name: str, page: str, shell: str) -> dict[str, Any]:
        """Return what the phone has at hand, and the server's page beside it."""
        saved = self.store.book.get(self.ids[name])
        reference = self.store.library.get(saved.reference_hash)
        judged = desk.judge_saved(self.store, saved)
        return {
            "scripts": f"{WHERE}/js",
            "page": page,
            "shell": self.shell(shell),
            "model": model_json(compile_model(reference)),
            "document": saved.document,
            "sentences": [asdict(sentence) for sentence in judged.sentences],
        }


@pytest.fixture(name="stall", scope="module")
def _stall(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stall]:
    folder: Path = tmp_path_factory.mktemp("stall")
    demo, general = (desk.reference_paths(p) for p in (paths.DEMO / "references", paths.GENERAL))
    shelf = desk.gather(demo, general=general)
    with open_store(folder / "book.sqlite3") as store:
        ids = {}
        for name, document in BOOK.items():
            desk.seed_book(store, shelf, {name: document})
            known = set(ids.values())
            (ids[name],) = {saved.id for saved in store.book.list(99)} - known
        yield Stall(create_app(Settings(store, shelf)), store, ids)


@pytest.fixture(name="phone")
def _phone(page: Page, stall: Stall, complaints: list[str]) -> Iterator[Page]:
    """Open a page of the application, from where its scripts may be loaded."""

    def answer(route: Route) -> None:
        stall.answer(route)

    page.route("**/*", answer)
    alone(page)
    page.goto(f"{ORIGIN}/")
    yield page
    assert not complaints


def texts(tree: list[Any]) -> Iterator[str]:
    """Yield every word of a tree."""
    for each in tree:
        if isinstance(each, str):
            yield each
        else:
            yield from texts(each[2])


def lines(tree: list[Any], depth: int = 0) -> list[str]:
    """Return a tree as lines, so that two can be told apart at a glance."""
    found = []
    for each in tree:
        if isinstance(each, str):
            found.append("  " * depth + each)
        else:
            found.append("  " * depth + " ".join([each[0], *each[1]]))
            found += lines(each[2], depth + 1)
    return found


def elements(tree: list[Any], kind: str) -> Iterator[list[Any]]:
    """Yield every element of a tree that has this tag, or this class, or this id."""
    for each in tree:
        if not isinstance(each, str):
            classes = [name.removeprefix("class=").split() for name in each[1] if "class=" in name]
            if kind in (each[0], *(name for names in classes for name in names)):
                yield each
            yield from elements(each[2], kind)


def without(tree: list[Any], *kinds: str) -> list[Any]:
    """Return a tree without the elements of these classes."""
    kept = []
    for each in tree:
        if isinstance(each, str):
            kept.append(each)
        elif not any(found is each for kind in kinds for found in elements([each], kind)):
            kept.append([each[0], each[1], without(each[2], *kinds)])
    return kept


@pytest.mark.parametrize("name", BOOK)
def test_verdict_page(phone: Page, stall: Stall, name: str) -> None:
    """Every sentence, band, bracket, label and line of the table is the server's."""
    path = f"/inspect/{stall.ids[name]}"
    page = stall.text(f"{path}/verdict")
    links = {"back": path, "card": f"{path}/card"}
    found = phone.evaluate(SHOW, stall.given(name, page, "verdict") | {"links": links})
    assert lines(found["ours"]) == lines(found["theirs"])
    title = re.search(r"<title>(.*?)</title>", page)
    assert title
    assert found["title"] == title[1].replace("&#39;", "'")
    answered = len(BOOK[name]["answers"])
    bands = [one for one in elements(found["ours"], "band") if any("d=M" in x for x in one[1])]
    assert len(bands) > answered / 2
    assert len(list(elements(found["ours"], "lane"))) > answered / 2
    assert len(list(elements(found["ours"], "strip-of-months"))) == 1


@pytest.mark.parametrize("name", BOOK)
def test_card_page(phone: Page, stall: Stall, name: str) -> None:
    """A card made on the phone has the server's digits, and its page the server's words."""
    form = {**MARKS, "leave": "y", "interest": "selling-for-owner"}
    reply = stall.app.test_client().post(
        f"/inspect/{stall.ids[name]}/card", data=form, headers=HERE
    )
    assert reply.status_code == 303, reply.text
    digits = reply.location.rpartition("/")[2]
    base = stall.app.extensions["quickcheck"].base_url
    told = {
        "issued": head(data_of(digits)).issued.isoformat(),
        "interest": "selling-for-owner",
        "base": base,
    }
    given = stall.given(name, stall.text(f"/c/{digits}"), "card")
    again = desk.read_card(stall.store, digits).judged
    given["sentences"] = [asdict(sentence) for sentence in again.sentences]
    found = phone.evaluate(SHOW, given | {"told": told})
    assert found["url"] == f"{base}/c/{digits}"
    # a symbol may have another mask; the phone says itself who made the card, and knows no others
    ours, theirs = (
        without(found[side], "code-ink", "seal", "actions", "others") for side in ("ours", "theirs")
    )
    assert lines(ours) == lines(theirs)
    assert len(list(elements(found["ours"], "code-ink"))) == 1
    (seal,) = elements(found["ours"], "seal")
    assert "The issuer is selling it for the owner." in " ".join(texts([seal]))
