"""Every fault as a page."""

import logging

import pytest
from flask import abort

from quickcheck.errors import (
    AnswerError,
    CardError,
    ConflictError,
    NotFoundError,
    QuickcheckError,
    ReadingError,
    StoreError,
)
from tests.web.kit import Site, assert_says, words


@pytest.mark.parametrize("path", ["/nowhere", "/inspect", "/inspect/", "/c/", "/s/x", "/book/2"])
def test_nowhere(site: Site, path: str) -> None:
    """An address that leads nowhere is answered with ways back."""
    response = site.get(path)
    assert_says(response, 404, "Nothing here", "Start", "Book")
    assert response.mimetype == "text/html"


@pytest.mark.parametrize(
    ("kind", "title"),
    [
        (ReadingError, "Something is not right"),
        (AnswerError, "Something is not right"),
        (CardError, "That could not be read"),
        (NotFoundError, "Nothing here"),
        (ConflictError, "Changed in between"),
        (StoreError, "The book can't be reached"),
        (QuickcheckError, "Something went wrong"),
    ],
)
def test_error_tree(site: Site, kind: type[QuickcheckError], title: str) -> None:
    """Each error of the tree has its status and title, and says what came and what to do."""
    error = kind.of("knobs", expected="<wood>", came='"horn"', remedy="Look again.")

    def fail() -> str:
        raise error

    site = site.with_own_app()
    site.app.add_url_rule("/fails", "fails", fail)
    response = site.get("/fails")
    assert_says(response, kind.status, title, 'knobs: expected <wood>; got "horn". Look again.')


def test_several_faults(site: Site) -> None:
    """All faults of an error are on the page."""
    one = AnswerError.of("a", expected="b", came="c", remedy="d")
    two = AnswerError.of("e", expected="f", came="g", remedy="h")

    def fail() -> str:
        raise AnswerError(*one.faults, *two.faults)

    site = site.with_own_app()
    site.app.add_url_rule("/fails", "fails", fail)
    assert_says(site.get("/fails"), 422, "a: expected b", "e: expected f")


def test_fault_of_the_program(site: Site, caplog: pytest.LogCaptureFixture) -> None:
    """A fault of the program's own is logged with its trace, and the page shows none of it."""
    inner = "the inner workings"

    def fail() -> str:
        raise RuntimeError(inner)

    site = site.with_own_app()
    site.app.add_url_rule("/fails", "fails", fail)
    with caplog.at_level(logging.ERROR):
        response = site.get("/fails")
    assert_says(response, 500, "a fault of the app", "What was saved before is still saved")
    assert inner not in response.text
    assert inner in caplog.text
    assert caplog.records[-1].exc_info


@pytest.mark.parametrize("status", [400, 403, 410, 418, 429, 501])
def test_http_errors(site: Site, status: int) -> None:
    """Any other error of HTTP keeps its status and is a page as well."""
    site = site.with_own_app()
    site.app.add_url_rule("/fails", "fails", lambda: abort(status))
    response = site.get("/fails")
    assert response.status_code == status
    assert "<h1>" in response.text


def test_echo_is_text(site: Site) -> None:
    """What came is repeated as text, shortened, and never as a piece of the page."""
    response = site.get("/?reference=" + "<script>x</script>" * 30)
    assert response.status_code == 404
    assert "<script>x" not in response.text
    assert len(words(response)) < 700
