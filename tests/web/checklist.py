"""What holds at every endpoint; a test file names its own in a subclass and gets these tests."""

from typing import ClassVar

import pytest

from tests.web.kit import HERE, NOBODY, Site, assert_says, has_trace

METHODS = frozenset({"GET", "POST", "PUT", "PATCH", "DELETE"})
LARGEST = 256 * 1024


class Checklist:
    """An endpoint's address and the methods that it takes; ``{id}`` stands for an inspection."""

    path: ClassVar[str]
    methods: ClassVar[frozenset[str]]

    def address(self, site: Site) -> str:
        """Return an address of the endpoint that leads to something."""
        return self.path.format(id=site.begin()) if "{id}" in self.path else self.path

    def test_wrong_method(self, site: Site) -> None:
        """Any other method is refused with a page, and the reply names those that work."""
        address = self.address(site)
        for method in sorted(METHODS - self.methods):
            response = site.client.open(address, method=method, headers=HERE)
            assert_says(response, 405, "Not that way")
            assert self.methods <= set(response.allow)

    def test_head(self, site: Site) -> None:
        """A HEAD gets the headers of the page and no body, where there is a page to get."""
        response = site.client.head(self.address(site))
        assert response.status_code == (200 if "GET" in self.methods else 405)
        assert response.data == b""


class Page(Checklist):
    """An endpoint that only shows."""

    methods = frozenset({"GET"})


class Changing(Checklist):
    """An endpoint that changes something."""

    methods = frozenset({"POST"})

    @pytest.mark.parametrize(
        "headers",
        [
            {"Sec-Fetch-Site": "cross-site", "Origin": "https://elsewhere.example"},
            {"Sec-Fetch-Site": "same-site", "Origin": "http://other.localhost"},
            {"Sec-Fetch-Site": "none"},
            {"Sec-Fetch-Site": "cross-site", "Origin": "http://localhost"},
            {"Origin": "https://elsewhere.example"},
            {"Origin": "http://localhost:9"},
            {"Origin": "null"},
            {},
        ],
        ids=[
            *("cross-site", "same-site", "typed", "lying-origin"),
            *("foreign-origin", "other-port", "null-origin", "nothing-said"),
        ],
    )
    def test_foreign_origin(self, site: Site, headers: dict[str, str]) -> None:
        """A change that does not come from a page of ours is refused and nothing is stored."""
        address = self.address(site)
        before = site.counts()
        response = site.client.post(address, data={}, headers=headers)
        assert_says(response, 403, "Not from here", "Open the page and try again")
        assert site.counts() == before

    def test_too_large_body(self, site: Site) -> None:
        """A body larger than any form of ours is refused with a page, and nothing is stored."""
        address = self.address(site)
        before = site.counts()
        response = site.post(address, {"note": "x" * LARGEST})
        assert_says(response, 413, "Too large")
        assert site.counts() == before


class OfInspection(Checklist):
    """An endpoint that belongs to one inspection."""

    def test_unknown_inspection(self, site: Site) -> None:
        """An id that nobody has is answered with what came and what to do."""
        for method in sorted(self.methods):
            address = self.path.format(id=NOBODY)
            response = site.client.open(address, method=method, headers=HERE)
            assert_says(response, 404, "Nothing here", "inspection", NOBODY)

    @pytest.mark.parametrize(
        "text",
        ["1", "not-an-id", "..", "%00", "%F0%9F%8E%B8", "' OR 1=1", "x" * 500, NOBODY[:-1]],
        ids=["short", "words", "dots", "nul", "emoji", "quote", "long", "one-short"],
    )
    def test_bad_id(self, site: Site, text: str) -> None:
        """Text that is no id at all is answered like an id that nobody has."""
        for method in sorted(self.methods):
            response = site.client.open(
                self.path.format(id=text), method=method, headers=HERE, follow_redirects=False
            )
            assert response.status_code == 404
            assert not has_trace(response)
