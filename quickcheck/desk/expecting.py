"""What an instrument of some months should look like, by a reference."""

from collections.abc import Mapping
from dataclasses import dataclass

from quickcheck.engine import compile_model
from quickcheck.errors import AnswerError, shown
from quickcheck.readings import parse_month, run_words
from quickcheck.reference import OTHER, Point, Reference, Variant

_TOLD = 0.005  # shares below half a per cent are left out

Window = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Expected:
    """One way a point may look, and how much of what was built in those months had it (0 to 1)."""

    variant: Variant | None  # None: none of those listed
    share: float

    @property
    def label(self) -> str:
        """What it is, in words."""
        return self.variant.label if self.variant else "none of these"


@dataclass(frozen=True, slots=True)
class ExpectedPoint:
    """A point with what to expect there, the commonest first; empty where nothing is known."""

    point: Point
    ways: tuple[Expected, ...]


def parse_window(text: str) -> Window:
    """Return the months of ``1954-03..1954-08``."""
    first, dots, last = text.partition("..")
    if not dots:
        raise AnswerError.of(
            "window",
            expected="two months like 1954-03..1954-08",
            came=shown(text),
            remedy="Put two full stops between the first and the last month.",
        )
    return parse_month(first, where="window"), parse_month(last, where="window")


def expected(reference: Reference, window: Window) -> tuple[ExpectedPoint, ...]:
    """Return what every point should look like; AnswerError for months that are not known."""
    first, last = reference.covers
    if not first <= window[0] <= window[1] <= last:
        raise AnswerError.of(
            "window",
            expected=f"months in order, within {run_words(first, last)}",
            came=run_words(*window),
            remedy="Choose months that the reference knows.",
        )
    shares = compile_model(reference).expect(window)
    return tuple(
        ExpectedPoint(point, _ways(point, shares.get(point.id, {}))) for point in reference.points
    )


def _ways(point: Point, shares: Mapping[str, float]) -> tuple[Expected, ...]:
    told = sorted(shares.items(), key=lambda item: (item[0] == OTHER, -item[1]))
    return tuple(Expected(point.variant(name), share) for name, share in told if share >= _TOLD)
