"""How often one frame of a webcam is enough for a station: ``python -m tests.bench.scan_bench``.

Codes of unsealed cards on a phone that is held up, by how many pixels wide a module is; read by the
decoder that stations bring and by zxing-cpp, which shows what there is to be read. No real camera.
"""

import tempfile
from pathlib import Path
from statistics import mean
from typing import Final

import zxingcpp

from tests.browser.test_decoder import SIZES, card, decode, seen

MODULES: Final = (3.0, 3.5, 4.0, 5.0, 6.0, 8.0)  # pixels
FRAMES: Final = 12  # of each card at each distance


def main() -> None:
    """Hold up, count and print."""
    print(f"{FRAMES * len(SIZES)} frames of 1280 × 720 a line, tilt to 22°, versions 6 to 9\n")
    print("pixels a module   ours read   zxing-cpp   ours, ms   ours, worst")
    wrong = 0
    for module in MODULES:
        shown = [seen(card(s, seed), module, seed) for s in SIZES for seed in range(FRAMES)]
        with tempfile.TemporaryDirectory() as folder:
            found = decode([each.frame for each in shown], Path(folder))
        ours = [text == each.text for (text, _), each in zip(found, shown, strict=True)]
        wrong += sum(text is not None for text, _ in found) - sum(ours)
        theirs = [[c.text for c in zxingcpp.read_barcodes(e.frame)] == [e.text] for e in shown]
        took = [each for _, each in found]
        print(
            f"{module:15g}{mean(ours):12.0%}{mean(theirs):12.0%}{mean(took):11.0f}{max(took):14.0f}"
        )
    print(f"\nread as something else: {wrong}")


if __name__ == "__main__":
    main()
