"""The verdict: a table of rules, the first that applies decides.

A rule may have several reasons; all that hold are kept, because the words shown must give the
whole reason and not the first half of it. Thresholds are compared with 9 decimals.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from quickcheck.engine.constants import RULES, r9


@dataclass(frozen=True, slots=True)
class Findings:
    """What the rules look at."""

    speaking: int
    ratio: float
    ratio_without_any: Callable[[], float]  # asked for only where the dates disagree strongly
    bayes_factor: float | None
    ruled_out: float
    apart: bool
    found: bool
    found_never_changed: bool  # something found that hardly anyone changes
    tail: float
    unfit: bool  # something flagged or odd, declared or not

    @property
    def far(self) -> bool:
        """Whether some other month fits the window's best month fairly much better."""
        return r9(self.ratio) < r9(1 / RULES.fair)

    @property
    def very_far(self) -> bool:
        """Whether some other month fits strongly better."""
        return r9(self.ratio) < r9(1 / RULES.strong)

    @property
    def far_without_any(self) -> bool:
        """Whether it stays so with any one group left out: one witness never decides alone."""
        return self.very_far and r9(self.ratio_without_any()) < r9(1 / RULES.fair)

    @property
    def rare(self) -> bool:
        """Whether so many found are rare on a genuine instrument."""
        return self.found and r9(self.tail) < RULES.rare_tail

    @property
    def whole(self) -> bool:
        """Whether the window leaves nothing of the reference to hold it against."""
        return self.bayes_factor is None

    @property
    def blunt(self) -> bool:
        """Whether too little of what lies around the window is ruled out."""
        return not self.whole and r9(self.ruled_out) < RULES.ruled_out

    @property
    def even(self) -> bool:
        """Whether the window fits hardly better than what lies around it."""
        return self.bayes_factor is not None and r9(self.bayes_factor) < RULES.bayes_factor


@dataclass(frozen=True, slots=True)
class Rule:
    """One reason for a verdict; reasons of one number make up one rule."""

    number: int
    reason: str
    verdict: str
    holds: Callable[[Findings], bool]


TABLE: Final[tuple[Rule, ...]] = (
    Rule(
        1,
        "two-against",
        "in-doubt",
        lambda f: f.speaking == RULES.fewest_doubt and f.very_far,
    ),
    Rule(2, "few", "too-little-seen", lambda f: f.speaking < RULES.fewest),
    Rule(3, "dates", "disagrees", lambda f: f.far_without_any),
    Rule(4, "dates-doubt", "in-doubt", lambda f: f.far),
    Rule(4, "apart", "in-doubt", lambda f: f.apart),
    Rule(4, "never-changed", "in-doubt", lambda f: f.found_never_changed),
    Rule(4, "count", "in-doubt", lambda f: f.rare),
    Rule(5, "not-enough", "too-little-seen", lambda f: f.speaking < RULES.enough),
    Rule(5, "whole", "too-little-seen", lambda f: f.whole),
    Rule(5, "blunt", "too-little-seen", lambda f: f.blunt),
    Rule(5, "even", "too-little-seen", lambda f: f.even),
    Rule(6, "some-parts", "agrees-with-changes", lambda f: f.unfit),
    Rule(7, "all-fit", "agrees", lambda _: True),
)


def decide(findings: Findings) -> tuple[str, tuple[str, ...]]:
    """Return the verdict and every reason of the rule that gave it."""
    first = next(rule for rule in TABLE if rule.holds(findings))
    same = [rule for rule in TABLE if rule.number == first.number and rule.holds(findings)]
    return first.verdict, tuple(rule.reason for rule in same)
