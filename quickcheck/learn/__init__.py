"""From documented instruments to a reference: no files, clock or network.

The README of this room has what is done, why, and what it was measured to be worth.
"""

from quickcheck.learn.learning import Points, learn, learn_reference
from quickcheck.learn.records import Example

__all__ = ["Example", "Points", "learn", "learn_reference"]
