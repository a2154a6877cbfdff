"""How long learning takes and what it needs, from 100 to 10,000 documented instruments.

    python -m tests.bench.learn_bench [--rows 10000]

Invented instruments drawn by the demo's first reference; its 22 points and three of them again, some
a few months off, changed parts marked; table and points are read, learned and written as the
command does, each size in a process of its own, whose peak of memory is told. To reach, on two
cores: 10,000 in at most 20 s and 500 MB.
"""

import argparse
import json
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from quickcheck.desk import learn_from, read_examples, read_points
from tests.learn import made

ROOT = Path(__file__).parents[2]
SIZES = (100, 1_000, 10_000)
ANSWERS = 40  # as many as there are: all points are looked at
MOST_SECONDS, MOST_MEGABYTES = 20, 500


def main() -> None:
    """Learn at each size and print; the sizes are the only word of the command line."""
    options = _options()
    if options.folder:
        print(json.dumps(_measured(Path(options.folder))))
        return
    print(
        f"{'rows':>7}{'points':>8}{'read s':>9}{'learn s':>9}{'all s':>8}{'cpu s':>8}{'peak MB':>9}"
    )
    last: dict[str, float] = {}
    with TemporaryDirectory() as folder:
        for rows in sorted({*(s for s in SIZES if s < options.rows), options.rows}):
            _write(Path(folder), rows)
            last = _apart(folder)
            print(
                f"{rows:>7}{last['points']:>8}{last['read']:>9.2f}{last['learn']:>9.2f}"
                f"{last['read'] + last['learn']:>8.2f}{last['cpu']:>8.2f}{last['peak']:>9.0f}",
                flush=True,
            )
    seconds = last["read"] + last["learn"]
    _target(f"{options.rows} rows in at most {MOST_SECONDS} s", seconds <= MOST_SECONDS)
    _target(f"at most {MOST_MEGABYTES} MB", last["peak"] <= MOST_MEGABYTES)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--rows", type=int, default=SIZES[-1])
    parser.add_argument("--folder", help="measure what lies in this folder, in this process")
    return parser.parse_args()


def _write(folder: Path, rows: int) -> None:
    reference = made.poplin()
    instruments = made.drawn(reference, rows, seed=5, answers=ANSWERS)
    table = made.table_of(reference, instruments, doubt=3, again=made.AGAIN)
    (folder / "examples.csv").write_text(table)
    text = made.without_dates(made.POPLIN, again=made.AGAIN)
    named = "".join(line for line in text.splitlines(True) if "picture" not in line)
    (folder / "points.toml").write_text(named, encoding="utf-8")


def _apart(folder: str) -> dict[str, float]:
    words = [sys.executable, "-m", "tests.bench.learn_bench", "--folder", folder]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=True)
    found: dict[str, float] = json.loads(done.stdout)
    return found


def _measured(folder: Path) -> dict[str, float]:
    began = time.perf_counter()
    file = read_points(folder / "points.toml")
    table = read_examples(file.reference, folder / "examples.csv")
    read = time.perf_counter()
    lesson = learn_from(file, table, leave_out_faulty=False, tell=lambda _: None)
    learned = time.perf_counter()
    shown = sum(point.rows > 0 for point in lesson.learned.points)
    return {
        "points": shown,
        "read": read - began,
        "learn": learned - read,
        "cpu": time.process_time(),  # of both cores, starting included: what a busy machine can't hide
        "peak": _peak(),
    }


def _peak() -> float:
    """Return the most memory this process has held, in MB; nothing where the system won't say."""
    try:
        import resource  # noqa: PLC0415  # not on Windows
    except ImportError:
        return float("nan")
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1 << 20 if sys.platform == "darwin" else 1 << 10)


def _target(title: str, met: bool) -> None:
    print(f"{'met' if met else 'NOT MET':>8}  {title}")


if __name__ == "__main__":
    main()
