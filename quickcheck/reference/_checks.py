"""placeholder"""

from quickcheck.reference._faults import Faults
from quickcheck.reference._walk import Walked


def check(walked: Walked, faults: Faults) -> None:
    """Note what contradicts itself."""


def warnings_of(walked: Walked) -> tuple[str, ...]:
    """Return warnings."""
    return ()
