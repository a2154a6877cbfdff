"""One interface for choices, so that one maker serves both hypothesis and a seeded generator."""

import random
from collections.abc import Callable, Sequence
from typing import Any, Protocol, TypeVar

from hypothesis import strategies as st

T = TypeVar("T")


class Chooser(Protocol):
    """Whole numbers, one of several, and yes with so many in a hundred."""

    def whole(self, lowest: int, highest: int) -> int: ...

    def one_of(self, choices: Sequence[T]) -> T: ...

    def chance(self, percent: int) -> bool: ...


class Drawn:
    """Choices drawn by hypothesis: they shrink to the lowest, the first, and no."""

    def __init__(self, draw: Callable[[st.SearchStrategy[Any]], Any]) -> None:
        self._draw = draw

    def whole(self, lowest: int, highest: int) -> int:
        return int(self._draw(st.integers(lowest, highest)))

    def one_of(self, choices: Sequence[T]) -> T:
        return choices[self.whole(0, len(choices) - 1)]

    def chance(self, percent: int) -> bool:
        return self.whole(0, 99) >= 100 - percent


class Seeded:
    """The same choices from a seed."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def whole(self, lowest: int, highest: int) -> int:
        return self._random.randint(lowest, highest)

    def one_of(self, choices: Sequence[T]) -> T:
        return choices[self.whole(0, len(choices) - 1)]

    def chance(self, percent: int) -> bool:
        return self.whole(0, 99) >= 100 - percent


def maybe(choose: Chooser, key: str, choices: Sequence[Any]) -> dict[str, Any]:
    """Return {key: one of the choices}, or nothing at all for the choice None."""
    value = choose.one_of(choices)
    return {} if value is None else {key: value}
