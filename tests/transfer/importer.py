"""A second process that takes an export into a book, slowly: ``importer.py BOOK FILE PAUSE``.

It prints a line before each step, and waits for ``PAUSE`` seconds.
"""

import sys
import time
from pathlib import Path
from typing import Any

from quickcheck.store import open_store
from quickcheck.transfer import open_bundle, take, taking


def main(book: str, file: str, pause: str) -> None:
    """Take it, a batch for each inspection and each photo."""
    taking._BATCH = 1

    def told(sized: Any) -> Any:
        for some in batches(sized):
            print("step", flush=True)
            time.sleep(float(pause))
            yield some

    batches, taking.batches = taking.batches, told
    with open_bundle(Path(file)) as sound, open_store(Path(book), patience=60) as store:
        take(store, sound)
    print("done", flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
