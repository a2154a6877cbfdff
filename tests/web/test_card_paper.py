"""The card on small paper, as the server sends it; how it prints is for `tests/browser/`."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from quickcheck.card import MODULE_MM, QUIET, card_url, data_of, digits, symbol, unsealed
from quickcheck.reference import Reference
from quickcheck.web import cards
from tests.web.issuing import answered, issued, issuing, make
from tests.web.kit import Site, assert_says

SIZES = pytest.mark.parametrize("size", list(cards.PAPERS))


@pytest.fixture(name="station")
def _station(tmp_path: Path, reference: Reference) -> Iterator[Site]:
    with issuing(tmp_path, reference) as site:
        yield site


@SIZES
def test_as_large_as_it_says(station: Site, size: str) -> None:
    """The code's dots are 0.75 mm, quiet zone and all; the page says its size and names the others."""
    text = make(station, answered(station))
    page = station.get(f"/c/{text}/print/{size}")
    paper = cards.PAPERS[size]
    side = (symbol(card_url("http://localhost", data_of(text))).size + 2 * QUIET) * MODULE_MM
    assert_says(page, 200, f"{paper.width:g} × {paper.height:g} mm", "Print at 100 %")
    assert re.findall(r'<svg class="code" width="([\d.]+)mm" height="([\d.]+)mm"', page.text) == [
        (str(side), str(side))
    ]
    links = re.findall(r'href="(/c/\d+[^"]*)"', page.text)
    others = [f"/c/{text}/print/{other}" for other in cards.PAPERS if other != size]
    assert links == [*others, f"/c/{text}/print", f"/c/{text}"]
    assert "<script" not in page.text


def test_a_code_too_large_for_the_paper(station: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is not made smaller: the page says that it does not fit, and how large it would be."""
    monkeypatch.setattr(cards, "PAPERS", {"card": cards.Paper("Credit card", 85.6, 40.0)})
    page = station.get(f"/c/{make(station, answered(station))}/print/card")
    assert_says(
        page, 200, "No code here: at 0.75 mm a dot it would be", "Print it on a larger size"
    )
    assert '<svg class="code"' not in page.text


@SIZES
def test_taken_back_or_corrected(station: Site, size: str) -> None:
    """What does not stand any more has no code on paper, and a warning above everything."""
    inspection = answered(station)
    text = make(station, inspection)
    (card,) = issued(station, inspection)
    again = make(station, inspection, instead_of=card.id, interest="none")
    for path, holds in ((text, False), (again, True)):
        page = station.get(f"/c/{path}/print/{size}")
        assert ('<svg class="code"' in page.text) is holds
        assert ("Do not rely on this card." in page.text) is not holds


@SIZES
def test_unsealed(station: Site, size: str) -> None:
    """Without a seal it prints, and says that nothing tells who wrote it."""
    bare = digits(unsealed(data_of(make(station, answered(station)))))
    page = station.get(f"/c/{bare}/print/{size}")
    assert_says(page, 200, "Not sealed: nothing tells who wrote it", "Match these")


def test_somebody_elses_word(station: Site) -> None:
    """Nothing of a text that was altered is repeated on paper; a size that there is not is said so."""
    data = bytearray(data_of(make(station, answered(station))))
    data[30] ^= 1
    assert station.get(f"/c/{digits(bytes(data))}/print/card").status_code == 404
    assert station.get(f"/c/{make(station, answered(station))}/print/a7").status_code == 404


def test_sizes_from_the_sheet(station: Site) -> None:
    """The view for printing leads to every size."""
    text = make(station, answered(station))
    page = station.get(f"/c/{text}/print").text
    assert all(f'href="/c/{text}/print/{size}"' in page for size in cards.PAPERS)
