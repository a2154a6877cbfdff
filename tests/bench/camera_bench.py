"""How often one frame of a phone is enough to read a card: ``python -m tests.bench.camera_bench``.

Sealed cards of 15, 20 and 25 points at the size that they are printed at, in the camera of
`tests.bench.camera`, from 25, 30 and 35 cm. Says how often each decoder reads the address, with the
95 % interval of Wilson (1927), and whether any read something else.
"""

import argparse
import os
import platform
from importlib.metadata import version
from math import sqrt
from typing import Final

import cv2

from quickcheck.card import MODULE_MM, card_url, symbol
from tests.bench.camera import DECODERS, HEIGHT, TILT, VIEW, WIDTH, read
from tests.bench.card_bench import BASE, sealed

DISTANCES: Final = (250, 300, 350)  # millimetres
TARGETS: Final = {250: 0.95, 350: 0.75}  # for zxing-cpp
SERIAL: Final = "A12345678"


def wilson(hits: int, of: int) -> tuple[float, float]:
    """Return the interval that holds the true rate in 95 of 100 cases."""
    z, rate = 1.96, hits / of
    middle = (rate + z * z / (2 * of)) / (1 + z * z / of)
    half = z * sqrt(rate * (1 - rate) / of + z * z / (4 * of * of)) / (1 + z * z / of)
    return max(0.0, middle - half), min(1.0, middle + half)


def main() -> None:
    """Look, count and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--frames", type=int, default=100, help="for each card and distance")
    frames = parser.parse_args().frames
    print(
        f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores; zxing-cpp"
        f" {version('zxing-cpp')}, OpenCV {cv2.__version__}\n"
        f"a pinhole of {WIDTH} × {HEIGHT} pixels and {VIEW:g}°, tilt to {TILT:g}°, {MODULE_MM} mm a"
        f" module, one frame each; no real phone\n"
    )
    wrong = 0
    for distance in DISTANCES:
        hits = dict.fromkeys(DECODERS, 0)
        for points in (15, 20, 25):
            text = card_url(BASE, sealed(points, SERIAL))
            drawn = symbol(text)
            for name, texts in read(
                drawn, MODULE_MM, distance, frames, f"{points} {distance}"
            ).items():
                hits[name] += texts.count(text)
                wrong += sum(found not in ("", text) for found in texts)
        for name, count in hits.items():
            low, high = wilson(count, 3 * frames)
            rate = count / (3 * frames)
            wanted = TARGETS.get(distance) if name == "zxing-cpp" else None
            verdict = (
                ""
                if wanted is None
                else f"  target {wanted:.0%}: {'met' if rate >= wanted else 'MISSED'}"
            )
            print(
                f"{distance / 10:g} cm  {name:10s} {rate:6.1%} of {3 * frames}  ({low:.1%} to {high:.1%}){verdict}"
            )
    print(f"\nread something else: {wrong}  target 0: {'met' if wrong == 0 else 'MISSED'}")


if __name__ == "__main__":
    main()
