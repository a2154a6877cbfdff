"""The words: for each verdict, the line that stands above all others, and what goes with it."""

import re

import pytest

from quickcheck.engine import VERDICT_WORDS
from quickcheck.engine.explain_finding import _PLAIN, _WHY
from quickcheck.engine.rules import TABLE
from quickcheck.reference import Access, Assembly
from tests.engine.small import answers_of, change_over, ladder, reference
from tests.engine.telling import HOLDS, NOTHING_CHANGED, sentences, tell


def test_every_verdict_has_a_word_and_every_reason_a_sentence() -> None:
    """Nothing the rules can say is left without words."""
    assert VERDICT_WORDS == {
        "agrees": "Agrees",
        "agrees-with-changes": "Agrees; some parts do not",
        "in-doubt": "In doubt",
        "too-little-seen": "Too little seen",
        "disagrees": "Does not agree",
    }
    assert {rule.verdict for rule in TABLE} == set(VERDICT_WORDS)
    assert {rule.reason for rule in TABLE} == set(_PLAIN) | set(_WHY)


def test_agrees() -> None:
    """Claim and finding in one line, then how wide the claim could be."""
    told = tell(*HOLDS, **NOTHING_CHANGED)
    assert told["finding"] == [
        (
            "Claimed Jan–Jun 1955. What was seen agrees with Mar 1954–Jan 1956. "
            "12 of 12 points looked at; by eye only, nothing opened."
        )
    ]
    assert told["why"] == ["The months hold, and every part that was looked at fits them."]
    assert told["width"] == [
        "It agrees with the claim, and about as well with any time from Nov 1954 to Oct 1955."
    ]
    assert told["claim"] == [
        (
            "Nothing changed is claimed. No sign of change seen at the points looked at; "
            "all were looked at."
        )
    ]
    assert told["found"] == ["No sign of change seen at the points looked at."]
    assert told["count"] == [
        "Nothing found, where on a genuine instrument of this age one is usual."
    ]
    assert told["leaning"] == [
        ("These parts speak for the claim: part 3, part 4, part 5, part 6, part 7, part 8, part 9.")
    ]
    assert {"best", "apart", "declared", "unseen", "next"}.isdisjoint(told)


def test_agrees_with_declared_changes() -> None:
    """What was declared is named, and not held against it."""
    made, window, answers = HOLDS
    declared = answers | {"part-11": {"seen": "new", "state": "changed"}}
    told = tell(made, window, declared, **NOTHING_CHANGED)
    assert told["finding"][0].split(". ")[1].endswith("; some parts do not")
    assert told["why"] == ["The months hold, and every part that does not fit was declared."]
    assert told["declared"] == ["Change declared, and not held against it: part 11."]
    assert told["found"] == [
        "No sign of change seen beyond what was declared at the points looked at."
    ]
    assert told["claim"] == ["Nothing changed is claimed. Against that: change declared: part 11."]


def test_agrees_with_parts_that_do_not() -> None:
    """What the dates say and what the eyes saw stand on lines of their own."""
    made, window, answers = HOLDS
    later = answers | {
        "part-1": {"seen": "old"},
        "part-11": {"seen": "new"},
        "part-5": {"seen": "new", "state": "signs", "where": ["back"]},
    }
    told = tell(made, window, later, **NOTHING_CHANGED)
    assert told["why"] == [
        "The months hold; some parts do not fit them, too few to doubt the claim."
    ]
    assert told["found"] == [
        "Probably not the first part: part 11.",
        "Does not fit, look again: part 1.",
        "Change seen: part 5 (back).",
    ]
    assert told["count"] == [
        "Two found; of genuine instruments of this age, about one in four shows as many."
    ]
    assert told["claim"] == [
        (
            "Nothing changed is claimed. Against that: probably not the first part: part 11; "
            "does not fit: part 1; change seen: part 5."
        )
    ]
    assert told["leaning"][:2] == [
        "These parts read earlier than the claim: part 1.",
        "These parts read later than the claim: part 11.",
    ]


def test_disagrees() -> None:
    """The months it reads as, those that would fit best, and what the claim makes of the parts."""
    told = tell(ladder(12), ("1951-01", "1951-06"), answers_of(12, built="1958-03"))
    assert told["finding"][0].startswith(
        "Claimed Jan–Jun 1951. What was seen reads as Feb 1957–Mar 1959, not as the months claimed."
    )
    assert told["width"] == [
        "Any time from Jan 1951 to Dec 1959 would fit about as well as the claim, or better."
    ]
    assert told["why"] == [
        (
            "Another time fits what was seen more than 32 times better than the claim does, and still "
            "more than eight times better whichever one thing is left out."
        )
    ]
    assert told["best"] == [
        "Of all claims of this length, Feb–Jul 1958 fits best; every part would fit."
    ]
    assert told["found"][0].startswith("By the claim, probably not the first part: part ")
    assert told["count"][0].endswith("fewer than one in a thousand shows as many.")
    assert any(text.startswith("These parts read later than the claim") for text in told["leaning"])


def test_best_window_names_what_would_be_found_there() -> None:
    """A tag and a marking carried over from an older one are what stands out at the best time."""
    older = {"part-3": {"seen": "old"}, "part-4": {"seen": "old"}}
    made = ladder(12)
    swapped = [
        change_over("tag", "1951-06"),
        *made.points,
    ]
    told = tell(
        reference(*swapped),
        ("1951-01", "1951-06"),
        answers_of(12, built="1958-03") | older | {"tag": {"seen": "old", "state": "signs"}},
    )
    assert "probably not the first part there: tag" in told["best"][0]


def test_in_doubt_by_two() -> None:
    """Two that agree strongly against a claim are enough for a doubt and for no more."""
    points = [change_over(f"p{i}", "1957-01", changed=0.01, other=0.001) for i in range(2)]
    told = tell(
        reference(*points), ("1951-01", "1951-12"), {f"p{i}": {"seen": "new"} for i in range(2)}
    )
    assert told["why"] == [
        (
            "Only two of the things looked at speak for a time, but together they fit another time "
            "more than 32 times better than the claim."
        )
    ]
    assert "with doubt about the claim" in told["finding"][0]


def test_in_doubt_by_dates_that_hang_on_one() -> None:
    """A doubt that one thing makes is told as such."""
    points = [
        *(change_over(f"p{i}", "1956-01", changed=0.85) for i in range(2)),
        change_over("strong", "1956-01", changed=0.001, other=0.001),
    ]
    answers = {f"p{i}": {"seen": "new"} for i in range(2)} | {"strong": {"seen": "new"}}
    told = tell(reference(*points), ("1951-01", "1951-12"), answers)
    assert told["why"][0] == (
        "Another time fits what was seen much better than the claim does, but that hangs on one "
        "thing: without it the difference is small."
    )


def test_in_doubt_by_dates() -> None:
    """A claim two years off is in doubt, and no more is made of it than that."""
    made, _, answers = HOLDS
    told = tell(made, ("1953-04", "1953-09"), answers)
    assert told["why"] == [
        (
            "Another time fits what was seen more than eight times better than the claim does: "
            "enough for a doubt, too little to say more."
        )
    ]
    assert told["best"] == [
        "Of all claims of this length, Feb–Jul 1955 fits best; every part would fit."
    ]


def test_in_doubt_by_an_assembly() -> None:
    """The neck is named, and what it reads as by itself."""
    neck = [
        change_over(f"neck-{i}", f"195{i}-06", assembly=Assembly.NECK, changed=0.04)
        for i in range(3, 8)
    ]
    answers = answers_of(12, built="1953-02") | {f"neck-{i}": {"seen": "new"} for i in range(3, 8)}
    told = tell(reference(*neck, *ladder(12).points), ("1953-01", "1953-06"), answers)
    assert "By itself, the neck speaks for another time than the claim." in told["why"]
    assert re.fullmatch(r"The neck stands apart: by itself it reads as .*195\d\.", told["apart"][0])


def test_in_doubt_by_a_part_that_is_never_changed() -> None:
    """A lining is hardly ever changed: one that does not fit is named."""
    made, window, answers = HOLDS
    lining = change_over("lining", "1959-01", changed=0.02)
    told = tell(reference(*made.points, lining), window, answers | {"lining": {"seen": "new"}})
    assert told["why"] == ["Hardly ever changed, and does not fit the claim: lining."]


def test_in_doubt_by_count() -> None:
    """So many later parts are rare, and how rare is said."""
    made = ladder(12)
    hardware = [change_over(f"h{i}", "1958-06", changed=0.05) for i in range(7)]
    answers = answers_of(12, built="1955-03") | {f"h{i}": {"seen": "new"} for i in range(6)}
    told = tell(reference(*made.points, *hardware), ("1955-01", "1955-06"), answers)
    assert any(text.startswith("More parts do not fit than is usual: of ") for text in told["why"])


def test_too_little_seen() -> None:
    """Nothing, one, and four that speak: each says what is missing."""
    made, window, answers = HOLDS
    told = tell(made, window, {})
    assert told["finding"] == [
        (
            "Claimed Jan–Jun 1955. Too little was seen to tell. "
            "0 of 12 points looked at; by eye only, nothing opened."
        )
    ]
    assert told["why"] == ["Nothing speaks for a time so far; three are the least for a finding."]
    assert "found" not in told
    assert told["unseen"][0].startswith("Not looked at: part 0, part 1")
    assert told["next"][0].startswith("Would tell most next: part ")
    one = tell(made, window, {"part-6": answers["part-6"]}, **NOTHING_CHANGED)
    assert one["why"] == [
        (
            "Only one of the things looked at speaks for a time so far; three are the least for a "
            "finding."
        )
    ]
    assert one["finding"][0].startswith("Claimed Jan–Jun 1955. Too little was seen to tell; so far")
    assert one["claim"][0].endswith("11 were not looked at.")
    some = {name: answers[name] for name in ("part-4", "part-5", "part-6", "part-7")}
    four = tell(made, window, some)
    assert four["why"][0] == (
        "So far four of the things looked at speak for a time, and they do not go against the "
        "claim; five are the least to say that it agrees."
    )


def test_claim_beyond_the_reference_says_what_was_judged() -> None:
    """Claimed and judged are both told where they differ."""
    made, _, answers = HOLDS
    told = tell(made, ("1959-07", "1961-06"), answers)
    assert told["finding"][0].startswith(
        "Claimed Jul 1959–Jun 1961; the reference covers 1950–1959, so Jul–Dec 1959 was judged."
    )


@pytest.mark.parametrize(
    ("access", "words"),
    [
        (Access.LOOK, "1 of 1 point looked at; by eye only, nothing opened."),
        (Access.HANDLE, "1 of 1 point looked at; nothing opened."),
        (Access.OPEN, "1 of 1 point looked at; opened."),
    ],
)
def test_how_far_it_was_looked_at_is_part_of_the_finding(access: Access, words: str) -> None:
    """By eye, in the hands, or opened: by what was answered, not by what was allowed."""
    made = reference(change_over("knobs", "1955-01", access=access))
    told = tell(made, HOLDS[1], {"knobs": {"seen": "old"}}, access="open")
    assert told["finding"][0].endswith(words)


def test_sentences_name_their_points() -> None:
    """A screen can lead from a sentence to the points that it speaks of."""
    made, window, answers = HOLDS
    told = sentences(made, window, answers | {"part-11": {"seen": "new"}})
    found = next(s for s in told if s.about == "found")
    assert found.points == ("part-11",)


def test_order_of_what_is_told() -> None:
    """The finding comes first, what to do next last."""
    made, window, answers = HOLDS
    del (some := dict(answers))["part-0"]
    told = [s.about for s in sentences(made, window, some)]
    assert told[0] == "finding"
    assert told[-1] == "next"
