"""What the app weighs and how long it takes on a phone: ``python -m tests.bench.offline_bench``.

A real Chromium opens the demo, served by waitress from this process, on a profile of its own.

* The first visit: start page, worker, one reference kept. Counted is every byte that the server
  gives for it, to page and worker alike, as compressed for this browser. Pictures are not counted.
  What the worker fetches after that, when nobody waits, is counted by itself: the page that reads
  markings, which no inspection needs.
* The inspection page: what a browser that kept nothing loads for it, model and pictures left out.
* A tap: 30 answers on 240 months, the page slowed down six times. From the time that the browser
  gives the tap until the frame with the new verdict has been handed over; and the arithmetic alone.
* A cold start: server dead, browser started anew on the same profile, the page slowed down four
  times. From the navigation until the first point can be tapped and that has been painted. The
  worker is a thread that the browser can't slow down.
* Beside both, in the same run, the least page that does the same (``least.py``).
"""

import logging
import os
import platform
import statistics
import sys
import tempfile
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

import waitress  # noqa: E402
from playwright.sync_api import (  # noqa: E402
    BrowserContext,
    Locator,
    Page,
    Playwright,
    expect,
    sync_playwright,
)

from quickcheck import desk, paths  # noqa: E402
from quickcheck.store import open_store  # noqa: E402
from quickcheck.web import Settings, create_app  # noqa: E402
from quickcheck.web.serving import THREADS  # noqa: E402
from tests.bench import least  # noqa: E402
from tests.bench.counting import Counted, Given, weigh  # noqa: E402
from tests.bench.verdict_js_bench import made  # noqa: E402
from tests.browser.alone import alone  # noqa: E402
from tests.browser.handset import the_rest  # noqa: E402
from tests.browser.walking import PHONE, POPLIN  # noqa: E402
from tests.kit import CHROMIUM, free_port  # noqa: E402

FIRST_VISIT, LATER, INSPECTION = 90_000, 16_000, 60_000  # bytes
TAP, ARITHMETIC, COLD_START = 50.0, 4.0, 700.0  # milliseconds
TAPS, STARTS = 100, 12
BETWEEN = 700  # milliseconds from tap to tap: a quick hand
PATIENCE = 60_000

_WATCH_TAP = """() => {
  window.taps = [];
  let began = 0;
  document.addEventListener('change', (event) => { began = event.timeStamp; }, true);
  new MutationObserver(() => {
    const tapped = began;
    requestAnimationFrame(() => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = () => window.taps.push(performance.now() - tapped);
      port2.postMessage(0);
    });
  }).observe(document.querySelector('#strip'), { attributeFilter: ['data-verdict'] });
}"""
_WATCH_START = """
const watching = new MutationObserver(() => {
  const root = document.documentElement;
  if (!root) return;
  if (!root.dataset.ready) {
    watching.observe(root, { attributeFilter: ['data-ready'] });
    return;
  }
  watching.disconnect();
  requestAnimationFrame(() => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => { root.dataset.tappable = performance.now(); };
    port2.postMessage(0);
  });
});
watching.observe(document, { childList: true });
"""
_ARITHMETIC = """async ([script, model, document]) => {
  const { judgeSheet, readSheet, compileModel } = await import(script);
  const made = compileModel(await (await fetch(model)).json());
  const times = [];
  for (let round = 0; round < 200; round += 1) {
    const p3 = { ...document.answers.p3, sure: round % 2 === 0 };
    const sheet = readSheet(made, { ...document, answers: { ...document.answers, p3 } });
    const began = performance.now();
    judgeSheet(made, sheet);
    times.push(performance.now() - began);
  }
  return times;
}"""


@dataclass
class Shop:
    """A server of our own that can be switched off, with what stands behind it."""

    app: Counted
    settings: Settings
    port: int
    server: Any

    @property
    def url(self) -> str:
        """The address of the start page."""
        return f"http://localhost:{self.port}"

    def stop(self) -> None:
        """Let the port go: whoever calls is refused."""
        self.server.close()
        self.server.task_dispatcher.shutdown()

    def begin(self, name: str, document: dict[str, Any]) -> str:
        """Store an inspection and return the address of its page."""
        reference = self.settings.shelf.current[name]
        begun = desk.open_inspection(
            self.settings.store, reference, {"reference": name, **document}, now=datetime.now(UTC)
        )
        return f"{self.url}/inspect/{begun.id}"


@contextmanager
def shop(folder: Path) -> Iterator[Shop]:
    """Serve the demo's references, and the one of the arithmetic's bench."""
    store = open_store(folder / "book.sqlite3")
    shelf = desk.gather(desk.reference_paths(paths.DEMO / "references"))
    wide, _ = made()
    shelf = desk.Shelf({**shelf.current, wide.id: wide}, {})
    for reference in shelf.current.values():
        store.library.keep(reference)
    settings, port = Settings(store, shelf), free_port()
    app = Counted(create_app(settings))
    logging.getLogger("waitress").setLevel(logging.CRITICAL)  # it is switched off at work
    server = waitress.create_server(app, host="127.0.0.1", port=port, threads=THREADS)
    threading.Thread(target=server.run, daemon=True).start()
    try:
        yield Shop(app, settings, port, server)
    finally:
        server.close()
        store.close()


@contextmanager
def phone(driver: Playwright, profile: Path) -> Iterator[BrowserContext]:
    """Start a browser anew on a profile, like a phone."""
    path = CHROMIUM if CHROMIUM.exists() else None
    words = ["--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu"]
    context = driver.chromium.launch_persistent_context(
        profile, executable_path=path, args=words, **PHONE
    )
    try:
        yield context
    finally:
        context.close()


def slowed(context: BrowserContext, rate: int) -> Page:
    """Return a new page whose processor is so many times slower."""
    page = context.new_page()
    context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": rate})
    return page


def ready(page: Page) -> None:
    """Wait until a page is wired."""
    expect(page.locator("html[data-ready]")).to_have_count(1, timeout=PATIENCE)


def first_visit(context: BrowserContext, place: Shop) -> tuple[list[Given], list[Given]]:
    """Open the app, keep one reference, and return what that cost, and what the rest cost."""
    page = context.new_page()
    page.goto(place.url)
    shelf_up = page.locator('html[data-kept][data-shelf="up"]')
    expect(shelf_up).to_have_count(1, timeout=PATIENCE)
    button = page.locator(f'[data-offered="{POPLIN.name}"] button')
    button.tap()
    expect(button).to_have_attribute("aria-pressed", "true", timeout=PATIENCE)
    the_rest(page)
    page.close()
    given = place.app.take()
    return [one for one in given if not one.is_rest], [one for one in given if one.is_rest]


def inspection_page(context: BrowserContext, place: Shop) -> list[Given]:
    """Open an inspection where nothing is kept, and return what the page itself cost."""
    page = context.new_page()
    page.add_init_script("delete Navigator.prototype.serviceWorker;")
    place.app.take()
    document = {"window": ["1953-03", "1953-05"], "access": "open", "answers": {}}
    page.goto(place.begin(POPLIN.name, document))
    ready(page)
    page.wait_for_load_state("networkidle")
    page.close()
    ours = ("/inspect/", "/s/")
    return [one for one in place.app.take() if one.path.startswith(ours)]


def tapped(page: Page, places: Sequence[Locator]) -> list[float]:
    """Tap the places in turn and return how long each took until it was painted."""
    page.evaluate(_WATCH_TAP)
    boxes = [place.bounding_box() for place in places]
    for each in range(TAPS):
        box = boxes[each % len(boxes)]
        assert box
        # by place: to look for it first would keep the slow page busy in the moment of the tap
        page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        page.wait_for_timeout(BETWEEN)
    times: list[float] = page.evaluate("window.taps")
    if len(times) < TAPS * 0.9:
        raise RuntimeError(f"only {len(times)} of {TAPS} taps were painted")
    return times


def taps(context: BrowserContext, place: Shop) -> tuple[list[float], list[float]]:
    """Return how long taps took until they were painted, and the arithmetic alone."""
    wide, answers = made()
    document = {"window": ["1957-03", "1957-08"], "access": "open", "answers": answers}
    page = slowed(context, 6)
    scripts = alone(page)
    page.goto(place.begin(wide.id, document) + "?at=p3")
    ready(page)
    labels = page.locator('fieldset[data-point="p3"] label.choice')
    times = tapped(page, [labels.nth(each) for each in range(2)])
    found: list[float] = page.evaluate(
        _ARITHMETIC,
        [
            f"{scripts}/engine/index.js",
            f"/references/{wide.hash[:16]}/model.json",
            {"reference": wide.id, **document},
        ],
    )
    page.close()
    return times, found[20:]


def begun(context: BrowserContext, place: Shop) -> str:
    """Begin an inspection that this device keeps and return its address."""
    page = context.new_page()
    page.goto(f"{place.url}/?reference={POPLIN.name}")
    ready(page)
    page.locator("label.chip", has=page.locator('input[name="year"][value="1953"]')).tap()
    page.locator("form.claim .go button").tap()
    page.wait_for_url("**/inspect/*")
    ready(page)
    expect(page.locator('html[data-shelf="up"]')).to_have_count(1, timeout=PATIENCE)
    address = page.url
    page.close()
    return address


def cold_start(page: Page, address: str) -> float:
    """Return how long it took from the navigation until the page could be used."""
    page.add_init_script(_WATCH_START)
    page.goto(address, wait_until="commit")
    # nobody asks the page anything meanwhile: what asks is a large script, on the slow page too
    page.wait_for_timeout(4000)
    seen = page.locator("html[data-tappable]")
    expect(seen).to_have_count(1, timeout=PATIENCE)
    return float(seen.get_attribute("data-tappable") or "nan")


def cold_starts(
    driver: Playwright, profile: Path, address: str, *, least: str
) -> tuple[list[float], list[float]]:
    """Return the times to a point that can be tapped, and those of the least page, in turn."""
    times, floor = [], []
    for _ in range(STARTS):
        with phone(driver, profile) as context:
            page = slowed(context, 4)
            times.append(cold_start(page, address))
            page.locator("a[data-go]:visible").first.tap()
            expect(page.locator("fieldset[data-point]:visible")).to_have_count(1)
        with phone(driver, profile) as context:
            floor.append(cold_start(slowed(context, 4), least))
    return times, floor


def least_taps(context: BrowserContext, address: str) -> list[float]:
    """Return how long taps took on the least page."""
    page = slowed(context, 6)
    page.goto(address)
    ready(page)
    times = tapped(page, [page.locator("label")])
    page.close()
    return times


def high(times: Sequence[float]) -> float:
    """Return the 95th of 100."""
    return statistics.quantiles(times, n=20, method="inclusive")[-1]


def clock(what: str, times: Sequence[float], target: float, *, floor: Sequence[float] = ()) -> None:
    """Print the middle, the 95th of 100 and the longest of some times, the least page's beside it."""
    print(
        f"\n{what}: {len(times)} times, p50 {statistics.median(times):.1f} ms,"
        f" p95 {high(times):.1f} ms, longest {max(times):.1f} ms"
    )
    if floor:
        print(f"  the least page: p50 {statistics.median(floor):.1f} ms, p95 {high(floor):.1f} ms")
    met = "met" if high(times) <= target else "MISSED"
    print(f"target  p95 at most {target:g} ms: {met}")


def machine(context: BrowserContext) -> None:
    """Say what this runs on."""
    version = context.browser.version if context.browser else "of this machine"
    print(
        f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores, load"
        f" {os.getloadavg()[0]:.1f}; Chromium {version}; waitress and browser share them"
    )


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        folder, profile = Path(name), Path(name) / "profile"
        with shop(folder) as place:
            with phone(driver, profile) as context:
                visit, rest = first_visit(context, place)
                address = begun(context, place)
                machine(context)
            with phone(driver, folder / "another") as context:
                page = inspection_page(context, place)
            with phone(driver, folder / "third") as context:
                painted, judged = taps(context, place)
            with least.served() as smallest, phone(driver, profile) as context:
                least.visited(context, smallest)
                floor = least_taps(context, smallest)
            place.stop()
            starts, bare = cold_starts(driver, profile, address, least=smallest)
    weigh("first visit, start page to one reference kept, without pictures", visit, FIRST_VISIT)
    weigh("the rest, fetched after that", rest, LATER)
    weigh("inspection page with scripts and styles", page, INSPECTION)
    what = "tap to painted verdict, 30 answers on 240 months, 6 times slower"
    clock(what, painted, TAP, floor=floor)
    clock("the arithmetic of a verdict alone, 6 times slower", judged, ARITHMETIC)
    what = "cold start to the first tappable point, server dead, 4 times slower"
    clock(what, starts, COLD_START, floor=bare)


if __name__ == "__main__":
    main()
