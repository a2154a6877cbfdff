"""A card as a picture to pass on: 1240 × 874, black on white, as large as an A6 print at 212 dpi.

The fonts come with the program, so that it looks the same on every machine.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

from PIL import Image, ImageDraw, ImageFont

from quickcheck.card import INTERESTS, QUIET, STANDING, CardHead, SealState, seal_words, symbol
from quickcheck.desk import ShownCard
from quickcheck.engine import VERDICT_WORDS
from quickcheck.readings import run_words
from quickcheck.reference.border import SHORT
from quickcheck.web.words import SEAL_TITLES, mark_words

WIDTH: Final = 1240
HEIGHT: Final = 874
_EDGE: Final = 56
_GAP: Final = 44
_INK: Final = 0
_QUIET_INK: Final = 0x44
_SYMBOL: Final = 600
"""Pixels that the code may take with its quiet zone; a module is a whole number of them."""
_FONTS: Final = Path(__file__).resolve().parent / "fonts"
_SERIF: Final = "NotoSerif-Bold-subset.ttf"
_SANS: Final = "NotoSans-Regular-subset.ttf"


@dataclass(frozen=True, slots=True)
class _Line:
    """Words in one size; broken where the column ends, cut after ``most`` lines."""

    text: str
    font: str
    size: int
    ink: int = _INK
    before: int = 0  # pixels above it
    most: int = 2


@lru_cache(maxsize=32)
def _font(name: str, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(_FONTS / name, size)


def draw(shown: ShownCard, url: str) -> Image.Image:
    """Return the picture of a card that may be passed on (`ShownCard.front` is there)."""
    if shown.front is None:
        raise ValueError("nothing of this card is passed on")
    image = Image.new("L", (WIDTH, HEIGHT), 255)
    pen = ImageDraw.Draw(image)
    left, lower = _draw_code(image, url)
    beside = _write(pen, _column(shown, shown.front), width=left - _EDGE - _GAP)
    top = max(lower, beside) + 14
    pen.line([(_EDGE, top), (WIDTH - _EDGE, top)], fill=_INK, width=3)
    seal = _Line(_seal_line(shown), _SANS, 29, most=3)
    lines = [seal, _Line(_small_print(shown, shown.front, url), _SANS, 24, _QUIET_INK, 10, most=3)]
    _write(pen, lines, width=WIDTH - 2 * _EDGE, top=top + 14)
    return image


def _draw_code(image: Image.Image, url: str) -> tuple[int, int]:
    """Draw the code at the upper right; return its left edge and its lower one, quiet zone and all."""
    drawn = symbol(url)
    side = drawn.size + 2 * QUIET
    module = _SYMBOL // side
    picture = Image.new("L", (side, side), 255)
    for y, row in enumerate(drawn.rows):
        for x, dark in enumerate(row):
            if dark:
                picture.putpixel((x + QUIET, y + QUIET), 0)
    large = picture.resize((side * module, side * module), Image.Resampling.NEAREST)
    left, top = WIDTH - _EDGE + QUIET * module - large.width, _EDGE - QUIET * module
    image.paste(large, (left, top))
    return left, top + large.height


def _column(shown: ShownCard, front: CardHead) -> Iterator[_Line]:
    """Yield what stands beside the code."""
    yield _Line(_title(shown), _SANS, 27, _QUIET_INK)
    yield _Line(_heading(shown, front), _SERIF, 46, before=2)
    yield _Line(_finding(shown, front), _SANS, 29, before=10, most=6)
    yield _Line(front.serial_text or "No serial", _SERIF, 54, before=18, most=1)
    for mark in front.marks:
        yield _Line(mark_words(mark), _SANS, 29, before=2)
    yield _Line("Match these with the instrument in your hands.", _SANS, 24, _QUIET_INK, 8)


def _title(shown: ShownCard) -> str:
    return shown.judged.reference.title if shown.judged else "Edition not at hand"


def _heading(shown: ShownCard, front: CardHead) -> str:
    """Return the verdict, or in its place why this card is none to rely on."""
    state = shown.seal.state
    if state is SealState.UNSEALED and shown.judged:
        return VERDICT_WORDS[shown.judged.verdict.verdict]
    return VERDICT_WORDS[front.verdict] if state in STANDING else SEAL_TITLES[state]


def _finding(shown: ShownCard, front: CardHead) -> str:
    """Return claim and finding in a line: the whole sentence, or what the front alone says."""
    if shown.judged and (shown.seal.state is SealState.UNSEALED or not shown.differs):
        return shown.judged.said("finding")[0].text
    claimed, reads_as = run_words(*front.claimed), run_words(*front.reads_as)
    return f"Claimed {claimed}. When issued, what was seen read as {reads_as}."


def _seal_line(shown: ShownCard) -> str:
    return f"{SEAL_TITLES[shown.seal.state]}. {seal_words(shown.seal)}"


def _small_print(shown: ShownCard, front: CardHead, url: str) -> str:
    named = shown.judged is not None and bool(shown.judged.said("border"))
    parts = (
        SHORT if named else "",
        f"{INTERESTS[front.interest]}. No authentication, appraisal or guarantee.",
        f"The code leads to {urlsplit(url).netloc}.",
    )
    return " ".join(filter(None, parts))


def _write(
    pen: ImageDraw.ImageDraw, lines: Iterator[_Line] | list[_Line], *, width: int, top: int = _EDGE
) -> int:
    """Write lines one below the other, each broken to the width; return where they end."""
    y = float(top)
    for line in lines:
        font = _font(line.font, line.size)
        y += line.before
        for words in _broken(line, font, width):
            pen.text((_EDGE, y), words, font=font, fill=line.ink)
            y += line.size * 1.28
    return round(y)


def _broken(line: _Line, font: ImageFont.FreeTypeFont, width: int) -> list[str]:
    """Return a line's words in as many rows as they need, the last one cut where there are more."""
    rows = [""]
    for word in line.text.split():
        longer = f"{rows[-1]} {word}".strip()
        if rows[-1] and font.getlength(longer) > width:
            rows.append(word)
        else:
            rows[-1] = longer
    if len(rows) > line.most:
        rows[line.most - 1] += " …"
    return rows[: line.most]
