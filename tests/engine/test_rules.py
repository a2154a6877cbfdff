"""Which rule decides on a verdict, each threshold from both sides."""

from typing import Any

import pytest

from quickcheck.engine.rules import TABLE, Findings, decide

FINE: dict[str, Any] = {
    "speaking": 9,
    "ratio": 1.0,
    "ratio_without_any": lambda: 1.0,
    "bayes_factor": 10.0,
    "ruled_out": 0.9,
    "apart": False,
    "found": False,
    "found_never_changed": False,
    "tail": 1.0,
    "unfit": False,
}
CASES: list[tuple[dict[str, Any], str, tuple[str, ...]]] = [
    ({"speaking": 2, "ratio": 1 / 33}, "in-doubt", ("two-against",)),
    ({"speaking": 2, "ratio": 1 / 32}, "too-little-seen", ("few",)),
    ({"speaking": 1, "ratio": 0.0}, "too-little-seen", ("few",)),
    ({"ratio": 1 / 33, "ratio_without_any": lambda: 1 / 9}, "disagrees", ("dates",)),
    ({"ratio": 1 / 33, "ratio_without_any": lambda: 1 / 8}, "in-doubt", ("dates-doubt",)),
    ({"ratio": 1 / 9}, "in-doubt", ("dates-doubt",)),
    ({"apart": True}, "in-doubt", ("apart",)),
    ({"found": True, "found_never_changed": True}, "in-doubt", ("never-changed",)),
    ({"found": True, "tail": 0.0099}, "in-doubt", ("count",)),
    ({"found": True, "tail": 0.01, "unfit": True}, "agrees-with-changes", ("some-parts",)),
    ({"speaking": 3, "found": True, "tail": 0.001}, "in-doubt", ("count",)),
    ({"speaking": 4}, "too-little-seen", ("not-enough",)),
    ({"ruled_out": 0.49, "bayes_factor": 1.9}, "too-little-seen", ("blunt", "even")),
    ({"bayes_factor": None, "ruled_out": 0.0}, "too-little-seen", ("whole",)),
    ({"bayes_factor": 2.0, "ruled_out": 0.5}, "agrees", ("all-fit",)),
    ({"unfit": True}, "agrees-with-changes", ("some-parts",)),
    ({}, "agrees", ("all-fit",)),
    # compared with nine decimals: what is closer than that counts as equal
    ({"ratio": 1 / 8 - 1e-11}, "agrees", ("all-fit",)),
    ({"bayes_factor": 2 - 1e-11}, "agrees", ("all-fit",)),
    ({"ruled_out": 0.5 - 1e-11}, "agrees", ("all-fit",)),
    ({"found": True, "tail": 0.01 - 1e-11, "unfit": True}, "agrees-with-changes", ("some-parts",)),
]


@pytest.mark.parametrize(("changes", "verdict", "because"), CASES)
def test_first_rule_that_applies_decides(
    changes: dict[str, Any], verdict: str, because: tuple[str, ...]
) -> None:
    """Each threshold from both sides; all reasons of the rule that decides are told."""
    assert decide(Findings(**(FINE | changes))) == (verdict, because)


def test_rules_stand_in_their_order() -> None:
    """A rule's number never falls, so that "first that applies" reads down the table."""
    numbers = [rule.number for rule in TABLE]
    assert numbers == sorted(numbers)
