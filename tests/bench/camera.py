"""A phone's camera over a printed card: a pinhole, a lens, a hand and a JPEG, as far as numbers go.

No real phone is in it: the figures compare sizes and decoders, they promise nothing of a device.
"""

from dataclasses import dataclass
from random import Random
from typing import Final

import cv2
import numpy as np
import zxingcpp
from numpy.typing import NDArray

from quickcheck.card import QUIET, Symbol

Picture = NDArray[np.uint8]

WIDTH: Final = 1920  # pixels: the preview that readers of codes work on
HEIGHT: Final = 1080
VIEW: Final = 65.0  # degrees across
FOCAL: Final = WIDTH / 2 / np.tan(np.radians(VIEW / 2))  # pixels
PER_MODULE: Final = 8  # pixels of the print that is looked at
PAPER: Final = (85.6, 54.0)  # millimetres; the code stands at the left, words at the right
TILT: Final = 30.0  # degrees, about any axis
ROLL: Final = 20.0


@dataclass(frozen=True)
class Print:
    """A card on paper: its picture, pixels a millimetre, the middle of its code in pixels."""

    picture: Picture
    scale: float
    middle: tuple[float, float]


def printed(drawn: Symbol, module: float, dice: Random) -> Print:
    """Return a card with a code of that many millimetres a module, ink spread and lines of words."""
    scale = PER_MODULE / module
    side = (drawn.size + 2 * QUIET) * PER_MODULE
    width, height = (round(max(length * scale, side)) for length in PAPER)
    paper = np.full((height, width), 245, np.uint8)
    code = np.full((drawn.size + 2 * QUIET,) * 2, 245, np.uint8)
    code[QUIET:-QUIET, QUIET:-QUIET] = np.where(np.array(drawn.rows, bool), 20, 245)
    large = cv2.resize(code, (side, side), interpolation=cv2.INTER_NEAREST)
    spread = dice.choice([0, 1])  # pixels of the print by which ink runs
    if spread:
        large = cv2.erode(large, np.ones((2 * spread + 1,) * 2, np.uint8))
    top = (height - side) // 2
    paper[top : top + side, :side] = large
    for line in range(round(6 * scale), height - round(4 * scale), round(4 * scale)):
        start = (side + round(2 * scale), line)
        words = "".join(dice.choices("abcdefghij klmnop 0123456789", k=16))
        cv2.putText(paper, words, start, cv2.FONT_HERSHEY_SIMPLEX, 0.05 * scale, 30, 2, cv2.LINE_AA)
    return Print(paper, scale, (side / 2, height / 2))


def _turned(dice: Random) -> NDArray[np.float64]:
    """Return a rotation: rolled in the plane, then tilted about an axis in it (Rodrigues)."""
    roll = np.radians(dice.uniform(-ROLL, ROLL))
    axis, tilt = dice.uniform(0, 2 * np.pi), np.radians(dice.uniform(0, TILT))
    first, _ = cv2.Rodrigues(np.array([0.0, 0.0, roll]))
    then, _ = cv2.Rodrigues(tilt * np.array([np.cos(axis), np.sin(axis), 0.0]))
    turned: NDArray[np.float64] = then @ first
    return turned


def seen(paper: Print, distance: float, dice: Random) -> Picture:
    """Return one frame of a card from so many millimetres away.

    Pinhole projection of a plane, H = K [r1 r2 t] (Hartley and Zisserman, Multiple View Geometry,
    section 8.1), at twice the size and then averaged, so that nothing is sampled between pixels.
    """
    turn = _turned(dice)
    aside = np.array([dice.uniform(-10, 10), dice.uniform(-10, 10), distance])
    camera = np.array([[2 * FOCAL, 0, WIDTH], [0, 2 * FOCAL, HEIGHT], [0, 0, 1]])
    to_mm = np.array(
        [
            [1 / paper.scale, 0, -paper.middle[0] / paper.scale],
            [0, 1 / paper.scale, -paper.middle[1] / paper.scale],
            [0, 0, 1],
        ]
    )
    plane = camera @ np.column_stack([turn[:, 0], turn[:, 1], aside]) @ to_mm
    desk = dice.uniform(60, 140)
    large = cv2.warpPerspective(
        paper.picture, plane, (2 * WIDTH, 2 * HEIGHT), flags=cv2.INTER_LINEAR, borderValue=desk
    )
    frame = cv2.resize(large, (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA).astype(np.float64)
    return _through_the_lens(frame, dice)


def _through_the_lens(frame: NDArray[np.float64], dice: Random) -> Picture:
    """Return what light, focus, hand, sensor and compression make of a frame."""
    across = np.linspace(1.0, dice.uniform(0.45, 1.0), WIDTH)  # light from one side
    frame = frame * (across if dice.random() < 0.5 else across[::-1])
    frame = cv2.GaussianBlur(frame, (0, 0), dice.uniform(0.4, 1.4))
    if dice.random() < 0.35:
        length = dice.randint(2, 3)
        smear = np.zeros((length, length))
        np.fill_diagonal(smear, 1 / length)
        frame = cv2.filter2D(frame, -1, smear if dice.random() < 0.5 else np.fliplr(smear))
    grain = np.random.default_rng(dice.getrandbits(32))
    frame = frame + grain.normal(0, dice.uniform(3, 9), frame.shape)
    quality = [cv2.IMWRITE_JPEG_QUALITY, dice.randint(55, 90)]
    _, packed = cv2.imencode(".jpg", np.clip(frame, 0, 255).astype(np.uint8), quality)
    taken: Picture = cv2.imdecode(packed, cv2.IMREAD_GRAYSCALE)
    return taken


def by_zxing(frame: Picture) -> str:
    """Return what zxing-cpp reads in a frame, "" if nothing."""
    found = zxingcpp.read_barcodes(frame, formats=zxingcpp.BarcodeFormat.QRCode)
    return found[0].text if found else ""


def by_opencv(frame: Picture) -> str:
    """Return what OpenCV's own decoder reads, given the part of the frame where a card would be."""
    half = 420
    middle = frame[HEIGHT // 2 - half : HEIGHT // 2 + half, WIDTH // 2 - half : WIDTH // 2 + half]
    try:
        text, *_ = cv2.QRCodeDetector().detectAndDecode(middle)
    except cv2.error:
        return ""  # some frames are too much for it
    return str(text)


DECODERS: Final = {"zxing-cpp": by_zxing, "OpenCV": by_opencv}


def read(
    drawn: Symbol, module: float, distance: float, frames: int, seed: str
) -> dict[str, list[str]]:
    """Return what each decoder reads in so many frames of prints of one code."""
    dice = Random(seed)  # no secret
    found: dict[str, list[str]] = {name: [] for name in DECODERS}
    for _ in range(frames):
        frame = seen(printed(drawn, module, dice), distance, dice)
        for name, decode in DECODERS.items():
            found[name].append(decode(frame))
    return found
