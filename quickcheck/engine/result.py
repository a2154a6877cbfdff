"""What a verdict holds, and its form as plain data."""

from collections.abc import Mapping
from dataclasses import dataclass

from quickcheck.readings import month_text

Months = tuple[int, int]
"""First and last month, both inclusive."""


@dataclass(frozen=True, slots=True)
class AssemblyFit:
    """One assembly judged by itself."""

    points: int
    ratio_to_best: float
    reads_as: tuple[Months, ...]


@dataclass(frozen=True, slots=True)
class BestWindow:
    """The window of the claim's length that fits best, and what would be flagged there."""

    window: Months
    flagged: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChangedCount:
    """How many parts are changed by expectation, and how many are usually found."""

    expected: float
    usual: float
    tail: float  # chance of at least as many as were found, on a genuine instrument


@dataclass(frozen=True, slots=True)
class PartFit:
    """One witness: chance of a change, chance of a fit, and where it leans."""

    changed: float
    fits: float
    leaning: str  # within | earlier | later | silent


@dataclass(frozen=True)
class Verdict:
    """What was found; months are numbers, ids stand in the reference's order."""

    verdict: str
    claimed: Months
    window: Months
    rules: int
    groups: int
    speaking: int
    temper: float
    likeliest: int
    reads_as: tuple[Months, ...]
    equally: Months
    ratio_to_best: float
    bayes_factor: float | None
    in_window: float
    ruled_out: float
    flagged: tuple[str, ...]
    odd: tuple[str, ...]
    declared: tuple[str, ...]
    apart: tuple[str, ...]
    assemblies: Mapping[str, AssemblyFit]
    best_window: BestWindow
    changed_count: ChangedCount
    points: Mapping[str, PartFit]
    posterior: tuple[float, ...]
    because: tuple[str, ...]  # every reason of the rule that decided; `rules.TABLE`

    @property
    def found(self) -> tuple[str, ...]:
        """What was found and not declared: flagged first, then odd."""
        return tuple(p for p in self.flagged + self.odd if p not in self.declared)

    def as_json(self) -> dict[str, object]:
        """Return the verdict as plain data, months as text."""
        return {
            "verdict": self.verdict,
            "claimed": _texts(self.claimed),
            "window": _texts(self.window),
            "rules": self.rules,
            "groups": self.groups,
            "speaking": self.speaking,
            "temper": self.temper,
            "likeliest": month_text(self.likeliest),
            "reads_as": [_texts(run) for run in self.reads_as],
            "equally": _texts(self.equally),
            "ratio_to_best": self.ratio_to_best,
            "bayes_factor": self.bayes_factor,
            "in_window": self.in_window,
            "ruled_out": self.ruled_out,
            "flagged": list(self.flagged),
            "odd": list(self.odd),
            "declared": list(self.declared),
            "apart": list(self.apart),
            "assemblies": {name: _assembly_json(fit) for name, fit in self.assemblies.items()},
            "best_window": {
                "window": _texts(self.best_window.window),
                "flagged": list(self.best_window.flagged),
            },
            "changed_count": {
                "expected": self.changed_count.expected,
                "usual": self.changed_count.usual,
                "tail": self.changed_count.tail,
            },
            "points": {
                name: {"changed": part.changed, "fits": part.fits, "leaning": part.leaning}
                for name, part in self.points.items()
            },
            "posterior": list(self.posterior),
        }


def _texts(run: Months) -> list[str]:
    return [month_text(run[0]), month_text(run[1])]


def _assembly_json(fit: AssemblyFit) -> dict[str, object]:
    return {
        "points": fit.points,
        "ratio_to_best": fit.ratio_to_best,
        "reads_as": [_texts(run) for run in fit.reads_as],
    }
