"""What every sentence is made of: the case that is told, and words for points, numbers, months."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from quickcheck.engine.constants import RULES, r9
from quickcheck.engine.model import Model
from quickcheck.engine.next_look import NextLook
from quickcheck.engine.result import Months, Verdict
from quickcheck.engine.sheet import Sheet
from quickcheck.readings import run_words
from quickcheck.reference.records import Point

_NUMBERS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@dataclass(frozen=True, slots=True)
class Sentence:
    """One thing to say, what it is about, and the points that it names."""

    about: str
    text: str
    points: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Case:
    """Everything that a sentence may need."""

    model: Model
    sheet: Sheet
    verdict: Verdict
    looks: Sequence[NextLook]
    silent: frozenset[str]

    @property
    def witnesses(self) -> list[Point]:
        """The points that count, whether looked at or not."""
        return [point for point in self.model.reference.points if point.is_witness]

    def looked(self, point: Point) -> bool:
        """Return whether somebody looked there."""
        answer = self.sheet.answers.get(point.id)
        return answer is not None and answer.looked

    @property
    def seen(self) -> list[Point]:
        """The points that count and were looked at."""
        return [point for point in self.witnesses if self.looked(point)]

    @property
    def far(self) -> bool:
        """Whether some other time fits fairly much better than the claim."""
        return r9(self.verdict.ratio_to_best) < r9(1 / RULES.fair)

    def name(self, point_id: str) -> str:
        """Return a point as it stands in a sentence, by the reference's short name for it."""
        return within(self.model.reference.by_id[point_id].name)

    def names(self, point_ids: Iterable[str]) -> str:
        """Return points as they stand in a sentence."""
        return ", ".join(self.name(point_id) for point_id in point_ids)


def within(label: str) -> str:
    """Return a label as it stands inside a sentence: "Head mark" → "head mark", "E string" as is."""
    return label[:1].lower() + label[1:] if label[1:2].islower() else label


def number(count: int) -> str:
    """Return a count in words up to nine."""
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)


def listed(parts: Sequence[str]) -> str:
    """Return parts as in speech: "a, b and c"."""
    return " and ".join(filter(None, [", ".join(parts[:-1]), parts[-1]]))


def reads(runs: Sequence[Months]) -> str:
    """Return runs of months in words."""
    return listed([run_words(*run) for run in runs])


def one_in(tail: float) -> str:
    """Return a chance as "about one in … shows"; the arithmetic is too rough for more."""
    if tail > 0.6:
        return "most show"
    if tail < 0.001:
        return "fewer than one in a thousand shows"
    times = round(1 / tail)
    rough = times if times < 20 else round(times, -1)
    return f"about one in {number(rough)} shows"
