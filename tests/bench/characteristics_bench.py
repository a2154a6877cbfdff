"""How often the verdict is right, by simulation from a demo reference.

    python -m tests.bench.characteristics_bench [--count 1600] [--answers 14] …

Prints, for instruments drawn as the engine assumes and for others that break its assumptions, the
share of each verdict on true claims and on claims two years off, how good the flags are, and
whether intervals and counts keep what they promise. QUICKCHECK_FULL=1 draws ten times as many.
"""

import argparse
import os
import statistics
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from multiprocessing import get_context
from pathlib import Path

from quickcheck.reference import read_reference
from tests.engine import characteristics as shares
from tests.engine.simulate import AS_ASSUMED, BROKEN, MARRIED, Finding, Maker, Outcome, outcomes

ROOT = Path(__file__).parents[2]
REFERENCES = ROOT / "demo/references"
MAKERS = (AS_ASSUMED, MARRIED, BROKEN)
BATCH = 200  # instruments with a seed of their own, so that the number of processes changes nothing
COUNT = 16_000 if os.environ.get("QUICKCHECK_FULL") else 1_600

TARGETS = (
    ("true claim, does not agree", "≤", 0.01, shares.genuine, ("disagrees",)),
    ("true claim, in doubt", "≤", 0.08, shares.genuine, ("in-doubt",)),
    ("two years off, caught", "≥", 0.90, shares.two_years_off, shares.CAUGHT),
)


def main() -> None:
    """Draw, judge and print."""
    options = _options()
    began = time.perf_counter()
    print(f"{options.reference}: {options.count} instruments of each maker")
    print(f"{options.answers} answers each, {options.unsure:.0%} of them unsure\n")
    for number, maker in enumerate(MAKERS):
        _report(maker, _drawn(maker, number, options))
    print(f"{time.perf_counter() - began:.0f} s")


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--count", type=int, default=COUNT, help="instruments of each maker")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--answers", type=int, default=14)
    parser.add_argument("--unsure", type=float, default=0.15, help="share of unsure answers")
    parser.add_argument("--reference", default="hobbinsley-poplin", help="one of the demo's")
    parser.add_argument("--jobs", type=int, default=2, help="processes")
    return parser.parse_args()


def _drawn(maker: Maker, number: int, options: argparse.Namespace) -> list[Outcome]:
    batch = partial(_batch, maker=maker, number=number, options=options)
    starts = range(0, options.count, BATCH)
    if options.jobs == 1:
        return [outcome for start in starts for outcome in batch(start)]
    with ProcessPoolExecutor(options.jobs, mp_context=get_context("spawn")) as pool:
        return [outcome for part in pool.map(batch, starts) for outcome in part]


def _batch(start: int, *, maker: Maker, number: int, options: argparse.Namespace) -> list[Outcome]:
    reference = read_reference(REFERENCES / options.reference)
    maker = replace(maker, answers=options.answers, unsure=options.unsure)
    count = min(BATCH, options.count - start)
    return outcomes(reference, maker, count=count, seed=(options.seed, number, start))


# Printing


def _report(maker: Maker, judged: Sequence[Outcome]) -> None:
    alone = [o for o in judged if not o.married]
    married = [o for o in judged if o.married]
    columns = (judged, alone, married)
    print(f"== {maker.name}: {maker.describe()}")
    _line("", [f"all ({len(judged)})", f"own neck ({len(alone)})", f"other neck ({len(married)})"])
    for title, claims in (
        ("true claim, 6 months", shares.genuine),
        ("true claim, 12 months", shares.genuine_wide),
        ("two years off, 6 months", shares.two_years_off),
    ):
        print(title)
        rows = zip(*(shares.verdicts(column, claims) for column in columns), strict=True)
        for verdict, row in zip(shares.VERDICTS, rows, strict=True):
            _line(f"  {verdict}", row)
    print("parts, under the true claim of 6 months")
    for title, share in (
        ("flagged: truly changed", shares.flagged_changed),
        ("flagged: changed or misread", shares.flagged_changed_or_misread),
        ("changed: flagged", shares.changed_flagged),
        ("changed into what was not fitted: flagged", shares.gone_flagged),
    ):
        _line(f"  {title}", [share(column) for column in columns])
    print("promises kept")
    _line("  reads_as holds the true month (90%)", [shares.covered(column) for column in columns])
    for tail in (0.01, 0.05, 0.2):
        _line(f"  found and tail < {tail:g}", [shares.rare(column, tail) for column in columns])
    _counts(judged)
    _targets(judged)


def _line(title: str, cells: Sequence[object]) -> None:
    print(f"{title:<44}" + "".join(f"{cell!s:>18}" for cell in cells))


def _counts(judged: Sequence[Outcome]) -> None:
    found = statistics.fmean(o.found for o in judged)
    usual = statistics.fmean(o.usual for o in judged)
    width = statistics.median(o.width for o in judged)
    flags = sum(len(o.flagged) for o in judged)
    said = sum(o.said for o in judged) / max(1, flags)
    print(f"  a flag says {said:.0%} on average; truly changed {shares.flagged_changed(judged)}")
    print(f"  found {found:.2f} on average, usual {usual:.2f}; reads_as {width:g} months (median)")
    _why("true claim in doubt or worse", [o.genuine for o in judged], shares.CAUGHT)
    off = [finding for o in judged for finding in o.off]
    _why("two years off, too little seen", off, ("too-little-seen",))
    _why("two years off, missed", off, ("agrees", "agrees-with-changes"))


def _why(title: str, findings: Sequence[Finding], among: tuple[str, ...]) -> None:
    counted = shares.reasons(f for f in findings if f.verdict in among)
    told = ", ".join(f"{reason} {n / len(findings):.1%}" for reason, n in counted.most_common())
    print(f"  {title}, why: {told or 'none'}")


def _targets(judged: Sequence[Outcome]) -> None:
    for title, sense, bound, claims, among in TARGETS:
        _target(f"{title} {sense} {bound:.0%}", shares.caught(judged, claims, among), sense, bound)
    _target("flagged: truly changed ≥ 80%", shares.flagged_changed(judged), "≥", 0.80)
    print()


def _target(title: str, share: shares.Share, sense: str, bound: float) -> None:
    met = share.value <= bound if sense == "≤" else share.value >= bound
    print(f"{'met' if met else 'NOT MET':>8}  {title:<40} {share}")


if __name__ == "__main__":
    main()
