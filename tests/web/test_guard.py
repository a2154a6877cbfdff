"""What protects every reply and every change."""

import re

import pytest
from werkzeug.routing import Rule

from quickcheck.desk import Stage
from quickcheck.desk.workshop import Result
from quickcheck.store import THIS_BOOK
from quickcheck.web.guard import HEADERS, POLICY
from tests.web.kit import HERE, Site, asset, has_trace, words
from tests.web.test_card import make
from tests.web.test_learning import put


def arguments(site: Site) -> dict[str, str]:
    """Return something for every kind of address: {argument: value that leads to something}."""
    return {
        "inspection": str(site.begin()),
        "text": make(site),
        "reference": site.reference.id,
        "prefix": site.reference.hash[:16],
        "hashed": asset(site, "css/app.css").split("/")[2],
        "size": "card",
        "code": "0" * 26,
        "digest": "0" * 64,
        "kind": "png",
        "device": "00000000-0000-4000-8000-000000000000",
        "book": str(THIS_BOOK),
        "learning": put(site, Stage.DONE, result=Result("", "", "")).rpartition("/")[2],
    }


def address(rule: Rule, values: dict[str, str]) -> str:
    """Return an address of a rule."""
    name = "wood.svg" if rule.rule.startswith("/references") else "css/app.css"
    known = {**values, "name": name}
    return re.sub(r"<(?:\w+:)?(\w+)>", lambda found: known[found[1]], rule.rule)


def test_every_route(site: Site) -> None:
    """Every route, asked by every method, in sense and nonsense, carries all the headers."""
    values = arguments(site)
    asked = 0
    for rule in site.app.url_map.iter_rules():
        for path in (address(rule, values), re.sub(r"<[^>]+>", "nonsense", rule.rule)):
            for method in ("GET", "HEAD", "POST", "DELETE", "OPTIONS"):
                for headers in (HERE, {}):
                    response = site.client.open(path, method=method, headers=headers)
                    where = f"{method} {path} {response.status_code}"
                    got = {name: response.headers.get(name) for name in HEADERS}
                    assert got == HEADERS, where
                    assert response.headers["Referrer-Policy"] == "no-referrer", where
                    assert response.headers.get("Cache-Control"), where
                    assert response.status_code < 500, f"{where}: {words(response)}"
                    assert not has_trace(response), where
                    asked += 1
    assert asked >= 20 * len(list(site.app.url_map.iter_rules()))


def test_pages_are_not_kept(site: Site) -> None:
    """Only what never changes under its address may be kept for ever; all else is asked for."""
    values = arguments(site)
    told = {
        rule.endpoint: site.get(address(rule, values)).headers["Cache-Control"]
        for rule in site.app.url_map.iter_rules()
        if "GET" in (rule.methods or ())
    }
    for_ever = {endpoint for endpoint, kept in told.items() if "immutable" in kept}
    assert for_ever - {"offline.model"} == {"asset", "references.picture"}
    assert {told[endpoint] for endpoint in told.keys() - for_ever} <= {"no-store", "no-cache"}


def test_policy() -> None:
    """No inline script or style, nothing from elsewhere, nothing evaluated, framed or based."""
    rules = dict(part.split(" ", 1) for part in POLICY.split("; "))
    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == rules["style-src"] == "'self'"
    assert rules["frame-ancestors"] == rules["base-uri"] == "'none'"
    assert rules["form-action"] == "'self'"
    assert not [word for word in ("unsafe", "http:", "https:", "*") if word in POLICY]


def test_pages_keep_to_the_policy(site: Site) -> None:
    """No page has inline scripts, handlers or styles, or loads anything from elsewhere."""
    values = arguments(site)
    for rule in site.app.url_map.iter_rules():
        if "GET" in (rule.methods or ()):
            response = site.get(address(rule, values))
            if response.mimetype == "text/html":
                assert not re.search(r"<script(?![^>]*\bsrc=)", response.text), rule.rule
                assert not re.search(r"<[^>]+\s(style|on\w+)\s*=", response.text), rule.rule
                assert not re.search(r'(?:src|href|action)="(?:https?:)?//', response.text)
                assert "<style" not in response.text


@pytest.mark.parametrize("host", ["elsewhere.example", "localhost.elsewhere.example", "10.0.0.1"])
def test_foreign_host(site: Site, host: str) -> None:
    """A request for another host, as a rebound name sends it, gets nothing but the headers."""
    for path in ("/", "/book", asset(site, "css/app.css"), "/nowhere"):
        response = site.client.get(path, headers={"Host": host})
        assert response.status_code == 400, path
        assert {name: response.headers.get(name) for name in HEADERS} == HEADERS
        assert not has_trace(response)
        assert "Loom One" not in response.text


@pytest.mark.parametrize("host", ["localhost", "localhost:8000", "127.0.0.1:81"])
def test_own_hosts(site: Site, host: str) -> None:
    """The names of this machine are answered, at any port."""
    assert site.client.get("/book", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize("host", ["", "local host", "localhost:x", "é", "a" * 300])
def test_broken_host(site: Site, host: str) -> None:
    """A Host that is none is refused without a fault of the program."""
    response = site.client.get("/book", headers={"Host": host})
    assert response.status_code in (200, 400)
    assert not has_trace(response)


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Sec-Fetch-Site": "same-origin"}, 303),
        ({"Sec-Fetch-Site": "same-origin", "Origin": "null"}, 303),
        ({"Origin": "http://localhost"}, 303),
        ({"Origin": "http://localhost:80"}, 303),
        ({"Sec-Fetch-Site": "SAME-ORIGIN"}, 403),
        ({"Sec-Fetch-Site": ""}, 403),
        ({"Origin": ""}, 403),
        ({"Origin": "https://["}, 403),
        ({"Referer": "http://localhost/"}, 403),
    ],
)
def test_same_origin(site: Site, headers: dict[str, str], status: int) -> None:
    """A change is taken when the browser says that a page of ours sent it."""
    response = site.client.post("/veil", data={"veil": "1", "back": "/"}, headers=headers)
    if headers.get("Origin") == "http://localhost:80":
        assert response.status_code in (303, 403)  # browsers never send the default port
    else:
        assert response.status_code == status
