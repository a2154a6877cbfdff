"""From judged instruments to how often the engine is right, each share with its standard error."""

import math
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from tests.engine.simulate import Finding, Outcome

VERDICTS = ("agrees", "agrees-with-changes", "too-little-seen", "in-doubt", "disagrees")
CAUGHT = ("in-doubt", "disagrees")

Pairs = Iterable[tuple[int, int]]


@dataclass(frozen=True)
class Share:
    """Hits out of so many, with the standard error of a ratio over instruments."""

    value: float
    error: float
    total: int

    @classmethod
    def of(cls, pairs: Pairs) -> "Share":
        """Sum (hits, out of) of each instrument; its claims and parts are not independent."""
        rows = list(pairs)
        total = sum(n for _, n in rows)
        if not total:
            return cls(math.nan, math.nan, 0)
        value = sum(hits for hits, _ in rows) / total
        squares = sum((hits - value * n) ** 2 for hits, n in rows)
        return cls(value, math.sqrt(squares) / total, total)

    def __str__(self) -> str:
        return f"{self.value:7.1%} ±{self.error:5.1%}" if self.total else "      –       "


def verdicts(
    judged: Sequence[Outcome], claims: Callable[[Outcome], Sequence[Finding]]
) -> list[Share]:
    """Return the share of each verdict among claims."""
    return [caught(judged, claims, (verdict,)) for verdict in VERDICTS]


def caught(
    judged: Sequence[Outcome],
    claims: Callable[[Outcome], Sequence[Finding]],
    among: tuple[str, ...] = CAUGHT,
) -> Share:
    """Return the share of claims with one of some verdicts."""
    return Share.of((sum(f.verdict in among for f in claims(o)), len(claims(o))) for o in judged)


def genuine(outcome: Outcome) -> tuple[Finding, ...]:
    """Return the true claim of six months."""
    return (outcome.genuine,)


def genuine_wide(outcome: Outcome) -> tuple[Finding, ...]:
    """Return the true claim of twelve months."""
    return (outcome.wide,)


def two_years_off(outcome: Outcome) -> tuple[Finding, ...]:
    """Return the claims two years too early and too late."""
    return outcome.off


def flagged_changed(judged: Sequence[Outcome]) -> Share:
    """Return, of the parts flagged under a true claim, the share truly changed."""
    return Share.of((len(o.flagged & o.changed), len(o.flagged)) for o in judged)


def flagged_changed_or_misread(judged: Sequence[Outcome]) -> Share:
    """Return, of the parts flagged under a true claim, the share changed or read wrongly."""
    return Share.of((len(o.flagged & (o.changed | o.misread)), len(o.flagged)) for o in judged)


def changed_flagged(judged: Sequence[Outcome]) -> Share:
    """Return, of the parts changed, the share flagged; many a later part is of the right kind."""
    return Share.of((len(o.changed & o.flagged), len(o.changed)) for o in judged)


def gone_flagged(judged: Sequence[Outcome]) -> Share:
    """Return, of the parts changed into what was hardly fitted then, the share flagged."""
    return Share.of((len(o.gone & o.flagged), len(o.gone)) for o in judged)


def covered(judged: Sequence[Outcome]) -> Share:
    """Return how often reads_as holds the true month."""
    return Share.of((o.covered, 1) for o in judged)


def rare(judged: Sequence[Outcome], tail: float) -> Share:
    """Return how often more is found than such a share of genuine instruments should show."""
    return Share.of((o.found > 0 and o.tail < tail, 1) for o in judged)


def reasons(findings: Iterable[Finding]) -> Counter[str]:
    """Count why, each reason of a rule by itself."""
    return Counter(reason for finding in findings for reason in finding.because)
