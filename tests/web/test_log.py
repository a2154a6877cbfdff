"""What the server writes down: one line an event, with the time, and nothing that anybody typed."""

import io
import json
import logging
import re
from collections.abc import Iterator
from pathlib import Path
from uuid import UUID

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from quickcheck.reference import Reference
from quickcheck.store import open_store
from quickcheck.web.log import OneLine, escaped, told, written
from tests.web.showing import PASSPHRASE, PIN, Show, showing
from tests.web.test_who_may_see import asked, rules

LINE = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ (DEBUG|INFO|WARNING|ERROR) [\w.]+: [^\n]*")
OWNER = "Aunt Ottoline of the north door"
SERIAL = "7713-Q"
NOTE = "a burn beside the jack"


@pytest.fixture(name="show", scope="module")
def _show(tmp_path_factory: pytest.TempPathFactory, reference: Reference) -> Iterator[Show]:
    with showing(tmp_path_factory.mktemp("show"), reference) as show:
        yield show


def logged(show: Show) -> list[str]:
    """Go everywhere as everybody, with an owner's words; return all that is written down at DEBUG."""
    stream, quickcheck = io.StringIO(), logging.getLogger("quickcheck")
    mine = UUID(int=0x109)
    note = {"knobs": {"seen": "wood", "note": NOTE}}
    with written(stream):
        quickcheck.setLevel(logging.DEBUG)
        more = {"name": OWNER, "owner": OWNER, "serial_text": SERIAL, "answers": note}
        assert show.put("dealer A", mine, **more).status_code == 201
        assert show.put("dealer A", mine, answers={"knobs": {"seen": OWNER}}).status_code == 422
        made = show.post("dealer A", f"/inspect/{mine}/card", leave="y", interest="none")
        assert made.status_code == 303
        show.let_in("spare", show.devices["dealer B"].role, show.books["B"])
        show.unlock("organizer")
        for rule, method in rules(show):
            for who in ("nobody", "dealer A", "organizer"):
                asked(show, who, rule, method, mine)
        show.client("nobody").post("/veil", data={"back": OWNER})
        show.ask("nobody", f"/book?words={SERIAL}", headers={"User-Agent": OWNER})
        show.post("nobody", "/pair", code=f"no code\n{OWNER}")
    return stream.getvalue().splitlines()


def test_nothing_of_an_owner_is_written_down(show: Show) -> None:
    """No name, note, serial, digits of a card, token, code or secret; and each line is whole."""
    lines = logged(show)
    assert len(lines) > 50
    assert [line for line in lines if not LINE.fullmatch(line)] == []
    everything = "\n".join(lines)
    secrets = (PASSPHRASE, PIN, show.card, *show.tokens.values())
    for private in (OWNER, SERIAL, NOTE, "Pemberton", "0420", *secrets):
        assert private not in everything
    for event in (
        *("a wrong passphrase was tried from 127.0.0.1", "nobody known was turned away at"),
        *("a change from elsewhere was refused at inspect.veil", "was revoked"),
        "a code that is none was tried from 127.0.0.1",
    ):
        assert event in everything, event


def test_a_line_stays_a_line() -> None:
    """Whatever ends a line, hides or turns text, or commands a terminal is written by its number."""
    forged = "x\n2026-01-01T00:00:00Z INFO quickcheck: all is well\r\x1b[2J\u2028\u202e\0\x85"
    record = logging.makeLogRecord(
        {"msg": "%s", "args": (forged,), "name": "quickcheck", "levelname": "INFO"}
    )
    line = OneLine().format(record)
    assert line.splitlines() == [line]
    assert LINE.fullmatch(line)
    assert "x\\n2026" in line
    assert line.endswith("\\r\\x1b[2J\\u2028\\u202e\\x00\\x85")
    assert escaped("Ä – plain") == "Ä – plain"


def test_of_an_error_its_words_are_left_out() -> None:
    """An exception may repeat what was typed: its kind and places are told, of its cause as well."""
    try:
        try:
            json.loads(f"[{OWNER}")
        except ValueError as error:
            raise KeyError(OWNER) from error
    except KeyError as error:
        line = told(error)
        record = logging.makeLogRecord({"msg": "a fault", "exc_info": (KeyError, error, None)})
    assert re.match(
        r"KeyError at test_log\.py:\d+ test_of_an_error.*; from JSONDecodeError at", line
    )
    assert OWNER not in line
    assert OneLine().format(record).endswith(f"a fault | {line}")
    assert told(ValueError(OWNER)) == "ValueError at no place"


def test_a_database_error_has_no_values(tmp_path: Path) -> None:
    """What was to be written is in no error's text, and in no log of statements."""
    with open_store(tmp_path / "book.sqlite3") as store:
        engine = store._database.engine
        statement = text("INSERT INTO inspection (id, opened) VALUES (NULL, :name)")
        with engine.connect() as connection, pytest.raises(IntegrityError) as caught:
            connection.execute(statement, {"name": OWNER})
    assert OWNER not in str(caught.value)
    assert engine.hide_parameters


def test_it_ends(show: Show) -> None:
    """Afterwards nothing is written to the stream any more, and levels are as they were."""
    stream, ours = io.StringIO(), logging.getLogger("quickcheck")
    before = (ours.level, list(ours.handlers))
    with written(stream):
        ours.info("heard")
    ours.warning("not heard")
    assert (ours.level, list(ours.handlers)) == before
    assert stream.getvalue().endswith("quickcheck: heard\n")
