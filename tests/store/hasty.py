"""Books that are written without waiting for the disk, where no power is cut."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from quickcheck.store import session


@contextmanager
def hasty() -> Iterator[None]:
    """Open books that do not wait; what is committed is there for other programs all the same."""
    with pytest.MonkeyPatch.context() as patch:
        waits = tuple(each.replace("EXTRA", "OFF") for each in session._PRAGMAS)
        patch.setattr(session, "_PRAGMAS", waits)
        yield
