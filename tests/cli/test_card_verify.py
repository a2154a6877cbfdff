"""`quickcheck card verify`: a text or a picture, the book or a list of keys, and exit codes."""

import io
import json
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import Result
from PIL import Image

from quickcheck.card import QUIET, SealState, card_url, digits, encode, seal, symbol
from quickcheck.cli import scanning
from quickcheck.cli.cards import EXIT_CODES
from quickcheck.errors import QuickcheckError
from quickcheck.readings import month_text, run_words
from quickcheck.store import Issued, KeyFiles, open_store, retire_key, signer_for
from tests.card.kit import FULL, card_for
from tests.card.sealing import signer
from tests.cli.kit import printed_json, run
from tests.cli.test_help import tree

BASE = "https://cards.example"
READS_AS = card_for(FULL).head.reads_as  # by the engine


@pytest.fixture(name="issued")
def _issued(data: Path) -> Issued:
    """Make a key, and issue a card by it."""
    run("keys", "make", "Fettle & Daughter")
    return issue(data)


def issue(data: Path, **more: Any) -> Issued:
    with open_store(data / "book.sqlite3") as store:
        made = card_for(FULL, issued=datetime.now(UTC))
        return store.cards.issue(made, signer_for(store.keys, KeyFiles(data / "keys")), **more)


def verify(what: object, *words: object) -> Result:
    return run("card", "verify", str(what), *map(str, words))


def picture(text: str, pixels: int = 4) -> Image.Image:
    """Draw a code, black on white."""
    rows = np.array(symbol(text).rows)
    drawn = np.where(np.pad(rows, QUIET), 0, 255).astype(np.uint8)
    return Image.fromarray(np.kron(drawn, np.ones((pixels, pixels), np.uint8)))


def test_an_address(issued: Issued) -> None:
    """What the seal is worth, what to match, who has what interest, and where the code leads."""
    result = verify(card_url(BASE, issued.data))
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert lines[0].startswith("Text unchanged since issued on ")
    assert lines[0].endswith("by Fettle & Daughter; the seal says nothing about the instrument.")
    assert lines[1:] == [
        "Serial A 641: match it with the instrument in your hands",
        "  Burn, 6 mm: Fingerboard, fret 9",
        "  Holes: On or under the serial tag",
        f"Claimed Mar–May 1953; reads as {run_words(*READS_AS)}",
        "Card number 1 by this key for this serial",
        "The issuer is selling it.",
        "The code leads to cards.example",
    ]


def test_other_cards_for_the_serial(data: Path, issued: Issued) -> None:
    """Their count and dates."""
    other = issue(data)
    result = verify(digits(issued.data))
    assert f"Other cards for this serial: 1 ({other.issued:%Y-%m-%d})" in result.stdout
    assert "The code leads" not in result.stdout


def test_as_json(data: Path, issued: Issued) -> None:
    """All of it as data."""
    other = issue(data)
    told = printed_json(verify(card_url(BASE, issued.data), "--json"))
    assert told["words"].startswith("Text unchanged since")
    del told["words"]
    assert told == {
        "state": "sealed",
        "stands": True,
        "host": "cards.example",
        "key": issued.key_id.hex(),
        "issuer": "Fettle & Daughter",
        "card": issued.id,
        "corrected_by": None,
        "front": {
            "issued": issued.issued.isoformat(),
            "number": 1,
            "serial": "A 641",
            "interest": "selling",
            "claimed": ["1953-03", "1953-05"],
            "reads_as": [month_text(month) for month in READS_AS],
            "marks": [
                {"place": "board-9", "kind": "burn", "mm": 6.0},
                {"place": "tag", "kind": "holes", "mm": 0.0},
            ],
            "reference": issued.data[2:10].hex(),
        },
        "others": [other.issued.isoformat()],
        "not_checked": [],
    }


def states(data: Path, issued: Issued) -> dict[SealState, bytes]:
    """Bring about every state but one, and return a card in each."""
    cards = {SealState.UNSEALED: encode(card_for(FULL))}
    cards[SealState.ALTERED] = issued.data[:-1] + bytes([issued.data[-1] ^ 1])
    cards[SealState.UNKNOWN_KEY] = seal(card_for(FULL), signer()).data
    files, later = KeyFiles(data / "keys"), datetime.now(UTC) + timedelta(days=1)
    with open_store(data / "book.sqlite3") as store:
        by = signer_for(store.keys, files)
        made = card_for(FULL, issued=datetime.now(UTC))
        three = [store.cards.issue(made, by) for _ in range(3)]
        store.cards.withdraw(three[0].id, now=later)
        store.cards.correct(three[1].id, by=three[2].id, now=later)
        cards[SealState.WITHDRAWN], cards[SealState.CORRECTED] = three[0].data, three[1].data
        cards[SealState.LOGGED] = issued.data
        forged = seal(card_for(FULL, number=9, issued=datetime.now(UTC)), by).data
        cards[SealState.REVOKED] = forged
        retire_key(store.keys, files, key_id=by.id, now=later, revoke=True)
    run("keys", "make", "Fettle & Daughter")
    cards[SealState.RETIRED] = issue(data).data
    run("keys", "rotate")
    cards[SealState.SEALED] = issue(data).data
    return cards


def test_every_state_has_its_exit_code(data: Path, issued: Issued) -> None:
    """Ten states; 0 for the three that stand, and for each other one its own."""
    cards = states(data, issued)
    assert set(SealState) - set(cards) == {SealState.OUT_OF_TIME}  # has a test of its own
    for state, card in cards.items():
        result = verify(digits(card), "--json")
        told = printed_json(result)
        assert (told["state"], result.exit_code) == (state, EXIT_CODES[state])
        assert told["stands"] == (result.exit_code == 0)
        assert (told["front"] is None) == (
            state in {SealState.UNSEALED, SealState.ALTERED, SealState.UNKNOWN_KEY}
        )


def test_a_card_dated_before_its_key(data: Path, issued: Issued) -> None:
    """Signed by the key itself, and not believed."""
    with open_store(data / "book.sqlite3") as store:
        forged = seal(card_for(FULL), signer_for(store.keys, KeyFiles(data / "keys"))).data
    result = verify(digits(forged))
    assert result.exit_code == EXIT_CODES[SealState.OUT_OF_TIME]
    assert "was not in use then" in result.stdout
    assert issued.data != forged


def test_exit_codes_are_written_down() -> None:
    """The help names each, and none is that of an error."""
    codes = set(EXIT_CODES.values())
    assert len(codes) == len(EXIT_CODES) - 2  # the three that stand share one
    assert not (codes - {0}) & {error.exit_code for error in tree(QuickcheckError)}
    assert set(EXIT_CODES) == set(SealState)
    text = " ".join(run("card", "verify", "--help").stdout.split("Exit codes:")[1].split())
    for code in codes | {6, 7, 9, 11}:
        assert f" {code} " in f" {text}"


def test_a_corrected_card_names_the_other(data: Path, issued: Issued) -> None:
    """As JSON, so that a script finds the card in its place."""
    other = issue(data)
    with open_store(data / "book.sqlite3") as store:
        store.cards.correct(issued.id, by=other.id, now=datetime.now(UTC))
    assert printed_json(verify(digits(issued.data), "--json"))["corrected_by"] == other.id


@pytest.mark.parametrize(
    "text", ["123", "https://cards.example/c/123", "HTTPS://CARDS.EXAMPLE/C/1"]
)
def test_a_text_that_is_no_card(text: str) -> None:
    """Exit code 6."""
    result = verify(text)
    assert result.exit_code == 6
    assert result.stderr.startswith("card: expected the ")


def test_without_a_book_nothing_is_made(tmp_path: Path, issued: Issued) -> None:
    """Who only looks at a card gets no book by it; every key is unknown then."""
    result = verify(digits(issued.data), "--data", tmp_path / "nowhere")
    assert result.exit_code == EXIT_CODES[SealState.UNKNOWN_KEY]
    assert not (tmp_path / "nowhere").exists()


# By a list of keys


def test_by_public_keys_alone(tmp_path: Path, issued: Issued) -> None:
    """Somebody else can check with the issuer's list; what only the issuer knows is told."""
    (tmp_path / "keys.json").write_text(run("keys", "list", "--json").stdout)
    found = verify(digits(issued.data), "--data", tmp_path / "no", "--keys", tmp_path / "keys.json")
    assert found.exit_code == 0
    assert found.stdout.splitlines()[-2:] == [
        "Not checked: whether it was withdrawn or corrected",
        "Not checked: other cards for the serial",
    ]


def test_a_list_of_other_keys(tmp_path: Path, issued: Issued) -> None:
    """The list stands in place of the book's own keys."""
    (tmp_path / "keys.json").write_text('{"keys": []}')
    found = verify(digits(issued.data), "--keys", tmp_path / "keys.json")
    assert found.exit_code == EXIT_CODES[SealState.UNKNOWN_KEY]


@pytest.mark.parametrize(("content", "code"), [(b"{}", 6), (b"\xff", 7), (None, 7)])
def test_what_is_no_list_of_keys(
    tmp_path: Path, issued: Issued, content: bytes | None, code: int
) -> None:
    """No list, no text, no file."""
    if content is not None:
        (tmp_path / "keys.json").write_bytes(content)
    assert verify(digits(issued.data), "--keys", tmp_path / "keys.json").exit_code == code


# From a picture


@pytest.mark.parametrize("kind", ["png", "jpeg"])
def test_a_picture(tmp_path: Path, issued: Issued, kind: str) -> None:
    """The code is read from either; the name of the file says nothing."""
    path = tmp_path / "shown.picture"
    picture(card_url(BASE, issued.data)).save(path, format=kind)
    result = verify(path, "--json")
    assert result.exit_code == 0
    assert printed_json(result)["card"] == issued.id


def test_a_code_of_something_else_beside_it(tmp_path: Path, issued: Issued) -> None:
    """It does no harm: the card is the one that is a card."""
    one, other = picture(card_url(BASE, issued.data)), picture("https://example.com")
    both = Image.new("L", (one.width + other.width + 80, one.height), 255)
    both.paste(one, (0, 0))
    both.paste(other, (one.width + 80, 0))
    both.save(tmp_path / "two.png")
    assert verify(tmp_path / "two.png").exit_code == 0


def test_two_cards_in_a_picture(tmp_path: Path, data: Path, issued: Issued) -> None:
    """Which is meant can't be told: exit code 6."""
    one, other = (picture(card_url(BASE, each.data)) for each in (issued, issue(data)))
    both = Image.new("L", (one.width + other.width, one.height), 255)
    both.paste(one, (0, 0))
    both.paste(other, (one.width, 0))
    both.save(tmp_path / "two.png")
    result = verify(tmp_path / "two.png")
    assert result.exit_code == 6
    assert "got 2 cards among 2 codes" in result.stderr


def test_a_picture_without_a_card(tmp_path: Path) -> None:
    """No code at all, or the code of something else: exit code 6, with what is wrong."""
    Image.new("L", (200, 200), 255).save(tmp_path / "white.png")
    result = verify(tmp_path / "white.png")
    assert (result.exit_code, "got 0 cards among 0 codes" in result.stderr) == (6, True)
    picture("https://example.com").save(tmp_path / "other.png")
    result = verify(tmp_path / "other.png")
    assert (result.exit_code, 'got "https://example.com"' in result.stderr) == (6, True)


def cut(content: bytes) -> bytes:
    return content[: len(content) // 2]


@pytest.mark.parametrize("kind", ["gif", "bmp", "webp", "tiff"])
def test_other_kinds_of_picture(tmp_path: Path, kind: str) -> None:
    """Only PNG and JPEG are opened, whatever the file is called: exit code 11."""
    path = tmp_path / "code.png"
    picture("123").save(path, format=kind)
    result = verify(path)
    assert result.exit_code == 11
    assert "expected a whole PNG or JPEG of at most 12 MB and 40 megapixels" in result.stderr


@pytest.mark.parametrize("kind", ["png", "jpeg"])
def test_a_picture_that_was_cut(tmp_path: Path, kind: str) -> None:
    """Half a file is no picture."""
    whole = io.BytesIO()
    noise = np.random.default_rng(1).integers(0, 255, (200, 200), np.uint8)
    Image.fromarray(noise).save(whole, format=kind)
    (tmp_path / "cut").write_bytes(cut(whole.getvalue()))
    assert verify(tmp_path / "cut").exit_code == 11


def test_a_picture_that_is_too_large(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In bytes and in pixels; nothing is decoded then."""
    path = tmp_path / "code.png"
    picture("123").save(path)
    monkeypatch.setattr(scanning, "_MOST_PIXELS", 100)
    assert " pixels" in verify(path).stderr
    monkeypatch.setattr(scanning, "LARGEST_PHOTO", 10)
    result = verify(path)
    assert result.exit_code == 11
    assert " bytes" in result.stderr


@pytest.mark.parametrize("what", ["nowhere.png", "not digits"])
def test_a_file_that_is_not_there(what: str) -> None:
    """Exit code 7; perhaps a text was meant, and that is said."""
    result = verify(what)
    assert result.exit_code == 7
    assert "expected a card's address, its digits, or a PNG or JPEG file" in result.stderr


def test_a_folder_is_no_picture(tmp_path: Path) -> None:
    """Exit code 11."""
    assert verify(tmp_path).exit_code == 11


def test_without_the_decoder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, issued: Issued
) -> None:
    """It is an extra: what to install is said, and a text is checked all the same."""
    monkeypatch.setitem(sys.modules, "zxingcpp", None)
    picture("123").save(tmp_path / "code.png")
    result = verify(tmp_path / "code.png", "--json")
    assert result.exit_code == 7
    assert "instrument-quickcheck[image]" in json.dumps(printed_json(result))
    assert verify(digits(issued.data)).exit_code == 0
