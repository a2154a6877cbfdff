"""References with answers, made up at random, for the comparison of the two implementations.

One maker asks a chooser for every choice. Hypothesis is one chooser (failures shrink towards one
plain point), a seeded generator is the other. Nothing is meant to look like a real history; what
matters is that every sentence of the arithmetic meets cases that lean on it.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from hypothesis import strategies as st

from tests.engine.choosing import Chooser, Drawn, Seeded
from tests.engine.make_answers import TERMS, make_answers
from tests.engine.make_reference import make_reference

Doc = dict[str, Any]
Case = tuple[Doc, Doc]


def make_case(choose: Chooser, terms: Sequence[str] = TERMS) -> Case:
    reference = make_reference(choose)
    return reference, make_answers(choose, reference, terms)


@st.composite
def cases(draw: Callable[[st.SearchStrategy[Any]], Any], terms: Sequence[str] = TERMS) -> Case:
    """Pairs (reference, answers)."""
    return make_case(Drawn(draw), terms)


def seeded(n: int, terms: Sequence[str] = TERMS) -> Iterator[Case]:
    """Return n pairs that are the same on every machine and in every run."""
    for seed in range(n):
        yield make_case(Seeded(seed), terms)
