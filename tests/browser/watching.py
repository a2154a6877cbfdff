"""What a webcam sees: a phone held up to it, as a film that Chromium takes for its camera."""

import io
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import cv2
import numpy as np
from PIL import Image
from playwright.sync_api import Browser, BrowserType, Page, expect

from quickcheck.card import QUIET, symbol

Frame = np.ndarray[Any, np.dtype[np.uint8]]
WIDTH, HEIGHT = 1280, 720  # of an ordinary webcam
KIOSK: Final = {"width": 1280, "height": 800}
_FAKE: Final = ("--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream")
_STREAMS: Final = """
const ask = navigator.mediaDevices?.getUserMedia.bind(navigator.mediaDevices);
globalThis.streams = [];
if (ask) navigator.mediaDevices.getUserMedia = async (wanted) => {
  const stream = await ask(wanted);
  streams.push(stream);
  return stream;
};
"""


def code_picture(text: str, module: int = 8) -> bytes:
    """Return a PNG of the code of a text, with its quiet zone."""
    dark = np.pad(np.array(symbol(text).rows), QUIET)
    grey = np.kron(np.where(dark, 0, 255), np.ones((module, module))).astype(np.uint8)
    return png(grey)


def png(pixels: Frame) -> bytes:
    """Return a PNG of pixels."""
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "PNG")
    return out.getvalue()


def held_up(screen: bytes, *, wide: int = 460, tilt: float = 12.0, seed: int = 1) -> Frame:
    """Return what a webcam sees of a screen that is held up to it.

    ``wide`` is the screen's width in camera pixels, ``tilt`` its turn out of the picture, degrees.
    A little out of focus, unevenly lit, with the noise of a hall's light.
    """
    shown = np.asarray(Image.open(io.BytesIO(screen)).convert("RGB"))
    height, width = shown.shape[:2]
    scale, turned, lean = wide / width, np.radians(tilt), np.radians(5)
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * [width / 2, height / 2] * scale
    leaning = corners @ np.array([[np.cos(lean), np.sin(lean)], [-np.sin(lean), np.cos(lean)]])
    away = 1 + leaning[:, :1] * np.sin(turned) / 1100  # of a lens with 60° across
    seen = leaning * [np.cos(turned), 1] / away + [WIDTH / 2 + 40, HEIGHT / 2]
    source = np.array([[0, 0], [width, 0], [width, height], [0, height]])
    warp = cv2.getPerspectiveTransform(source.astype(np.float32), seen.astype(np.float32))
    ground = hall(seed)
    placed = cv2.warpPerspective(
        shown, warp, (WIDTH, HEIGHT), ground, cv2.INTER_AREA, cv2.BORDER_TRANSPARENT
    )
    lit = (30 + placed * 0.75) * np.linspace(0.85, 1.05, WIDTH)[None, :, None]
    noise = np.random.default_rng(seed).normal(0, 4, placed.shape)
    return np.clip(cv2.GaussianBlur(lit, (0, 0), 1.1) + noise, 0, 255).astype(np.uint8)


def hall(seed: int = 1) -> Frame:
    """Return a hall without a phone in it."""
    rough = np.random.default_rng(seed).integers(30, 150, (12, 20, 3), np.uint8)
    return np.asarray(cv2.resize(rough, (WIDTH, HEIGHT), interpolation=cv2.INTER_CUBIC), np.uint8)


def film(path: Path, frames: list[Frame]) -> Path:
    """Write frames as an uncompressed film of ten a second, which plays over and over."""
    with path.open("wb") as out:
        out.write(f"YUV4MPEG2 W{WIDTH} H{HEIGHT} F10:1 Ip A1:1\n".encode())
        for frame in frames:
            out.write(b"FRAME\n" + cv2.cvtColor(frame, cv2.COLOR_RGB2YUV_I420).tobytes())
    return path


@dataclass
class Station:
    """The browser of a kiosk, and what it complained about and asked for."""

    browser: Browser
    page: Page
    complaints: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def begin(self, url: str) -> None:
        """Open the page that reads cards and start the camera."""
        self.page.goto(f"{url}/scan")
        self.page.get_by_role("button", name="Start the camera").click()

    def says(self, words: str) -> None:
        """Wait until the line of state says this."""
        expect(self.page.locator("#scan-state")).to_contain_text(words)

    def decoder_came(self) -> bool:
        """Whether the decoder that we bring was loaded."""
        return any("/vendor/qr-" in address for address in self.asked)

    def cameras_on(self) -> int:
        """Return how many tracks of a camera still run, of all that the page ever had."""
        live = "streams.flatMap((s) => s.getTracks()).filter((t) => t.readyState === 'live').length"
        return int(self.page.evaluate(live))


@contextmanager
def station(
    kind: BrowserType,
    options: Mapping[str, Any],
    *arguments: str,
    camera: Path | None = None,
    script: str = "",
    **context: Any,
) -> Iterator[Station]:
    """Open a kiosk's browser whose camera sees a film; without one it has Chromium's test card."""
    seen = [f"--use-file-for-fake-video-capture={camera}"] if camera else []
    more = arguments or _FAKE
    browser = kind.launch(**{**options, "args": [*options["args"], *more, *seen]})
    try:
        page = browser.new_context(**{"viewport": KIOSK, **context}).new_page()
        page.add_init_script(_STREAMS + script)
        found = Station(browser, page)
        page.on("request", lambda request: found.asked.append(request.url))
        page.on("pageerror", lambda error: found.complaints.append(f"thrown: {error}"))
        page.on(
            "console",
            lambda said: said.type == "error" and found.complaints.append(said.text),
        )
        yield found
    finally:
        browser.close()
