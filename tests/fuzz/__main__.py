"""Whatever bytes come in the place of a card: ``python -m tests.fuzz [seconds]`` (needs atheris).

Coverage guides the choice of bytes, from seeds that are real cards. What must hold of each:

* a text is refused with CardError, or has one spelling: its bytes give the same text;
* bytes are refused with CardError, or are what encoding the card they hold gives;
* a seal stands only where a second implementation of RFC 8032 says that the signature verifies.

Anything else ends the run, with the bytes that did it printed.
"""

import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["quickcheck.card", "quickcheck.readings"]):
    from quickcheck.card import check_seal, data_of, decode_any, digits, encode, unsealed
    from quickcheck.card.seal import split

from quickcheck.errors import CardError
from tests.card.kit import loom
from tests.card.plain_ed25519 import verifies
from tests.card.sealing import key, known, many

SECONDS = 600
KEY = key()
KNOWN = known(KEY)
REFERENCE = loom()


def one_text(data: bytes) -> None:
    """Hold a text in the place of the digits to what must hold of it."""
    text = data.decode("utf-8", "surrogateescape")
    try:
        found = data_of(text)
    except CardError:
        return
    assert digits(found) == text


def one_card(data: bytes) -> None:
    """Hold bytes in the place of a card to what must hold of them."""
    try:
        card = decode_any(data, REFERENCE)
        assert encode(card) == unsealed(data)
    except CardError:
        pass
    try:
        seal = check_seal(data, KNOWN)
    except CardError:
        return
    if seal.stands:
        sealed = split(data)
        assert sealed
        assert verifies(KEY.public, sealed.message, sealed.signature)


def one(data: bytes) -> None:
    """Look at one input; its first bit says in whose place it stands."""
    if not data:
        return
    (one_text if data[0] & 1 else one_card)(data[1:])


def main() -> None:
    """Write the seeds and begin; libFuzzer ends the process itself."""
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else SECONDS
    folder = Path(tempfile.mkdtemp(prefix="cards-"))
    for number, card in enumerate(many(20)):
        (folder / f"card-{number}").write_bytes(b"\0" + card.data)
        (folder / f"bare-{number}").write_bytes(b"\0" + card.unsealed())
        (folder / f"text-{number}").write_bytes(b"\1" + digits(card.data).encode())
    words = [
        f"-max_total_time={seconds}",
        "-max_len=800",
        f"-artifact_prefix={folder}/",
        str(folder),
    ]
    atheris.Setup([sys.argv[0], "-print_final_stats=1", *words], one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
