"""The decoder that we bring, without a browser: cards as a webcam sees them, at every distance."""

import json
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

import cv2
import pytest

from quickcheck import paths
from quickcheck.card import QUIET, card_url, symbol
from tests.browser.watching import Frame, code_picture, hall, held_up

DECODER = paths.STATIC / "vendor/qr-0.7.0/decode.mjs"
SIZES = (75, 100, 130)  # bytes of unsealed cards of a few answers, of twenty, of a long reference


@dataclass(frozen=True)
class Seen:
    """A card in front of a camera."""

    text: str
    frame: Frame


def card(size: int, seed: int) -> str:
    """Return the address of a card of so many bytes."""
    return card_url("https://cards.example.com", Random(seed).randbytes(size))


def seen(text: str, module: float, seed: int) -> Seen:
    """Hold a card's code up so that a module of it is so many pixels wide."""
    wide = round(module * (symbol(text).size + 2 * QUIET))
    frame = held_up(code_picture(text), wide=wide, tilt=(0.0, 8.0, 15.0, 22.0)[seed % 4], seed=seed)
    return Seen(text, frame)


def decode(frames: Sequence[Frame], folder: Path) -> list[tuple[str | None, float]]:
    """Return the text that the decoder finds in each frame, and its milliseconds."""
    node = shutil.which("node")
    assert node, "Node is missing: install Node 20 or newer"
    files = [folder / f"{number}.grey" for number in range(len(frames))]
    for file, frame in zip(files, frames, strict=True):
        file.write_bytes(cv2.cvtColor(frame, cv2.COLOR_RGB2GRAY).tobytes())
    script = Path(__file__).with_name("decoder.mjs")
    words = [node, str(script), DECODER.as_uri(), *map(str, files)]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    return [(text, took) for text, took in json.loads(done.stdout)]


@pytest.mark.parametrize("size", SIZES)
def test_at_arms_length(tmp_path: Path, size: int) -> None:
    """At five pixels a module and more, tilted and noisy, of eight frames at least seven are read."""
    shown = [seen(card(size, seed), (5, 6, 7, 8)[seed // 2], seed) for seed in range(8)]
    found = decode([each.frame for each in shown], tmp_path)
    right = [text == each.text for (text, _), each in zip(found, shown, strict=True)]
    assert sum(right) >= 7, right


def test_nothing_is_made_up(tmp_path: Path) -> None:
    """Too far off, out of the picture or without a phone, there is the right text or none."""
    shown = [seen(card(100, seed), 1 + seed / 4, seed) for seed in range(12)]
    close = [seen(card(100, 1), 30, 1), Seen("", hall(3))]
    found = decode([each.frame for each in shown + close], tmp_path)
    texts = [text for text, _ in found]
    assert {text for text, each in zip(texts, shown, strict=False) if text != each.text} == {None}
    assert texts[-2:] == [None, None]
