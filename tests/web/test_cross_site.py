"""What other sites can make a browser send, at every route, and what every reply carries."""

from collections.abc import Iterator

import pytest

from quickcheck.reference import Reference
from quickcheck.web.guard import HEADERS
from tests.web.showing import Show, showing
from tests.web.test_who_may_see import ROLES, address, asked, body, rules

FORM = {
    "Sec-Fetch-Site": "cross-site",
    "Sec-Fetch-Mode": "navigate",
    "Origin": "https://evil.example",
}
NO_CORS = {
    "Sec-Fetch-Site": "cross-site",
    "Sec-Fetch-Mode": "no-cors",
    "Origin": "https://evil.example",
    "Content-Type": "text/plain",
}
SENT_BY_OTHERS = {
    "a form": FORM,
    "fetch without CORS": NO_CORS,
    "a form in a sandbox": FORM | {"Origin": "null"},
    "a sister site": FORM | {"Sec-Fetch-Site": "same-site"},
    "an old browser": {"Origin": "https://evil.example"},
    "one that says nothing": {},
}
CHANGING = frozenset({"POST", "PUT", "PATCH", "DELETE"})


@pytest.fixture(name="show", scope="module")
def _show(tmp_path_factory: pytest.TempPathFactory, reference: Reference) -> Iterator[Show]:
    with showing(tmp_path_factory.mktemp("show"), reference) as show:
        yield show


@pytest.mark.parametrize("how", SENT_BY_OTHERS)
def test_another_site_changes_nothing(show: Show, how: str) -> None:
    """Each change, with everything right but where it comes from, and the organizer's cookie: 403."""
    show.unlock("organizer")
    before = (show.site.counts(), show.site.store.devices.list(), show.site.store.access.books())
    tried = 0
    for rule, method in rules(show):
        if method in CHANGING:
            path = address(show, rule, show.inspection)
            more = body(show, rule.endpoint, show.inspection)
            headers = {**more.pop("headers", {}), **SENT_BY_OTHERS[how]}
            got = show.client("organizer").open(path, method=method, headers=headers, **more)
            assert got.status_code == 403, rule.endpoint
            assert "Set-Cookie" not in got.headers
            tried += 1
    after = (show.site.counts(), show.site.store.devices.list(), show.site.store.access.books())
    assert after == before
    assert tried >= 35


def test_no_change_by_a_link(show: Show) -> None:
    """What only a changing method may do is not there for GET; no reply lets other origins read it."""
    show.unlock("organizer")
    for rule, _ in rules(show):
        path = address(show, rule, show.inspection)
        others = {kind for at, kind in rules(show) if at.rule == rule.rule}
        if "GET" not in others:
            got = show.ask("organizer", path)
            assert got.status_code in (404, 405), rule.endpoint
        reply = show.client("organizer").open(path, method="OPTIONS", headers=FORM)
        assert not [name for name, _ in reply.headers if name.startswith("Access-Control")]
        assert show.ask("organizer", path, "TRACE").status_code in (404, 405), rule.endpoint


def test_every_reply_to_everybody(show: Show) -> None:
    """With an organizer, whoever asks and whatever comes: all headers, and a charset where text is."""
    asked_of = 0
    show.let_in("spare", show.devices["dealer B"].role, show.books["B"])
    show.unlock("organizer")
    for rule, method in rules(show):
        for who in ROLES:
            if who == "buyer":
                continue  # has no cookie either, as nobody has
            reply = asked(show, who, rule, method, show.inspection)
            where = f"{method} {rule.rule} for {who}: {reply.status_code}"
            assert {name: reply.headers.get(name) for name in HEADERS} == HEADERS, where
            assert reply.headers["Referrer-Policy"] == "no-referrer", where
            assert reply.headers.get("Cache-Control"), where
            kind = reply.headers.get("Content-Type", "")
            if kind.startswith("text/") or "+xml" in kind:
                assert "charset=utf-8" in kind.lower(), f"{where}: {kind}"
            asked_of += 1
    assert asked_of >= 400
