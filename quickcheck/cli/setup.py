"""``setup``: the questions before a show, each answer checked, nothing done before the last word."""

import os
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, Final

import click

from quickcheck.cli.serving import KEYS, open_book
from quickcheck.cli.shell import data_option, json_option, print_json, speaking
from quickcheck.desk import (
    Plan,
    Standing,
    Wanted,
    carry_out,
    check_passphrase,
    checked_base_url,
    checked_day,
    checked_days,
    checked_issuer,
    checked_name,
    checked_reference,
    plan_of,
    standing_of,
    words_on_base_url,
)
from quickcheck.errors import QuickcheckError
from quickcheck.store import KeyFiles, Show, Store
from quickcheck.store.organizer_secret import checked_pin

_ENVIRONMENT: Final = {"passphrase": "QUICKCHECK_PASSPHRASE", "pin": "QUICKCHECK_PIN"}
_EPILOG = """
With --yes nothing is asked: what the options say is done, what they don't say stays. The passphrase is
then taken from QUICKCHECK_PASSPHRASE, or with --secrets from standard input (first line the
passphrase, second line the PIN); never from the command line, which other users can read.

Exit codes: 0 done, or nothing to do; 1 broken off, nothing was done; 4 a reference with faults; 13 a
passphrase or PIN that can't be taken; 15 something else that can't be so.
"""
_HELP: Final = {
    "show": "The show's name.",
    "opens": "Its first day, as 2026-04-11.",
    "closes": "Its last day.",
    "base_url": "What codes on cards lead to, as https://cards.example.",
    "issuer": "Whose name stands on sealed cards; a key is made for it.",
}


@dataclass(frozen=True)
class _Room:
    """What is set up: the book, the keys, the folder of references."""

    store: Store
    keys: KeyFiles
    own: Path

    def standing(self) -> Standing:
        return standing_of(self.store, self.keys, self.own)


@click.command(epilog=_EPILOG)
@data_option
@click.option("--show", "name", metavar="NAME", help=_HELP["show"])
@click.option("--opens", metavar="DAY", help=_HELP["opens"])
@click.option("--closes", metavar="DAY", help=_HELP["closes"])
@click.option("--base-url", metavar="URL", help=_HELP["base_url"])
@click.option("--issuer", metavar="NAME", help=_HELP["issuer"])
@click.option(
    "--reference",
    "references",
    multiple=True,
    type=click.Path(exists=True, path_type=Path),
    help="A reference to carry: a file, or a folder with its pictures. May be repeated.",
)
@click.option("--secrets", is_flag=True, help="Read passphrase and PIN from standard input.")
@click.option("--yes", is_flag=True, help="Ask nothing.")
@json_option
@speaking
def setup(data: Path, *, secrets: bool, yes: bool, as_json: bool, **given: Any) -> None:
    """Set a show up: its name and days, base URL, passphrase and PIN, issuer's key, references.

    May be repeated: what is set is shown, and only what is answered anew is changed. Each answer is
    checked; all of it is done after the last, or none.
    """
    passphrase, pin = _secrets(from_input=secrets)
    wanted = Wanted(**given, passphrase=passphrase, pin=pin)
    with open_book(data) as store:
        room = _Room(store, KeyFiles(data / KEYS), data / "references")
        here = room.standing()
        if not yes:
            wanted = _asked(wanted, here, room.own)
        plan = plan_of(wanted, here, room.own)
        if not plan.is_empty:
            if not yes:
                _summary(plan, here)
                click.confirm("Do all of this?", default=True, abort=True, err=True)
            carry_out(plan, store, keys=room.keys, own=room.own, now=datetime.now(UTC))
        _say(room.standing(), plan, as_json=as_json)


def _secrets(*, from_input: bool) -> tuple[str | None, str | None]:
    """Return passphrase and PIN; an empty line is none."""
    found = [os.environ.get(name) for name in _ENVIRONMENT.values()]
    if from_input:
        found = [*sys.stdin.read().splitlines(), None, None]
    return found[0] or None, found[1] or None


def _ask(words: str, check: Callable[[str], object], *, now: str = "", hidden: bool = False) -> str:
    """Ask until the answer is good; Enter keeps what is ``now``."""
    answer: str = click.prompt(
        words,
        default=now or None,
        value_proc=_refusing(check),
        hide_input=hidden,
        confirmation_prompt=hidden,
        err=True,
    )
    return answer


def _asked(wanted: Wanted, here: Standing, own: Path) -> Wanted:
    """Return what is wanted after asking for whatever the options did not say."""
    click.echo("Enter keeps what stands in brackets. Nothing is done before the end.", err=True)
    wanted = _ask_show(wanted, here.show)
    if wanted.issuer is None:
        issuer = _ask("Name of the issuer, on sealed cards", checked_issuer, now=here.issuer)
        wanted = replace(wanted, issuer=issuer)
    if wanted.passphrase is None:
        wanted = _ask_secret(wanted, here)
    return wanted if wanted.references else _ask_references(wanted, here, own)


def _ask_show(wanted: Wanted, here: Show | None) -> Wanted:
    name = wanted.name or _ask("Name of the show", checked_name, now=here.name if here else "")
    first = here.opens.isoformat() if here else ""
    opens = wanted.opens or _ask("First day (2026-04-11)", checked_day, now=first)
    last = here.closes.isoformat() if here and not wanted.closes else opens
    closes = wanted.closes or _ask(
        "Last day", lambda text: checked_days(opens, text), now=max(last, opens)
    )
    if checked_day(closes) < date.today():  # noqa: DTZ011  # the day on the wall of this hall
        click.echo("That is over already; go on if it is meant so.", err=True)
    base = here.base_url if here else "http://localhost:8000"
    base_url = wanted.base_url or _ask("Base URL, in every code", checked_base_url, now=base)
    if words := words_on_base_url(checked_base_url(base_url)):
        click.echo(words, err=True)
    return replace(wanted, name=name, opens=opens, closes=closes, base_url=base_url)


def _ask_secret(wanted: Wanted, here: Standing) -> Wanted:
    known = (wanted.name or "", wanted.base_url or "", wanted.issuer or "")
    if here.has_secret and not click.confirm("Change the passphrase?", default=False, err=True):
        if not click.confirm("Change the PIN?", default=False, err=True):
            return wanted
        pin = _ask("PIN, six digits", checked_pin, hidden=True)
        return replace(wanted, pin=pin)
    passphrase = _ask(
        "Organizer's passphrase, 15 characters or more",
        lambda text: check_passphrase(text, known),
        hidden=True,
    )
    pin = wanted.pin or _ask(
        "PIN, six digits, to unlock a station that is paired as yours", checked_pin, hidden=True
    )
    return replace(wanted, passphrase=passphrase, pin=pin)


def _ask_references(wanted: Wanted, here: Standing, own: Path) -> Wanted:
    click.echo(f"References here: {', '.join(here.references) or 'none of your own'}.", err=True)
    found: list[Path] = []

    def check(text: str) -> None:
        if text.strip():
            checked_reference(Path(text.strip()), own)

    while True:
        text = click.prompt(
            "Another to carry, a file or folder (Enter for none)",
            default="",
            show_default=False,
            value_proc=_refusing(check),
            err=True,
        ).strip()
        if not text:
            return replace(wanted, references=tuple(found))
        found.append(Path(text))


def _refusing(check: Callable[[str], object]) -> Callable[[str], str]:
    """Return what a prompt takes an answer by: asked again where the check refuses it."""

    def taken(text: str) -> str:
        try:
            check(text)
        except QuickcheckError as error:
            raise click.UsageError(str(error)) from None
        return text

    return taken


def _summary(plan: Plan, here: Standing) -> None:
    """Say what would be done."""
    lines = []
    if plan.show:
        lines.append(f"show: {_show_words(plan.show)}")
    if plan.passphrase:
        lines.append("organizer's passphrase: a new one")
    if plan.passphrase and not here.has_secret:
        lines.append("each device that opened a page until now: to be paired")
    if plan.pin:
        lines.append("PIN: a new one")
    if plan.issuer:
        lines.append(f"issuer's key: a new one, for {plan.issuer}")
    lines += [
        f"reference: {each.reference.title}, edition {each.reference.edition}"
        for each in plan.references
    ]
    click.echo("\n".join(f"  {line}" for line in lines), err=True)


def _show_words(show: Show) -> str:
    return f"{show.name}, {show.opens} to {show.closes}, codes lead to {show.base_url}"


def _say(here: Standing, plan: Plan, *, as_json: bool) -> None:
    if as_json:
        print_json(_as_json(here, plan))
        return
    click.echo("Nothing was to be changed." if plan.is_empty else "Done.")
    if here.show:
        click.echo(_show_words(here.show))
    click.echo(f"sealed in the name of: {here.issuer or 'nobody'}")
    click.echo(f"references of your own: {', '.join(here.references) or 'none'}")
    if here.missing:
        click.echo(f"Still missing: {', '.join(here.missing)}.")
    else:
        click.echo("Next: quickcheck kiosk, or quickcheck serve --help for phones.")


def _as_json(here: Standing, plan: Plan) -> dict[str, Any]:
    show = here.show
    return {
        "show": show
        and {
            "name": show.name,
            "opens": show.opens.isoformat(),
            "closes": show.closes.isoformat(),
            "base_url": show.base_url,
        },
        "has_secret": here.has_secret,
        "issuer": here.issuer,
        "references": list(here.references),
        "missing": list(here.missing),
        "changed": [
            name
            for name, is_so in {
                "show": plan.show,
                "passphrase": plan.passphrase,
                "pin": plan.pin,
                "issuer": plan.issuer,
                "references": plan.references,
            }.items()
            if is_so
        ],
    }
