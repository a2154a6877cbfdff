"""What was learned, for people: one page of HTML that needs nothing else, light, dark and printed.

A bad coverage is told first and in words; it can't be turned off.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

import numpy as np

from quickcheck.errors import Fault
from quickcheck.learn.pictures import picture
from quickcheck.learn.records import ChangeOver, Check, Example, Learned, LearnedPoint, Method, Rate
from quickcheck.learn.sightings import sightings_of
from quickcheck.readings import month_words, run_words
from quickcheck.reference import Reference

METHOD_WORDS: Final = {
    Method.SUCCESSION: "one after the other",
    Method.OVERLAP: "side by side",
    Method.LINE: "a line through the months",
    Method.SMOOTHED: "smoothed over the months",
    Method.KEPT: "kept as it was",
}
_STYLE: Final = """
:root{color-scheme:light dark;--ground:#f5f1e8;--ink:#1b1916;--quiet:#5c564c;--hair:#cfc7b6;
--edge:#857d6e;--accent:#1f4a63;--wash:#dbe4e6;--warn:#7a3a10}
@media(prefers-color-scheme:dark){:root{--ground:#15130f;--ink:#f1ebdf;--quiet:#b3aa9a;
--hair:#403a31;--edge:#82796a;--accent:#9cc7dd;--wash:#22343d;--warn:#f0b98a}}
@media print{:root{--ground:#fff;--ink:#000;--quiet:#333;--hair:#bbb;--edge:#666;--accent:#000;
--wash:#e6e6e6;--warn:#000}}
body{margin:0 auto;padding:1rem;max-width:46rem;background:var(--ground);color:var(--ink);
font:1rem/1.5 system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans",sans-serif}
h1,h2,h3{font-family:"Iowan Old Style",Palatino,"URW Palladio L",Georgia,serif;line-height:1.2}
h1{font-size:1.6rem}h2{font-size:1.3rem;margin-top:2rem}h3{margin:1.8rem 0 .2rem}
p{margin:.4rem 0}.quiet{color:var(--quiet)}.bad{color:var(--warn);font-weight:600}
table{border-collapse:collapse;max-width:100%}
th,td{padding:.25rem .8rem .25rem 0;text-align:left;vertical-align:top;overflow-wrap:anywhere}
thead th{font-weight:400;color:var(--quiet);overflow-wrap:normal}b,span.quiet{display:block}
@media(max-width:30rem){th,td{padding-right:.5rem}}
td.n,th.n{text-align:right;font-variant-numeric:tabular-nums}
section{break-inside:avoid}.picture{display:block;fill:none;stroke:none;margin:.4rem 0}
.picture text{fill:var(--quiet);font:.875rem system-ui,sans-serif}
.picture path{vector-effect:non-scaling-stroke}
.axis{stroke:var(--edge);stroke-width:.8}.base{stroke:var(--hair);stroke-width:.8}
.band{fill:var(--wash)}.middle{stroke:var(--accent);stroke-dasharray:4 3}
.share{stroke:var(--accent);stroke-width:1.8}.seen{stroke:var(--ink);stroke-width:1}
.dot{stroke:var(--ink);stroke-width:2.4;stroke-linecap:round;opacity:.5}
"""


@dataclass(frozen=True, slots=True)
class Story:
    """All that a report is about."""

    reference: Reference  # as it was written
    learned: Learned
    examples: Sequence[Example]
    left_out: Sequence[Fault] = ()
    rows_left_out: int = 0


def report(story: Story) -> str:
    """Return the page."""
    title, body = escape(f"What was learned: {story.reference.title}"), told(story)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{title}</title><style>{_STYLE}</style></head>\n"
        f"<body><h1>{title}</h1>\n{body}\n</body></html>\n"
    )


def told(story: Story) -> str:
    """Return what stands under the page's title, to be shown in a page of another kind."""
    return "\n".join((*_summary(story), *_faults(story), *_points(story)))


def check_words(check: Check | None, rows: int) -> list[str]:
    """Return what leaving out has shown, in sentences; the first is the one that matters."""
    if check is None:
        return [f"With {rows} examples nothing can be left out to see how well dating goes."]
    nine = check.coverage[90]
    held = f"The 90 % intervals hold {nine:.0%} of the documented months"
    verdict = f"{held}: fewer than they say. Dates by this reference are surer than they should be."
    how = (
        "each example dated by what all others teach"
        if check.alone
        else f"examples dealt into {check.parts} parts, each dated by what the other parts teach"
    )
    return [
        verdict if check.is_bad else f"{held}.",
        f"The middle of the posterior is {check.mean_error:.1f} months off on average.",
        f"{check.dated} of {rows} examples were dated ({how}).",
    ]


def _summary(story: Story) -> Iterator[str]:
    learned, check = story.learned, story.learned.check
    covered = run_words(*story.reference.covers)
    yield f"<p>{learned.rows} documented instruments, {covered}.</p>"
    first, *rest = check_words(check, learned.rows)
    bad = ' class="bad"' if check and check.is_bad else ""
    yield f"<p{bad}>{escape(first)}</p>"
    yield f"<p>{escape(' '.join(rest))}</p>" if rest else ""
    if check:
        yield '<table><thead><tr><th>intervals of</th><th class="n">hold</th></tr></thead><tbody>'
        for level, share in check.coverage.items():
            yield f'<tr><td>{level} %</td><td class="n">{share:.1%}</td></tr>'
        yield "</tbody></table>"
        yield (
            f'<p class="quiet">Half of the 90 % intervals are narrower than {check.width:.0f} '
            f"months; mean logarithmic score {check.log_score:.2f}.</p>".replace(" -", " −")
        )
    yield f"<p>{escape(kappa_words(learned, story.reference))}</p>"
    for name, rate in learned.sets.items():
        yield f"<p>Set {escape(name)}, all changed in one go: {_rate(rate)}.</p>"


def kappa_words(learned: Learned, reference: Reference) -> str:
    """Return what κ is and where it comes from."""
    if learned.kappa is not None:
        return (
            f"How far these points stand for separate evidence (kappa): {learned.kappa:g}, the value "
            "under which the examples left out are dated best."
        )
    own = "the file's own" if reference.kappa else "the engine's own"
    return (
        f"Too few examples to learn how far the points stand for separate evidence: {own} stands."
    )


def _faults(story: Story) -> Iterator[str]:
    if story.left_out:
        yield f"<h2>Left out: {story.rows_left_out} rows with faults</h2><ul>"
        yield from (f"<li>{escape(str(fault))}</li>" for fault in story.left_out)
        yield "</ul>"


def _points(story: Story) -> Iterator[str]:
    yield "<h2>Points</h2>"
    seen = sightings_of(story.reference, story.examples)
    middles = np.array([example.middle for example in story.examples])
    for learned in story.learned.points:
        point = story.reference.by_id[learned.id]
        yield f"<section><h3>{escape(point.name)}</h3>"
        how = f"{learned.rows} examples; {METHOD_WORDS[learned.method]}"
        yield f'<p class="quiet">{escape("; ".join((how, *learned.remarks)))}.</p>'
        yield from _rates(learned)
        yield picture(story.reference, learned, seen[learned.id], middles=middles)
        if learned.change_overs:
            yield from _change_overs(learned)
        yield "</section>"


def _rates(learned: LearnedPoint) -> Iterator[str]:
    said = []
    if learned.changed:
        said.append(f"changed on {_rate(learned.changed)}")
    if learned.other and learned.other.counted:
        said.append(f"none of these on {_rate(learned.other)}")
    if said:
        yield f"<p>{'; '.join(said).capitalize()}.</p>"


def _rate(rate: Rate) -> str:
    return f"{rate.counted} of {rate.of}, taken as {rate.rate:.1%}"


def _change_overs(learned: LearnedPoint) -> Iterator[str]:
    yield (
        "<table><thead><tr><th>change-over</th><th>month, and 90 % range</th>"
        '<th class="n">examples before</th><th class="n">after</th></tr></thead><tbody>'
    )
    for change in learned.change_overs:
        yield (
            f"<tr><td>{escape(change.old)} → {escape(change.new)}</td>"
            f"<td><b>{month_words(int(change.middle))}</b> "
            f'<span class="quiet">{range_words(change)}</span></td>'
            f'<td class="n">{change.before}</td><td class="n">{change.after}</td></tr>'
        )
    yield "</tbody></table>"


def range_words(change: ChangeOver) -> str:
    """Return the 90 % range of a change-over."""
    return f"{month_words(int(change.low))} to {month_words(int(change.high))}"
