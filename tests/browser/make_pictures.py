"""Draw the icons and the two pictures that an installer shows: ``python -m tests.browser.make_pictures``.

The results are committed under ``static/``; run it again after the icon or the look has changed.
"""

import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

from quickcheck import paths
from tests.browser.pages import Site
from tests.kit import CHROMIUM, Server

SIZES = (180, 192, 512)
SHOTS = {"inspection": "?at=knobs", "verdict": "/verdict"}
COLOURS = 64  # keeps each picture under 60 kB


def icons(browser: Browser) -> None:
    """Draw the icon in every size."""
    drawing = (paths.STATIC / "icons" / "icon.svg").read_text(encoding="utf-8")
    for size in SIZES:
        page = browser.new_page(viewport={"width": size, "height": size})
        page.set_content(
            f"<style>body{{margin:0}}svg{{display:block;width:100vw}}</style>{drawing}"
        )
        page.screenshot(path=paths.STATIC / "icons" / f"icon-{size}.png")
        page.close()


def shots(browser: Browser, site: Site) -> None:
    """Take the pictures of the demo, on a phone."""
    for name, suffix in SHOTS.items():
        page = browser.new_page(viewport={"width": 390, "height": 780}, color_scheme="light")
        page.goto(f"{site.server.url}{site.inspection}{suffix}", wait_until="networkidle")
        path = paths.STATIC / "screenshots" / f"{name}.png"
        page.screenshot(path=path)
        page.close()
        with Image.open(path) as picture:
            picture.convert("RGB").quantize(COLOURS).save(path, optimize=True)


def main() -> None:
    """Draw everything."""
    (paths.STATIC / "screenshots").mkdir(exist_ok=True)
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        icons(browser)
        with Server(Path(folder)) as server:
            shots(browser, Site(server))
        browser.close()


if __name__ == "__main__":
    main()
