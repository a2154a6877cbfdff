"""The verdict in plain sentences, for screens and the command line; no HTML.

What was found is told of the parts and never of the owner: "probably not the first part" is what
the dates say, "change seen" is what the eyes saw, and the two never share a line. Nothing here
says that an instrument is what it is said to be; at best, no sign of change was seen. A single
month is never named as the likeliest: the arithmetic does not carry that far.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Final

from quickcheck.engine import explain_parts as parts
from quickcheck.engine.explain_finding import tell_finding, tell_why
from quickcheck.engine.model import Model
from quickcheck.engine.next_look import NextLook
from quickcheck.engine.result import Verdict
from quickcheck.engine.sentences import Case, Sentence
from quickcheck.engine.sheet import Sheet
from quickcheck.engine.witnesses import known_changes

VERDICT_WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "agrees": "Agrees",
        "agrees-with-changes": "Agrees; some parts do not",
        "in-doubt": "In doubt",
        "too-little-seen": "Too little seen",
        "disagrees": "Does not agree",
    }
)

_TELL: Final[tuple[Callable[[Case], Iterator[Sentence]], ...]] = (
    tell_finding,
    tell_why,
    parts.tell_width,
    parts.tell_claim,
    parts.tell_best,
    parts.tell_apart,
    parts.tell_found,
    parts.tell_count,
    parts.tell_declared,
    parts.tell_border,
    parts.tell_leaning,
    parts.tell_unseen,
    parts.tell_next,
)


def explain(  # noqa: PLR0917  # what it tells of, in the order in which it was made
    model: Model, sheet: Sheet, verdict: Verdict, looks: Sequence[NextLook]
) -> tuple[Sentence, ...]:
    """Return everything there is to say on a verdict, the finding first."""
    _, silent = known_changes(model, sheet)
    case = Case(model, sheet, verdict, looks, silent)
    return tuple(sentence for tell in _TELL for sentence in tell(case))
