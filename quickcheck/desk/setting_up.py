"""A show set up: its facts, the organizer's secret, the issuer's key, references; all or nothing.

Everything is checked before anything is done. Then files are put in place (a reference is whole or
not there; a key that no book knows seals nothing), and one transaction of the book comes last: what
breaks off before its end leaves the book as it was.
"""

import re
import secrets
import shutil
from collections.abc import Callable, Iterable
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import Final, TypeVar

from quickcheck.card.keys import LONGEST_ISSUER, is_issuer
from quickcheck.desk.doors import checked_base_url
from quickcheck.desk.issuing import issuer_here
from quickcheck.desk.shelf import reference_paths
from quickcheck.desk.writing import write_reference
from quickcheck.errors import (
    Fault,
    QuickcheckError,
    ReferenceFaultsError,
    SecretError,
    SetupError,
    shown,
)
from quickcheck.reference import Reference, read_reference, reference_parts
from quickcheck.store import KeyFiles, Show, Store, make_key
from quickcheck.store.organizer_secret import checked_passphrase, checked_pin

_LONGEST: Final = 80  # characters of a show's name
_LONGEST_SHOW: Final = 60  # days
_ENOUGH: Final = 8  # letters that must be left of a passphrase without what anybody would try
_TRIED_FIRST: Final = ("passphrase", "password", "quickcheck", "organizer", "qwerty", "letmein")
Checked = TypeVar("Checked")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for; what is None or empty stays as it is."""

    name: str | None = None
    opens: str | None = None  # 2026-04-11
    closes: str | None = None
    base_url: str | None = None
    passphrase: str | None = None
    pin: str | None = None
    issuer: str | None = None
    references: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True)
class Standing:
    """What is set up already; ``references`` by id, those of the own folder only."""

    show: Show | None
    has_secret: bool
    issuer: str
    references: tuple[str, ...]

    @property
    def missing(self) -> tuple[str, ...]:
        """Return what a show still needs, in the words of the questions."""
        needs = {
            "the show's name, days and base URL": self.show,
            "the organizer's passphrase": self.has_secret,
            "an issuer's key": self.issuer,
        }
        return tuple(name for name, is_there in needs.items() if not is_there)


@dataclass(frozen=True, slots=True)
class Carried:
    """A reference to take along: where it is, and what it says."""

    path: Path
    reference: Reference


@dataclass(frozen=True, slots=True)
class Plan:
    """What would be done, every part of it checked; what is None or empty stays."""

    show: Show | None = None
    passphrase: str | None = None
    pin: str | None = None
    issuer: str | None = None
    references: tuple[Carried, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether nothing would change."""
        return self == Plan()


def standing_of(store: Store, keys: KeyFiles, own: Path) -> Standing:
    """Return what is set up in a book and the folder of its references."""
    ids = sorted(filter(None, map(_id_of, reference_paths(own))))
    return Standing(
        store.show.get(), store.access.is_set_up(), issuer_here(store, keys), tuple(ids)
    )


def _id_of(path: Path) -> str | None:
    try:
        return read_reference(path).id
    except ReferenceFaultsError:
        return None


def plan_of(wanted: Wanted, here: Standing, own: Path) -> Plan:
    """Return what is to be done; an error that holds every fault there is, if there is any."""
    faults: list[QuickcheckError] = []

    def checked(check: Callable[[], Checked]) -> Checked | None:
        try:
            return check()
        except QuickcheckError as error:
            faults.append(error)
            return None

    show = checked(lambda: _show(wanted, here.show))
    secret = checked(lambda: _secret(wanted, here, show))
    issuer = checked(lambda: checked_issuer(wanted.issuer))
    found = [checked(partial(checked_reference, path, own)) for path in wanted.references]
    if faults:
        kind = type(faults[0]) if len({type(fault) for fault in faults}) == 1 else SetupError
        raise kind(*(fault for error in faults for fault in error.faults))
    passphrase, pin = secret or (None, None)
    return Plan(
        show if show != here.show else None,
        passphrase,
        pin,
        issuer if issuer != here.issuer else None,
        tuple(carried for carried in found if carried),
    )


def _show(wanted: Wanted, here: Show | None) -> Show | None:
    """Return the show as it is to be: what was not asked for is as it was."""
    asked = {
        "name": wanted.name,
        "opens": wanted.opens,
        "closes": wanted.closes,
        "base_url": wanted.base_url,
    }
    if not any(value is not None for value in asked.values()):
        return here
    old = (
        {
            "name": here.name,
            "opens": here.opens.isoformat(),
            "closes": here.closes.isoformat(),
            "base_url": here.base_url,
        }
        if here
        else {}
    )
    given = {**old, **{key: value for key, value in asked.items() if value is not None}}
    if lacking := [key for key in asked if key not in given]:
        raise SetupError.of(
            "show",
            expected="its name, first day, last day and base URL, all four at the first time",
            came=f"no {', '.join(lacking)}",
            remedy="Give these as well.",
        )
    opens, closes = checked_days(given["opens"], given["closes"])
    return Show(checked_name(given["name"]), opens, closes, checked_base_url(given["base_url"]))


def checked_name(text: str) -> str:
    """Return the name of a show on one line; SetupError if it is none."""
    name = " ".join(text.split())
    if not 0 < len(name) <= _LONGEST or not name.isprintable():
        raise _fault("show's name", f"1 to {_LONGEST} characters", shown(text))
    return name


def checked_day(text: str) -> date:
    """Return a day; SetupError if it is none."""
    with suppress(ValueError):
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text.strip(), re.ASCII):
            return date.fromisoformat(text.strip())
    raise _fault("day", "a day such as 2026-04-11", shown(text))


def checked_days(opens: str, closes: str) -> tuple[date, date]:
    """Return first and last day; SetupError if they are none or in the wrong order."""
    first, last = checked_day(opens), checked_day(closes)
    if not 0 <= (last - first).days < _LONGEST_SHOW:
        came = f"{first} to {last}"
        raise _fault("days", f"a last day on or after the first, within {_LONGEST_SHOW} days", came)
    return first, last


def _secret(wanted: Wanted, here: Standing, show: Show | None) -> tuple[str | None, str | None]:
    if wanted.passphrase is None and wanted.pin is None:
        return None, None
    if wanted.passphrase is None and not here.has_secret:
        raise SecretError.of(
            "passphrase",
            expected="a passphrase before or with the PIN",
            came="the PIN alone",
            remedy="Give both: six digits alone keep nobody out for long.",
        )
    if wanted.passphrase is not None:
        issuer = wanted.issuer or here.issuer
        check_passphrase(wanted.passphrase, (*_named_in(show), issuer))
    checked_pin(wanted.pin or "")
    return wanted.passphrase, wanted.pin


def _named_in(show: Show | None) -> tuple[str, ...]:
    """Return what everybody at a show knows of it."""
    return (show.name, show.base_url) if show else ()


def check_passphrase(passphrase: str, known: Iterable[str]) -> None:
    """Refuse a passphrase that is too short or that anybody would try; SecretError."""
    checked_passphrase(passphrase)
    check_guess(passphrase, known)


def check_guess(passphrase: str, known: Iterable[str]) -> None:
    """Refuse a passphrase that is mostly what anybody in the hall would try; SecretError.

    Of a text such as "Bridge Fair 2026!" without the words that stand on the door, digits and
    signs, not enough is left. Common practice, no source.
    """
    left = _letters(passphrase)
    words = {_letters(word) for text in known for word in [text, *re.split(r"[\W_]+", text)]}
    for word in sorted((*words, *_TRIED_FIRST), key=len, reverse=True):
        if len(word) > 2:
            left = left.replace(word, "")
    if len(left) < _ENOUGH or len(set(left)) < 5:
        raise SecretError.of(
            "passphrase",
            expected="one that nobody tries first",
            came="one that is mostly the name of the show, of the issuer, or as well known",
            remedy="Take four words that have nothing to do with each other.",
        )


def _letters(text: str) -> str:
    return "".join(char for char in text.casefold() if char.isalpha())


def checked_issuer(text: str | None) -> str | None:
    """Return the name that stands on sealed cards; SetupError if none can show it."""
    if text is None:
        return None
    name = text.strip()
    if not is_issuer(name):
        raise _fault("issuer", f"a name of 1 to {LONGEST_ISSUER} characters", shown(text))
    return name


def checked_reference(path: Path, own: Path) -> Carried | None:
    """Return a reference to take along, None if that very edition is here.

    ReferenceFaultsError where it has faults, or the label of another edition that is here.
    """
    found = read_reference(path)
    here = _place_of(found.id, own)
    if here is None:
        return Carried(path, found)
    old = read_reference(here)
    if old.hash == found.hash:
        return None
    if old.edition == found.edition:
        raise ReferenceFaultsError.of(
            f"{path.name}: edition",
            expected="a label that no other edition has",
            came=shown(found.edition),
            remedy="Raise it: what was judged by the edition of that label must stay clear.",
        )
    return Carried(path, found)


def _place_of(reference_id: str, own: Path) -> Path | None:
    return next((path for path in reference_paths(own) if _id_of(path) == reference_id), None)


def _fault(where: str, expected: str, came: str) -> SetupError:
    return SetupError(Fault(where, expected, came, "Give another."))


def carry_out(plan: Plan, store: Store, *, keys: KeyFiles, own: Path, now: datetime) -> None:
    """Do all of a plan, or nothing: whatever fails takes back what was done before it."""
    with ExitStack() as undo:
        asides = [aside for each in plan.references if (aside := _put(each, own, undo))]
        with store.together():
            if plan.show:
                store.show.put(plan.show, now)
            if plan.issuer:
                made = make_key(store.keys, keys, issuer=plan.issuer, now=now)
                undo.callback(keys.destroy, made.id)
            _keep_secret(plan, store, now)
        undo.pop_all()  # it is done: nothing is taken back
    for aside in asides:
        _remove(aside)


def _keep_secret(plan: Plan, store: Store, now: datetime) -> None:
    if plan.passphrase and not store.access.is_set_up():
        store.access.set_up(plan.passphrase, plan.pin or "", now)
        return
    if plan.passphrase:
        store.access.change_passphrase(plan.passphrase, now)
    if plan.pin:
        store.access.change_pin(plan.pin, now)


def _put(carried: Carried, own: Path, undo: ExitStack) -> Path | None:
    """Put a reference in place; return where the edition that was there went, if any was."""
    found, here = carried.reference, _place_of(carried.reference.id, own)
    mark = secrets.token_hex(8)
    staged, aside = own / f".{mark}.new", own / f".{mark}.old"
    try:
        staged.mkdir(mode=0o700, parents=True)
        undo.callback(_remove, staged)
        _, text, _ = reference_parts(carried.path)
        write_reference(staged / f"{found.id}.toml", text, found)
        target = own / (found.id if found.pictures else f"{found.id}.toml")
        whole = staged if found.pictures else staged / target.name
        if here is not None:
            here.rename(aside)
            undo.callback(aside.rename, here)
        elif target.exists():
            raise FileExistsError(0, "something else has that name", str(target))
        whole.rename(target)
        undo.callback(_remove, target)
    except OSError as error:
        raise SetupError.of(
            str(own),
            expected="a folder of references that can be written",
            came=shown(error.strerror or str(error)),
            remedy="Give this user the right to write there, or make room.",
        ) from None
    _remove(staged)
    return aside if here is not None else None


def _remove(path: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path, ignore_errors=True)
    else:
        path.unlink(missing_ok=True)
