"""A second process that issues cards without pause: ``issuer.py BOOK FOLDER KEY COUNT``.

It waits for a line, so that two of them start together, and prints ``NUMBER CARD`` for each.
"""

import sys
from pathlib import Path

from quickcheck.store import KeyFiles, open_store
from tests.store.sealing import card


def main(book: str, folder: str, key: str, count: str) -> None:
    """Issue cards for the same serial."""
    with open_store(book, patience=60) as store:
        signer = KeyFiles(Path(folder)).load(bytes.fromhex(key))
        print("ready", flush=True)
        sys.stdin.readline()
        for _ in range(int(count)):
            issued = store.cards.issue(card(), signer)
            print(issued.number, issued.id, flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
