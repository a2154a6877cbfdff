"""Two editions of a reference beside each other, and whose verdict the newer one changes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from flask import Blueprint, render_template, request
from werkzeug.exceptions import BadRequest

from quickcheck import desk
from quickcheck.errors import NotFoundError, ReferenceFaultsError, shown
from quickcheck.reference import Reference, compare, located
from quickcheck.web.context import settings
from quickcheck.web.writing import editor, held_of_form

pages = Blueprint("comparing", __name__, url_prefix="/references")
_PREFIX: Final = 16  # hex digits by which an edition is named

Reply = str | tuple[str, int]


@dataclass(frozen=True, slots=True)
class Choice:
    """An edition that can be chosen: its name in an address, what it is called."""

    name: str
    label: str


@pages.get("/<reference>/compare")
def show(reference: str) -> Reply:
    """Compare two editions that are kept; by default the last but one with the one in force."""
    store, current = settings().store, settings().shelf.get(reference)
    choices = [Choice(current.hash[:_PREFIX], f"{current.edition}, in force")]
    choices += [
        Choice(each.hash[:_PREFIX], f"{each.edition}, kept {each.kept:%d %b %Y}")
        for each in store.library.editions(reference)
        if each.hash != current.hash
    ]
    before = choices[min(1, len(choices) - 1)]  # the last one kept, if there is another
    old = _edition(current, request.args.get("old") or before.name)
    new = _edition(current, request.args.get("new") or choices[0].name)
    return _page(old, new, choices=choices)


def _edition(current: Reference, prefix: str) -> Reference:
    """Return the edition of the same reference that an address names."""
    if current.hash.startswith(prefix):
        return current
    try:
        found = settings().store.library.find(bytes.fromhex(prefix))
    except ValueError:
        raise _no_edition(current, prefix) from None
    if found.id != current.id:
        raise _no_edition(current, found.id)
    return found


def _no_edition(current: Reference, came: str) -> NotFoundError:
    return NotFoundError.of(
        "edition",
        expected=f"an edition of {current.id}",
        came=shown(came),
        remedy="Choose one of those shown.",
    )


@pages.post("/write/changes")
def before_it_is_kept() -> Reply:
    """Compare a text that is being written with the edition in force."""
    text = request.form.get("text", "").replace("\r\n", "\n")
    if not text.strip():
        raise BadRequest("No text came. Go back; what was typed is still there.")
    shelf, held = settings().shelf, held_of_form()
    try:
        made = desk.read_text(shelf, text, desk.held(shelf, held.items()))
    except ReferenceFaultsError as error:
        return editor(text, located(text, error.faults), held=held, unkept=True), 422
    here = shelf.current.get(made.id)
    return _page(here, made, text=text, held=held)


def _page(
    old: Reference | None,
    new: Reference,
    *,
    choices: Sequence[Choice] = (),
    text: str = "",
    held: Mapping[str, str] = MappingProxyType({}),
) -> str:
    """Render the comparison; without an older edition there is nothing to compare with."""
    return render_template(
        "references/compare.html",
        old=old,
        new=new,
        changes=compare(old, new) if old else (),
        affected=desk.affected(settings().store, new),
        choices=choices,
        text=text,
        held=held,
        prefix=_PREFIX,
    )
