"""Making a card where the station has an issuer's key: judged, sealed, logged, each once."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path

import pytest

from quickcheck import desk
from quickcheck.card import SealState, data_of, encode, head, unsealed
from quickcheck.errors import StoreError
from quickcheck.reference import Reference
from quickcheck.store import KeyFiles, retire_key
from tests.web.issuing import ISSUER, answered, clock, issued, issuing, make, press
from tests.web.kit import Site, assert_says, words


@pytest.fixture(name="station")
def _station(tmp_path: Path, reference: Reference) -> Iterator[Site]:
    with issuing(tmp_path, reference) as site:
        yield site


def test_sealed(station: Site) -> None:
    """A card that is made is sealed: state, issuer, time and number are on its page and in the log."""
    inspection = answered(station)
    digits = make(station, inspection)
    page = station.get(f"/c/{digits}")
    (card,) = issued(station, inspection)
    assert card.data == data_of(digits)
    assert card.number == head(card.data).number == 1
    assert_says(
        page,
        200,
        f"Text unchanged since issued on 11 April 2026, {card.issued:%H:%M} UTC by {ISSUER}; "
        "the seal says nothing about the instrument.",
        "The issuer is selling it.",
        "1 by this key for this serial",
        "Match these with the instrument in your hands.",
        "Burn, 6 mm: Fingerboard, fret 9",
        "No other card for this serial was issued here.",
    )
    assert 'data-seal="sealed"' in page.text


def test_what_is_sealed_is_what_the_server_judged(station: Site) -> None:
    """The sealed bytes, taken out of the seal, are the card of the stored inspection."""
    inspection = answered(station)
    data = data_of(make(station, inspection))
    judged = desk.judge_saved(station.store, station.store.book.get(inspection))
    card = desk.make_card(judged, interest="selling", now=head(data).issued)
    assert unsealed(data) == encode(card)
    (kept,) = issued(station, inspection)
    assert kept.source == sha256(encode(card)).hexdigest()


def test_pressed_twice(station: Site) -> None:
    """The same inspection gives the card it gave before, at any later time; a change gives another."""
    inspection = answered(station)
    first = make(station, inspection)
    clock(station).at += timedelta(days=3)
    assert make(station, inspection) == first
    other_interest = make(station, inspection, interest="none")
    station.answer(inspection, "knobs", seen="horn")
    changed = make(station, inspection)
    assert len({first, other_interest, changed}) == 3
    assert [card.number for card in issued(station, inspection)] == [1, 2, 3]


def test_no_leave_no_card(station: Site) -> None:
    """Without the owner's tick nothing is sealed."""
    inspection = answered(station)
    assert_says(press(station, inspection, leave="n"), 422, "Ask the owner")
    assert issued(station, inspection) == []


def test_the_form_says_who_seals(station: Site) -> None:
    """The form names the issuer in whose name the card is sealed."""
    page = station.get(f"/inspect/{answered(station)}/card")
    assert_says(page, 200, "sealed in the name of Fettle & Daughter")
    assert "keys make" not in page.text


@pytest.mark.parametrize("folder", [True, False], ids=["no key", "no folder"])
def test_without_a_key(tmp_path: Path, reference: Reference, *, folder: bool) -> None:
    """Where no key is in use the card stays unsealed, and the form says why and what to do."""
    with issuing(tmp_path, reference, key=False) as station:
        site = station if folder else Site.on(station.store, reference)
        inspection = answered(site)
        page = site.get(f"/inspect/{inspection}/card")
        assert_says(page, 200, "no issuer key is in use here", "quickcheck keys make")
        digits = make(site, inspection)
        assert_says(site.get(f"/c/{digits}"), 200, "Nothing proves who made this card or when")
        assert issued(site, inspection) == []


def test_a_retired_key_seals_no_more(station: Site, tmp_path: Path) -> None:
    """Once the key is retired, a new card is unsealed."""
    (key,) = station.store.keys.list()
    now = datetime(2026, 4, 12, tzinfo=UTC)
    retire_key(station.store.keys, KeyFiles(tmp_path / "keys"), key_id=key.id, now=now)
    digits = make(station, answered(station))
    assert station.store.cards.check(data_of(digits)).state is SealState.UNSEALED


def test_a_key_that_others_may_read(station: Site, tmp_path: Path) -> None:
    """A key file that is open to others stops the making: it is not passed over in silence."""
    (path,) = (tmp_path / "keys").glob("*.pem")
    path.chmod(0o644)
    inspection = answered(station)
    response = press(station, inspection)
    assert_says(response, 503, "only its owner may read", "chmod 600")
    assert issued(station, inspection) == []
    with pytest.raises(StoreError, match="chmod 600"):
        desk.issuer_here(station.store, KeyFiles(tmp_path / "keys"))


def test_other_cards_for_the_serial(station: Site) -> None:
    """Another card for the serial is told by its day only; its answers and its address are not."""
    first = make(station, answered(station, "A 641"))
    clock(station).at += timedelta(days=21)
    second = make(station, answered(station, "a-641"))
    page = station.get(f"/c/{second}")
    assert_says(page, 200, "Other cards for this serial: 1 (11 Apr 2026). Ask why.")
    assert_says(page, 200, "2 by this key for this serial")
    assert first not in page.text
    assert_says(station.get(f"/c/{first}"), 200, "Other cards for this serial: 1 (2 May 2026)")


def test_many_other_cards(station: Site) -> None:
    """The page stays short where a serial has many cards: the last twelve days, then no more."""
    inspection = answered(station)
    for tick in range(15):
        station.answer(inspection, "knobs", seen="horn" if tick % 2 else "wood")
        station.answer(inspection, "serial", seen=f"{300 + tick}")
        digits = make(station, inspection)
    page = words(station.get(f"/c/{digits}"))
    assert "Other cards for this serial: 14" in page
    assert page.count("11 Apr 2026") == 1 + 1 + 12
    assert "and earlier" in page


def test_no_serial(station: Site) -> None:
    """Without a serial nothing is said of other cards but that nothing tells."""
    make(station, answered(station, ""))
    page = station.get(f"/c/{make(station, answered(station, ''))}")
    assert_says(page, 200, "Without a serial nothing tells", "for instruments without a serial")


def test_the_same_bytes_for_ever(station: Site) -> None:
    """A card that went out is the same later, whatever was answered, corrected or made since."""
    inspection = answered(station)
    digits = make(station, inspection)
    before = station.get(f"/c/{digits}").text
    station.answer(inspection, "knobs", seen="horn", state="changed")
    assert station.get(f"/c/{digits}").text == before
    (card,) = issued(station, inspection)
    assert card.data == data_of(digits)
