"""A card's page in all ten states of its seal: none but three may look as if it stood."""

import random
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from quickcheck import desk
from quickcheck.card import (
    STANDING,
    Card,
    SealState,
    Signer,
    data_of,
    decode_any,
    digits,
    encode,
    seal,
    unsealed,
)
from quickcheck.card.seal_words import SEAL_WORDS
from quickcheck.engine import VERDICT_WORDS
from quickcheck.reference import Reference
from quickcheck.store import KeyFiles, open_store, retire_key
from quickcheck.web.words import SEAL_TITLES
from tests.web.issuing import ISSUER, answered, clock, issued, issuing, make
from tests.web.kit import Site, assert_says, has_trace, words

LATER = datetime(2026, 6, 1, tzinfo=UTC)


@pytest.fixture(name="station")
def _station(tmp_path: Path, reference: Reference) -> Iterator[Site]:
    with issuing(tmp_path, reference) as site:
        yield site


def keys_of(site: Site) -> KeyFiles:
    found: KeyFiles = site.app.extensions["quickcheck"].keys
    return found


def signer_of(site: Site) -> Signer:
    return desk.signer_needed(site.store, keys_of(site))


def card_of(site: Site, data: bytes) -> Card:
    return decode_any(data, site.reference)


def end_key(site: Site, *, revoke: bool) -> None:
    (key,) = site.store.keys.list()
    retire_key(site.store.keys, keys_of(site), key_id=key.id, now=LATER, revoke=revoke)


def _sealed(site: Site) -> str:
    return make(site, answered(site))


def _retired(site: Site) -> str:
    made = _sealed(site)
    end_key(site, revoke=False)
    return made


def _logged(site: Site) -> str:
    made = _sealed(site)
    end_key(site, revoke=True)
    return made


def _corrected(site: Site) -> str:
    inspection = answered(site)
    made = make(site, inspection)
    (old,) = issued(site, inspection)
    site.answer(inspection, "knobs", seen="horn")
    make(site, inspection, instead_of=old.id)
    return made


def _withdrawn(site: Site) -> str:
    inspection = answered(site)
    made = make(site, inspection)
    (card,) = issued(site, inspection)
    site.store.cards.withdraw(card.id, now=LATER)
    return made


def _out_of_time(site: Site) -> str:
    card = card_of(site, data_of(_sealed(site)))
    early = replace(card, head=replace(card.head, issued=datetime(2025, 1, 1, tzinfo=UTC)))
    return digits(seal(early, signer_of(site)).data)


def _revoked(site: Site) -> str:
    card = card_of(site, data_of(_sealed(site)))
    thief = signer_of(site)
    end_key(site, revoke=True)
    return digits(seal(replace(card, head=replace(card.head, number=9)), thief).data)


def _unknown_key(site: Site) -> str:
    return digits(seal(card_of(site, data_of(_sealed(site))), Signer(b"\7" * 32)).data)


def _altered(site: Site) -> str:
    data = bytearray(data_of(_sealed(site)))
    data[12] ^= 1
    return digits(bytes(data))


def _unsealed(site: Site) -> str:
    return digits(unsealed(data_of(_sealed(site))))


WAYS: dict[SealState, Callable[[Site], str]] = {
    SealState.SEALED: _sealed,
    SealState.RETIRED: _retired,
    SealState.LOGGED: _logged,
    SealState.CORRECTED: _corrected,
    SealState.WITHDRAWN: _withdrawn,
    SealState.OUT_OF_TIME: _out_of_time,
    SealState.REVOKED: _revoked,
    SealState.UNKNOWN_KEY: _unknown_key,
    SealState.ALTERED: _altered,
    SealState.UNSEALED: _unsealed,
}
SILENT = {
    SealState.OUT_OF_TIME,
    SealState.REVOKED,
    SealState.UNKNOWN_KEY,
    SealState.ALTERED,
}


def test_all_states() -> None:
    """Every state has a way to come about here, a title and words."""
    assert set(WAYS) == set(SealState) == set(SEAL_TITLES) == set(SEAL_WORDS)


@pytest.mark.parametrize("state", SealState)
@pytest.mark.parametrize("path", ["", "/print"])
def test_state(station: Site, state: SealState, path: str) -> None:
    """The page tells the state by attribute, title, sentence and mark, before anything else if bad."""
    text = WAYS[state](station)
    page = station.get(f"/c/{text}{path}")
    sentence = SEAL_WORDS[state].split("{")[0].strip()
    assert_says(page, 200, f"{SEAL_TITLES[state]}.", sentence)
    assert f'<article class="leaf wide" data-seal="{state}">' in page.text
    assert page.text.count('class="seal-mark"') == 1
    assert page.headers["X-Robots-Tag"] == "noindex"
    bad = state not in STANDING | {SealState.UNSEALED}
    assert ('class="seal fails first"' in page.text) == bad
    if bad:
        assert page.text.index("seal fails") < page.text.index("</article>")
        assert "Text unchanged" not in page.text
        assert "data-verdict" not in page.text


def test_marks_differ(station: Site) -> None:
    """The mark of a seal that stands, and of each way in which it does not, has its own shape."""

    def mark(state: SealState) -> str:
        page = station.get(f"/c/{WAYS[state](station)}").text
        found = re.search(r'class="seal-mark".*?</svg>', page, re.DOTALL)
        assert found
        return found[0]

    states = [SealState.SEALED, SealState.CORRECTED, SealState.WITHDRAWN, SealState.UNSEALED]
    shapes = [mark(state) for state in [*states, SealState.ALTERED]]
    assert len(set(shapes)) == len(shapes)
    assert mark(SealState.UNKNOWN_KEY) == shapes[-1]


@pytest.mark.parametrize("state", sorted(SILENT))
def test_nothing_of_it_is_passed_on(station: Site, state: SealState) -> None:
    """Of a text that may be a stranger's neither serial, marks, verdict nor picture are shown."""
    text = WAYS[state](station)
    page = station.get(f"/c/{text}")
    assert_says(page, 200, "Nothing that it says is repeated here")
    for word in ("0420", "Burn", "Wood", *VERDICT_WORDS.values()):
        assert word not in words(page)
    assert '<svg class="code"' not in page.text
    assert_says(station.get(f"/c/{text}/card.png"), 404, "no picture")


@pytest.mark.parametrize("state", [SealState.CORRECTED, SealState.WITHDRAWN])
def test_recalled(station: Site, state: SealState) -> None:
    """What a recalled card said is told as what it said, and no verdict stands on it."""
    page = station.get(f"/c/{WAYS[state](station)}")
    assert_says(page, 200, "It said: ", "0420", ISSUER)
    assert 'class="card void"' in page.text


def test_corrected_leads_on(station: Site) -> None:
    """The old page leads to the card in its place, which stands."""
    page = station.get(f"/c/{_corrected(station)}").text
    found = re.search(r'href="(/c/[0-9]+)">Open the card in its place', page)
    assert found
    assert_says(station.get(found[1]), 200, "Text unchanged since issued", "Horn")


# The edition is not here, or the rules are others


def test_edition_is_missing(station: Site, tmp_path: Path) -> None:
    """Seal, verdict, months, serial and marks are shown, and that the edition is not here."""
    made = _sealed(station)
    (key,) = station.store.keys.list()
    with open_store(tmp_path / "bare.sqlite3") as store:
        store.keys.add(key)
        bare = Site.on(store, station.reference, desk.Shelf({}, {}))
        page = bare.get(f"/c/{made}")
        assert_says(
            page,
            200,
            "Text unchanged since issued",
            "The edition is not here",
            "Too little seen",
            "Claimed Mar–Aug 1952. When issued, what was seen read as Jan 1950–Feb 1953",
            "0420",
            "Initials or writing, 20 mm: In a cavity",
            "no authentication, appraisal or guarantee",
        )
        assert "Wood" not in words(page)
        assert bare.get(f"/c/{made}/card.png").status_code == 200
        assert_says(bare.get(f"/c/{digits(unsealed(data_of(made)))}"), 404, "edition")


def sealed_with(site: Site, **front: object) -> str:
    """Seal a card whose front says something else than its answers."""
    card = card_of(site, data_of(_sealed(site)))
    changed = replace(card, head=replace(card.head, **front))  # type: ignore[arg-type]
    return digits(site.store.cards.issue(changed, signer_of(site)).data)


def test_rules_were_revised(station: Site) -> None:
    """The sealed verdict stands on the card, today's beside it, with both revisions."""
    page = station.get(f"/c/{sealed_with(station, rules=9, verdict='disagrees')}")
    assert_says(
        page,
        200,
        "Judged again today Too little seen.",
        "was judged by revision 9, today’s is 1",
    )
    assert 'data-verdict="disagrees"' in page.text
    heading = re.search(r"<h1>.*?</h1>", page.text, re.DOTALL)
    assert heading
    assert "Does not agree" in heading[0]


def test_same_rules_another_verdict(station: Site) -> None:
    """A sealed verdict that today's program does not find by the same rules is told as a fault."""
    page = station.get(f"/c/{sealed_with(station, verdict='agrees')}")
    assert_says(page, 200, "Judged again today", "one of the two programs is at fault")


def test_unsealed_lie(station: Site) -> None:
    """Without a seal the verdict shown is that of the answers, and a code that lies is called out."""
    card = card_of(station, data_of(_sealed(station)))
    lie = replace(card, head=replace(card.head, verdict="agrees"))
    page = station.get(f"/c/{digits(encode(lie))}")
    assert_says(page, 200, "The code says “Agrees”, its own answers do not.", "Do not rely on it")
    assert 'data-verdict="too-little-seen"' in page.text


# Texts that are no card


def test_spoilt_texts(station: Site) -> None:
    """Cut, filled up, over-long or respelt, a text is a plain page or a broken seal, never a card."""
    made = _sealed(station)
    data = data_of(made)
    dice = random.Random(4)
    spoilt = [
        *(digits(data[:length]) for length in range(1, len(data), 9)),
        *(digits(data + bytes(more)) for more in (1, 2, 40)),
        *(made[:cut] for cut in range(1, len(made), 40)),
        *(digits(bytes(dice.randbytes(dice.randint(1, 250)))) for _ in range(30)),
        f"0{made}",
        made + "0",
        made.translate({ord("0") + i: ord("٠") + i for i in range(10)}),
        f"+{made}",
        f"{made} ",
        "1" * 800,
        "1" * 20000,
    ]
    for text in spoilt:
        page = station.get(f"/c/{text}")
        assert not has_trace(page)
        if page.status_code == 200:
            assert re.search(r'data-seal="(unknown-key|altered)"', page.text), text
            assert "0420" not in page.text
        else:
            assert page.status_code in (400, 404), text
            assert "Traceback" not in page.text


def test_every_flipped_bit(station: Site) -> None:
    """A card with any one bit turned does not keep its seal on the page."""
    data = data_of(_sealed(station))
    for bit in range(0, 8 * len(data), 5):
        turned = (int.from_bytes(data, "big") ^ 1 << bit).to_bytes(len(data), "big")
        page = station.get(f"/c/{digits(turned)}")
        assert "Text unchanged" not in page.text, bit
        assert page.status_code in (200, 400, 404)


# What the page weighs and loads


def test_no_script(station: Site) -> None:
    """The page loads one sheet of style and an icon, runs no script and has no link into the book."""
    page = station.get(f"/c/{_sealed(station)}")
    assert "<script" not in page.text
    assert re.findall(r'<link[^>]*rel="([^"]+)"', page.text) == ["icon", "stylesheet"]
    assert "/book" not in page.text
    assert "Set-Cookie" not in page.headers


def test_for_printing(station: Site) -> None:
    """One tap shows the same card black on white, with every point and without buttons."""
    made = _sealed(station)
    screen, paper = station.get(f"/c/{made}"), station.get(f"/c/{made}/print")
    assert f'href="/c/{made}/print"' in screen.text
    assert 'class="card-page paper"' in paper.text
    assert "For printing" not in words(paper)
    for point in ("Knobs", "Neck depth", "Serial"):
        assert f'<th scope="row">{point}</th>' in paper.text


def test_later_cards_are_told(station: Site) -> None:
    """A card that was issued later is told on the page of the earlier one."""
    made = _sealed(station)
    clock(station).at += timedelta(days=400)
    make(station, answered(station))
    assert_says(station.get(f"/c/{made}"), 200, "Other cards for this serial: 1 (16 May 2027)")
