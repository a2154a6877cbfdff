"""The group of all commands."""

import click

from quickcheck import __version__
from quickcheck.cli.cards import card
from quickcheck.cli.judging import expect, verdict
from quickcheck.cli.keys import keys
from quickcheck.cli.kiosk import kiosk
from quickcheck.cli.learning import learn
from quickcheck.cli.moving import move_
from quickcheck.cli.pairing import pair
from quickcheck.cli.reading import read
from quickcheck.cli.references import reference
from quickcheck.cli.serving import demo, serve
from quickcheck.cli.setup import setup
from quickcheck.cli.tls import tls
from quickcheck.cli.transfer import export, health, import_book_
from quickcheck.cli.writing import compare_, import_, new, schema

_EPILOG = """
Exit codes: 0 done; 1 a fault of the program's own; 2 the command line itself was wrong;
3 a marking or number that can't be read; 4 a reference with faults; 5 an answer or a claim with
faults; 6 a card that is not one of ours; 7 nothing under that name; 8 changed in between;
9 the book can't be reached; 10 a message of a device that is not in the agreed form;
11 a photo that can't be kept; 12 a table of documented instruments with faults; 13 a passphrase or
PIN that can't be taken; 14 too many wrong tries, wait; 15 what a server or a show is set up with
can't be so; 16 a file that is no export of a book, or a damaged one. 20 to 26 are told by card verify
--help, 30 by health --help.
"""


@click.group(epilog=_EPILOG)
@click.version_option(__version__, prog_name="quickcheck")
def main() -> None:
    """Find out whether the parts of an instrument agree with the months its owner claims."""


for command in (new, import_, compare_, schema):
    reference.add_command(command)
for command in (
    verdict,
    expect,
    read,
    reference,
    learn,
    keys,
    card,
    pair,
    setup,
    serve,
    kiosk,
    tls,
    demo,
    export,
    import_book_,
    move_,
    health,
):
    main.add_command(command)
