"""``pair``: a code that lets one device in, once."""

import io
from datetime import UTC, datetime
from pathlib import Path

import click
import qrcode

from quickcheck.cli.serving import existing_book
from quickcheck.cli.shell import data_option, json_option, print_json, speaking
from quickcheck.desk import LOCAL_PORT, code_words, pair_address
from quickcheck.errors import NotFoundError, shown
from quickcheck.store import CODE_LASTS, Access, OneBook, Role

_EPILOG = "Exit codes: 0 done; 7 no book of that name; 9 the book can't be read or written."


@click.command(epilog=_EPILOG)
@click.option(
    "--role",
    type=click.Choice([str(role) for role in Role]),
    default=str(Role.DEALER),
    show_default=True,
    help="What the device is used as.",
)
@click.option("--book", help="Name of the book.", show_default="the first one")
@click.option("--name", default="", help="What to call the device.")
@click.option(
    "--base-url",
    help="Where the device reaches the server.",
    show_default="the show's, or this machine",
)
@json_option
@data_option
@speaking
def pair(
    *, role: str, book: str | None, name: str, base_url: str | None, as_json: bool, data: Path
) -> None:
    """Offer a code by which one device is paired with a book, once, within 15 minutes."""
    now = datetime.now(UTC)
    with existing_book(data) as store:
        chosen = _book(store.access, book)
        code = store.access.offer(Role(role), chosen.id, name=name, now=now)
        is_set_up = store.access.is_set_up()
        show = store.show.get()
    address = pair_address(
        base_url or (show.base_url if show else f"http://localhost:{LOCAL_PORT}"), code
    )
    if as_json:
        until = (now + CODE_LASTS).isoformat(timespec="seconds")
        told = {"address": address, "code": code, "role": role, "book": chosen.name}
        print_json(told | {"until": until})
        return
    click.echo(_symbol(address))
    click.echo(f"{role.capitalize()}, book “{chosen.name}”. Scan it, open the address, or type it:")
    click.echo(f"  {address}\n  {code_words(code)}")
    click.echo("It works once, for 15 minutes.")
    if not is_set_up:
        click.echo("No organizer is set up: until then everybody here sees the whole book.")


def _book(access: Access, name: str | None) -> OneBook:
    books = access.books()
    found = books[0] if name is None else None
    for book in books:
        if name is not None and book.name.casefold() == name.casefold():
            found = book
    if found is None:
        raise NotFoundError.of(
            "--book",
            expected=f"one of {', '.join(book.name for book in books)}",
            came=shown(name),
            remedy="Begin it on the page /devices, or choose one of these.",
        )
    return found


def _symbol(text: str) -> str:
    """Return a QR symbol as characters, light on a dark terminal."""
    code = qrcode.QRCode(border=2)
    code.add_data(text)
    out = io.StringIO()
    code.print_ascii(out=out, invert=True)
    return out.getvalue()
