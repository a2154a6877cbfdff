"""``card verify``: what the seal of a card is worth."""

import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from pathlib import Path
from types import MappingProxyType
from typing import Final

import click

from quickcheck.card import (
    INTERESTS,
    MARK_KINDS,
    MARK_PLACES,
    CardHead,
    KeyRing,
    Known,
    Scanned,
    Seal,
    SealState,
    check_seal,
    head,
    looks_like_text,
    read_text,
    seal_words,
)
from quickcheck.card.key_list import read_keys
from quickcheck.cli.scanning import scan
from quickcheck.cli.serving import has_book, open_book
from quickcheck.cli.shell import data_option, json_option, print_json, speaking
from quickcheck.errors import NotFoundError, shown
from quickcheck.readings import month_text, run_words

EXIT_CODES: Final[Mapping[SealState, int]] = MappingProxyType(
    {
        SealState.SEALED: 0,
        SealState.RETIRED: 0,
        SealState.LOGGED: 0,
        SealState.CORRECTED: 20,
        SealState.WITHDRAWN: 21,
        SealState.OUT_OF_TIME: 22,
        SealState.REVOKED: 23,
        SealState.UNKNOWN_KEY: 24,
        SealState.ALTERED: 25,
        SealState.UNSEALED: 26,
    }
)
"""Never used for anything else: a script may ask for them."""

_ONLY_THE_ISSUER_KNOWS: Final = (
    "whether it was withdrawn or corrected",
    "other cards for the serial",
)

_EPILOG = """
Exit codes: 0 the text is unchanged since it was issued and the issuer stands by it; 20 corrected;
21 withdrawn; 22 dated when its key was not in use; 23 its key was revoked; 24 unknown key;
25 altered or damaged; 26 not sealed; 6 no card, or no code of one in the picture; 7 no such file,
or no decoder for pictures; 9 the book can't be read; 11 no picture that can be read.
"""


@dataclass(frozen=True)
class _Found:
    """A seal, with what the card says of itself where its key signed just that."""

    scanned: Scanned
    seal: Seal
    others: tuple[datetime, ...] = ()  # when other cards for the serial were issued
    not_checked: tuple[str, ...] = ()

    @cached_property
    def front(self) -> CardHead | None:
        return head(self.scanned.data) if self.seal.key else None

    def as_json(self) -> dict[str, object]:
        seal, key = self.seal, self.seal.key
        return {
            "state": str(seal.state),
            "stands": seal.stands,
            "words": seal_words(seal),
            "host": self.scanned.host,
            "key": seal.key_id.hex() if seal.key_id else None,
            "issuer": key.issuer if key else None,
            "card": seal.card,
            "corrected_by": seal.recall.by if seal.recall else None,
            "front": _front_json(self.front) if self.front else None,
            "others": [time.isoformat() for time in self.others],
            "not_checked": list(self.not_checked),
        }

    def say(self) -> None:
        click.secho(seal_words(self.seal), bold=True)
        if self.front:
            for line in _front_lines(self.front):
                click.echo(line)
        if self.others:
            dates = ", ".join(f"{time:%Y-%m-%d}" for time in self.others)
            click.echo(f"Other cards for this serial: {len(self.others)} ({dates})")
        if self.scanned.host:
            click.echo(f"The code leads to {self.scanned.host}")
        for what in self.not_checked:
            click.echo(f"Not checked: {what}")


def _front_json(front: CardHead) -> dict[str, object]:
    return {
        "issued": front.issued.isoformat(),
        "number": front.number,
        "serial": front.serial_text,
        "interest": front.interest,
        "claimed": [month_text(month) for month in front.claimed],
        "reads_as": [month_text(month) for month in front.reads_as],
        "marks": front.document()["marks"],
        "reference": front.reference.hex(),
    }


def _front_lines(front: CardHead) -> Iterator[str]:
    """Yield what a buyer compares with the instrument."""
    serial = front.serial_text or "none"
    yield f"Serial {serial}: match it with the instrument in your hands"
    for mark in front.marks:
        size = f", {mark.mm:g} mm" if mark.mm else ""
        yield f"  {MARK_KINDS[mark.kind]}{size}: {MARK_PLACES[mark.place]}"
    yield f"Claimed {run_words(*front.claimed)}; reads as {run_words(*front.reads_as)}"
    yield f"Card number {front.number} by this key for this serial"
    yield f"{INTERESTS[front.interest]}."


def _by_book(scanned: Scanned, data: Path) -> _Found:
    """Check by the keys, the recalls and the issue log of a book."""
    if not has_book(data):
        return _Found(scanned, check_seal(scanned.data, Known(KeyRing.of(()))))
    with open_book(data) as store:
        seal = store.cards.check(scanned.data)
        others: tuple[datetime, ...] = ()
        if seal.card:
            serial = head(scanned.data).serial_text
            others = store.cards.others(serial, but=seal.card)
    return _Found(scanned, seal, others)


def _by_keys(scanned: Scanned, keys_file: Path) -> _Found:
    """Check by a list of public keys alone, as somebody does who is not the issuer."""
    try:
        text = keys_file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise NotFoundError.of(
            str(keys_file),
            expected="a file with public keys",
            came=shown(str(error)),
            remedy="Fetch it from the issuer's own page.",
        ) from None
    seal = check_seal(scanned.data, Known(read_keys(text)))
    return _Found(scanned, seal, not_checked=_ONLY_THE_ISSUER_KNOWS)


@click.group()
def card() -> None:
    """Look at cards."""


@card.command(epilog=_EPILOG)
@click.argument("text_or_image")
@click.option(
    "--keys",
    "keys_file",
    type=click.Path(path_type=Path),
    help="Public keys (JSON) to check by, in place of those of the book.",
)
@json_option
@data_option
@speaking
def verify(text_or_image: str, *, keys_file: Path | None, as_json: bool, data: Path) -> None:
    """Say what the seal of a card is worth.

    TEXT_OR_IMAGE is the card's address, its digits, or a PNG or JPEG file that shows its code.
    """
    is_text = looks_like_text(text_or_image)
    scanned = read_text(text_or_image) if is_text else scan(Path(text_or_image))
    found = _by_keys(scanned, keys_file) if keys_file else _by_book(scanned, data)
    if as_json:
        print_json(found.as_json())
    else:
        found.say()
    sys.exit(EXIT_CODES[found.seal.state])
