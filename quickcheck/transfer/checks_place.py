"""What must hold of the books, the devices, the show and the papers in an export."""

import re
from collections.abc import Iterable, Sequence
from typing import Final
from uuid import UUID

from quickcheck.store import (
    THIS_BOOK,
    CarriedBook,
    CarriedDevice,
    CarriedShow,
    CarriedTally,
    CarriedWord,
    Paper,
    PlaceCarried,
    Role,
    Show,
)
from quickcheck.transfer.members import BOOKS, DEVICES, SHOW, TALLIES
from quickcheck.transfer.plain import unfit

_BASE_URL: Final = re.compile(r"https?://[0-9a-z.:\[\]-]+", re.ASCII)
_ROLES: Final = frozenset(map(str, Role))
_PAPERS: Final = frozenset(map(str, Paper))


def check_place(place: PlaceCarried) -> frozenset[UUID]:
    """Refuse what does not belong together; return which books there are."""
    books = _check_books(place.books)
    devices = _check_devices(place.devices, books)
    _check_tallies(place.tallies, devices)
    _check_shows(place.shows)
    return books


def _check_books(books: Sequence[CarriedBook]) -> frozenset[UUID]:
    found = frozenset(book.id for book in books)
    if THIS_BOOK not in found:
        raise unfit(BOOKS, f"the first book, {THIS_BOOK}, which is always there", "others")
    if not all(book.name.strip() for book in books):
        raise unfit(BOOKS, "a name for each book", "none")
    check_once((book.id for book in books), BOOKS)
    check_once((book.name.casefold() for book in books), BOOKS)
    return found


def _check_devices(devices: Sequence[CarriedDevice], books: frozenset[UUID]) -> frozenset[UUID]:
    for device in devices:
        if device.role not in _ROLES:
            raise unfit(f"{DEVICES}: role", ", ".join(sorted(_ROLES)), device.role)
        if device.book_id not in books:
            raise unfit(DEVICES, "books that are in this file", device.book_id)
    check_once((device.id for device in devices), DEVICES)
    return frozenset(device.id for device in devices)


def _check_tallies(tallies: Sequence[CarriedTally], devices: frozenset[UUID]) -> None:
    for tally in tallies:
        if tally.device_id not in devices:
            raise unfit(TALLIES, "devices that are in this file", tally.device_id)
    check_once((tally.device_id for tally in tallies), TALLIES)


def _check_shows(shows: Sequence[CarriedShow]) -> None:
    if len(shows) > 1:
        raise unfit(SHOW, "one show, or none", len(shows))
    for show in shows:
        try:
            Show(show.name, show.opens, show.closes, show.base_url)
        except ValueError as error:
            raise unfit(SHOW, str(error), f"{show.name}, {show.opens} to {show.closes}") from None
        if not _BASE_URL.fullmatch(show.base_url):
            raise unfit(f"{SHOW}: base_url", "an address as https://cards.example", show.base_url)


def check_words(words: Sequence[CarriedWord], where: str) -> None:
    """Refuse words about papers that no book has."""
    for number, word in enumerate(words, start=1):
        below = word.back is None or 0 <= word.back < number
        if word.number != number or not below:
            raise unfit(where, f"word {number}", f"{word.number}, back {word.back}")
        if not (_says_something(word) if word.kind else _says_nothing(word)):
            raise unfit(where, "a kind of papers with its months, or nothing at all", word.kind)


def _says_nothing(word: CarriedWord) -> bool:
    return word.first is None and word.last is None and word.doubt is None and not word.note


def _says_something(word: CarriedWord) -> bool:
    in_order = word.first is not None and word.last is not None and word.first <= word.last
    return word.kind in _PAPERS and in_order and (word.doubt is None or word.doubt >= 0)


def check_once(keys: Iterable[object], where: str) -> None:
    """Refuse something that stands twice."""
    found = list(keys)
    if len(set(found)) < len(found):
        raise unfit(where, "everything once", "something twice")
