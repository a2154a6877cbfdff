"""What is said of the claim and of the parts: what was found, declared, seen, left out, to see."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Final

from quickcheck.engine.constants import RULES, r9
from quickcheck.engine.sentences import Case, Sentence, listed, number, one_in, reads
from quickcheck.readings import month_words, run_words
from quickcheck.reference.records import OTHER, Kind, Point

_NOT_SEEN: Final[Mapping[str | None, str]] = MappingProxyType(
    {
        "not-allowed": "Not allowed",
        "not-visible": "Not visible",
        "no-tool": "No tool for it",
        "no-time": "No time for it",
        None: "Not looked at",
    }
)
_LEANINGS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "earlier": "These parts read earlier than the claim",
        "later": "These parts read later than the claim",
        "within": "These parts speak for the claim",
    }
)
_DATES_IN_DOUBT: Final = frozenset({"dates-doubt", "two-against"})
_SHOWN_NEXT: Final = 3


# The claim


def tell_width(case: Case) -> Iterator[Sentence]:
    """Tell how wide the claim could be and fit about as well: half as well, at the least."""
    if case.verdict.equally == case.verdict.window:
        yield from _told_alone(case)
        return
    first, last = map(month_words, case.verdict.equally)
    better = r9(case.verdict.ratio_to_best) < RULES.equally  # some month fits twice as well
    if case.verdict.verdict.startswith("agrees"):
        well = "about as well or better" if better else "about as well"
        text = f"It agrees with the claim, and {well} with any time from {first} to {last}."
    else:
        more = ", or better" if better else ""
        text = f"Any time from {first} to {last} would fit about as well as the claim{more}."
    yield Sentence("width", text)


def _told_alone(case: Case) -> Iterator[Sentence]:
    """Tell that the months beside the claim fit far worse, where the reference covers any."""
    (first, last), covers = case.verdict.window, case.model.reference.covers
    before, after = covers[0] < first, last < covers[1]
    if before and after:
        months = "The month before the claim and the month after it fit"
    elif before or after:
        months = f"The month {'before' if before else 'after'} the claim fits"
    else:
        return
    yield Sentence("width", f"{months} less than half as well as its best month.")


def tell_claim(case: Case) -> Iterator[Sentence]:
    """Tell what speaks against "nothing changed", where that is claimed."""
    if not case.sheet.nothing_changed:
        return
    against = {
        "change declared": case.verdict.declared,
        "probably not the first part": flagged(case),
        "does not fit": case.verdict.odd,
        "change seen": with_signs(case),
    }
    points = tuple(p for some in against.values() for p in some)
    said = [f"{words}: {case.names(some)}" for words, some in against.items() if some]
    if case.verdict.apart:
        said.append(_stands_apart(case))
    found = f"Against that: {'; '.join(said)}." if said else _nothing_against(case)
    yield Sentence("claim", f"Nothing changed is claimed. {found}{_of_the_months(case)}", points)


def _nothing_against(case: Case) -> str:
    left = len(case.witnesses) - len(case.seen)
    rest = f"{number(left)} {'was' if left == 1 else 'were'} not" if left else "all were"
    return f"No sign of change seen at the points looked at; {rest} looked at."


def _stands_apart(case: Case) -> str:
    verb = "stands" if len(case.verdict.apart) == 1 else "stand"
    return f"{listed([f'the {assembly}' for assembly in case.verdict.apart])} {verb} apart"


def _of_the_months(case: Case) -> str:
    """Return what keeps a line without changes from reassuring: the months may not hold."""
    if case.verdict.verdict == "disagrees":
        return " What was seen does not fit the months claimed."
    if _DATES_IN_DOUBT.intersection(case.verdict.because):
        return " What was seen fits another time better than the months claimed."
    return ""


def tell_best(case: Case) -> Iterator[Sentence]:
    """Tell which months fit best where the claim does not, and what would be found there."""
    best = case.verdict.best_window
    if not case.far or best.window == case.verdict.window:
        return
    there = "every part would fit"
    if best.flagged:
        there = f"probably not the first part there: {case.names(best.flagged)}"
    yield Sentence(
        "best",
        f"Of all claims of this length, {run_words(*best.window)} fits best; {there}.",
        best.flagged,
    )


def tell_apart(case: Case) -> Iterator[Sentence]:
    """Tell which assemblies read as another time by themselves."""
    for assembly in case.verdict.apart:
        itself = reads(case.verdict.assemblies[assembly].reads_as)
        yield Sentence("apart", f"The {assembly} stands apart: by itself it reads as {itself}.")


# The parts


def flagged(case: Case) -> tuple[str, ...]:
    """Return the parts that the dates call changed and nobody declared."""
    return tuple(p for p in case.verdict.flagged if p not in case.verdict.declared)


def with_signs(case: Case) -> tuple[str, ...]:
    """Return the points where somebody saw a sign of change."""
    return tuple(
        point.id
        for point in case.model.reference.points
        if point.id in case.sheet.answers and _shows_change(case, point)
    )


def _shows_change(case: Case, point: Point) -> bool:
    answer = case.sheet.answers[point.id]
    if point.kind is not Kind.SIGN:
        return answer.state == "signs"
    ticked = [variant for variant in point.seen if variant.id in answer.seen]
    return any(v.silent or (v.odds is not None and v.odds > 1) for v in ticked)


def tell_found(case: Case) -> Iterator[Sentence]:
    """Tell what the dates say and what the eyes saw of change, on lines of their own."""
    changed, odd, signs = flagged(case), case.verdict.odd, with_signs(case)
    if changed and case.verdict.verdict == "disagrees":
        yield Sentence(
            "found", f"By the claim, probably not the first part: {case.names(changed)}.", changed
        )
    elif changed:
        yield Sentence("found", f"Probably not the first part: {case.names(changed)}.", changed)
    if odd:
        yield Sentence("found", f"Does not fit, look again: {case.names(odd)}.", odd)
    if signs:
        yield Sentence("found", f"Change seen: {_all_seen(case, signs)}.", signs)
    elif case.seen:
        beyond = " beyond what was declared" if case.verdict.declared else ""
        yield Sentence("found", f"No sign of change seen{beyond} at the points looked at.")


def _all_seen(case: Case, signs: tuple[str, ...]) -> str:
    return ", ".join(_sign_words(case, point_id) for point_id in signs)


def _sign_words(case: Case, point_id: str) -> str:
    """Return a sign with what was ticked, in the reference's words, and where."""
    point, answer = case.model.reference.by_id[point_id], case.sheet.answers[point_id]
    ticked = [v.label for v in point.seen if v.id in answer.seen and point.kind is Kind.SIGN]
    details = "; ".join([*ticked, *answer.where])
    return f"{case.name(point_id)} ({details})" if details else case.name(point_id)


def tell_count(case: Case) -> Iterator[Sentence]:
    """Tell how usual it is to find as many."""
    found, count = case.verdict.found, case.verdict.changed_count
    usual = round(count.usual)
    if found:
        many = number(len(found)).capitalize()
        text = f"{many} found; of genuine instruments of this age, {one_in(count.tail)} as many."
        yield Sentence("count", text, found)
    elif usual:
        many = f"{number(usual)} {'is' if usual == 1 else 'are'}"
        text = f"Nothing found, where on a genuine instrument of this age {many} usual."
        yield Sentence("count", text)


def tell_declared(case: Case) -> Iterator[Sentence]:
    """Tell what was declared: honesty is not punished."""
    declared = case.verdict.declared
    if declared:
        text = f"Change declared, and not held against it: {case.names(declared)}."
        yield Sentence("declared", text, declared)


def tell_border(case: Case) -> Iterator[Sentence]:
    """Tell which materials were declared or suspected; that is never told from a look."""
    points = tuple(
        point.id for point in case.model.reference.points if _names_material(case, point)
    )
    if points:
        text = f"Declared or suspected, not established: {_all_seen(case, points)}."
        yield Sentence("border", text, points)


def _names_material(case: Case, point: Point) -> bool:
    """Return whether an answer names a material that borders ask about, or one nobody listed."""
    answer = case.sheet.answers.get(point.id)
    if answer is None or not point.asks_material:
        return False
    return OTHER in answer.seen or any(v.border for v in point.seen if v.id in answer.seen)


def tell_leaning(case: Case) -> Iterator[Sentence]:
    """Tell which parts speak for earlier, later or the claim, and which say nothing any more."""
    for leaning, words in _LEANINGS.items():
        points = tuple(p for p, part in case.verdict.points.items() if part.leaning == leaning)
        if points:
            yield Sentence("leaning", f"{words}: {case.names(points)}.", points)
    muted = tuple(point.id for point in case.seen if point.id in case.silent)
    if muted:
        text = f"Say nothing any more, as work on them was disclosed or seen: {case.names(muted)}."
        yield Sentence("leaning", text, muted)


def tell_unseen(case: Case) -> Iterator[Sentence]:
    """Tell what was not looked at, by reason."""
    unseen = [point.id for point in case.witnesses if not case.looked(point)]
    for reason, words in _NOT_SEEN.items():
        points = tuple(p for p in unseen if _reason(case, p) == reason)
        if points:
            yield Sentence("unseen", f"{words}: {case.names(points)}.", points)
    open_ = [case.model.reference.by_id[sign] for sign in case.model.bears_on]
    open_ = [point for point in open_ if not case.looked(point)]
    signs = tuple(point.id for point in open_ if not point.asks_material)
    if signs:
        yield Sentence("unseen", f"Signs of change not looked for: {case.names(signs)}.", signs)
    asked = tuple(point.id for point in open_ if point.asks_material)
    if asked:
        yield Sentence("unseen", f"Materials not asked about: {case.names(asked)}.", asked)


def _reason(case: Case, point_id: str) -> str | None:
    answer = case.sheet.answers.get(point_id)
    return answer.not_seen if answer else None


def tell_next(case: Case) -> Iterator[Sentence]:
    """Tell the looks that would tell most for the time they take."""
    whole = case.verdict.window == case.model.reference.covers
    telling = [x for x in case.looks if r9(x.date_bits if whole else x.window_bits) > 0]
    points = tuple(look.point for look in telling[:_SHOWN_NEXT])
    if points:
        yield Sentence("next", f"Would tell most next: {case.names(points)}.", points)
