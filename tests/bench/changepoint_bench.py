"""Whether the 90 % ranges of change-overs hold what they promise, by simulation.

    python -m tests.bench.changepoint_bench [--runs 3000]

Prints cover, bias, mean error and median width in months by number of instruments, beside the
figures of a simulation that was made before this code was written. To reach: 88–95 % in its
setting. QUICKCHECK_FULL=1 draws 20,000 runs.
"""

import argparse
import os
from math import sqrt

from tests.learn.changepoints import (
    ANYWHERE,
    CLEAN,
    DOUBTED,
    PUBLISHED,
    SIZES,
    SOFT,
    WORST,
    calibration,
    result,
)

_RUNS = 20_000 if os.environ.get("QUICKCHECK_FULL") else 3_000
_HELD = (0.88, 0.95)


def main() -> None:
    """Draw, learn and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--runs", type=int, default=_RUNS)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    for setting in (SOFT, ANYWHERE, CLEAN, WORST, DOUBTED):
        print(f"== {setting.name}; {options.runs} runs")
        print(f"{'n':>5}{'cover':>8}{'±':>6}{'bias':>7}{'error':>7}{'width':>7}   before: c/e/w")
        for count in SIZES:
            found = result(setting, count, options.runs, seed=options.seed)
            error = sqrt(found.held * (1 - found.held) / found.runs)
            before = "/".join(map(str, PUBLISHED[count])) if setting is SOFT else ""
            print(
                f"{count:>5}{100 * found.held:>8.1f}{100 * error:>6.1f}{found.bias:>7.1f}"
                f"{found.error:>7.1f}{found.width:>7.0f}   {before}",
                flush=True,
            )
            if setting is SOFT:
                met = _HELD[0] <= found.held <= _HELD[1]
                print(f"{'met' if met else 'NOT MET':>8}  88–95 % held")
        print()
    print(f"== everything drawn as the learning takes it to be; {options.runs} runs")
    for count in SIZES:
        held = calibration(count, options.runs, seed=options.seed)
        error = sqrt(held * (1 - held) / options.runs)
        print(f"{count:>5}{100 * held:>8.1f}{100 * error:>6.1f}   90 if the arithmetic is right")


if __name__ == "__main__":
    main()
