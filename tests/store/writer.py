"""A second process that saves without pause: ``writer.py URL INSPECTION NAME [COUNT]``.

It prints ``saved REVISION SHA256`` after each save, or ``late`` where another was first.
"""

import itertools
import sys
from datetime import UTC, datetime
from uuid import UUID

from quickcheck.errors import ConflictError
from quickcheck.store import open_store


def main(url: str, inspection: str, name: str, count: str = "1000000000") -> None:
    """Save document after document."""
    with open_store(url, patience=60) as store:
        for n in itertools.islice(itertools.count(), int(count)):
            current = store.book.get(UUID(inspection))
            document = {**current.document, "by": name, "n": n}
            try:
                saved = store.book.save(
                    current.id, document, revision=current.revision, now=datetime.now(UTC)
                )
            except ConflictError:
                print("late", flush=True)
            else:
                print("saved", saved.revision, saved.sha256, flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
