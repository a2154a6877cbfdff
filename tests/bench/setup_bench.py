"""From nothing to a sealed card out of a kiosk: every step counted, and how long the machine took.

``python tests/bench/setup_bench.py``: README's "Run a show" on an empty data folder, with the real
Chromium on a screen that nobody sees: `quickcheck setup` answered at its prompts, `quickcheck kiosk`,
an inspection of every point of the Poplin, verdict, card. Each word typed at a prompt, each press and
each key is counted; no step is taken that a person could not take. A person's minutes are reckoned by
the keystroke-level model (Card, Moran & Newell 1980: 0.28 s a key, 1.1 s to point, 1.35 s to think
before each step; values from memory), without looking at the instrument.
"""

import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from playwright.sync_api import Locator, Page, expect, sync_playwright  # noqa: E402

from quickcheck.reference import read_reference  # noqa: E402
from tests.browser import walking  # noqa: E402
from tests.browser.screen import program, screen  # noqa: E402
from tests.kit import CHROMIUM, Server  # noqa: E402

KEY, POINT, THINK = 0.28, 1.1, 1.35  # seconds
PROMPTS = (
    *("Harbour Fair", "2026-04-11", "2026-04-12", "", "Pegbox Lane"),
    *("horse copper lantern sleet", "horse copper lantern sleet", "480217", "480217"),
    *(str(walking.POPLIN), "", "y"),
)
PATIENCE = 120_000  # milliseconds


@dataclass
class Counted:
    """What a person did."""

    presses: int = 0
    keys: int = 0
    steps: int = 0
    machine: float = 0.0  # seconds

    def line(self, what: str) -> str:
        """Return it in words, with the minutes of a person."""
        person = (self.keys * KEY + self.presses * POINT + self.steps * THINK) / 60
        return (
            f"{what:28} {self.steps:4} steps {self.presses:4} presses {self.keys:5} keys   "
            f"machine {self.machine:6.1f} s   a person {person:5.1f} min"
        )


def set_up(data: Path) -> Counted:
    """Answer the prompts of a set-up."""
    began = time.monotonic()
    words = [sys.executable, "-m", "quickcheck", "setup", "--data", str(data)]
    typed = "".join(f"{line}\n" for line in PROMPTS)
    # without a terminal the hidden prompts read standard input too, and warn that they can't hide
    subprocess.run(words, input=typed, text=True, check=True, capture_output=True, cwd=ROOT)
    keys = len(typed) + len("quickcheck setup\n")
    return Counted(keys=keys, steps=1 + len(PROMPTS), machine=time.monotonic() - began)


def click(page: Page, what: Locator) -> None:
    """Press something, counted like everything else."""
    walking.press(what, thumb=False)
    expect(page.locator("body")).to_be_visible()


def inspect(page: Page, done: Counted) -> str:
    """Go from the start page to the sealed card; return what its seal says."""
    chip = 'label.chip:has([name="{}"][value="{}"])'
    for name, value in (("year", "1953"), ("part", "early"), ("access", "open")):
        click(page, page.locator(chip.format(name, value)))
    for tool in page.locator('label.chip:has([name="tools"]:not(:checked))').all():
        click(page, tool)
    click(page, page.locator("form.claim .go button"))
    reference = read_reference(walking.POPLIN)
    walking.ready(page)
    walking.walk(page, reference, thumb=False)
    for given in map(walking.SITTING.get, reference.by_id):
        text = [str((given or {}).get(key, "")) for key in ("value", "read", "note")]
        done.keys += sum(map(len, text))
    walking.ready(page)
    click(page, page.get_by_role("link", name="card").first)
    walking.ready(page)
    click(page, page.get_by_text("The issuer has no interest in it."))
    click(page, page.get_by_text("The owner agrees"))
    click(page, page.get_by_role("button", name="Make the card"))
    seal = page.locator('[data-seal="sealed"]').first
    expect(seal).to_be_visible(timeout=PATIENCE)
    return page.url


def in_kiosk(data: Path, folder: Path) -> tuple[Counted, Counted]:
    """Start the kiosk, inspect, make the card."""
    opening, inspecting = Counted(keys=len("quickcheck kiosk\n"), steps=1), Counted()
    with screen() as display, sync_playwright() as playwright:
        os.environ["DISPLAY"] = display or ":none"
        chromium = program(folder, CHROMIUM, has_screen=bool(display))
        began = time.monotonic()
        with Server(data, "kiosk", ("--browser", str(chromium.path))) as server:
            chromium.shown(f"{server.url}/", "New inspection")
            opening.machine = time.monotonic() - began
            address = f"http://127.0.0.1:{chromium.port}"
            page = playwright.chromium.connect_over_cdp(address).contexts[0].pages[0]
            page.set_default_timeout(PATIENCE)
            began, plain = time.monotonic(), walking.press

            def counted(what: Locator, *, thumb: bool) -> None:
                inspecting.presses += 1
                inspecting.steps += 1
                plain(what, thumb=thumb)

            walking.press = counted
            where = inspect(page, inspecting)
            inspecting.machine = time.monotonic() - began
            print(f"sealed: {where[:60]}")
    return opening, inspecting


def main() -> None:
    """Walk and print."""
    expect.set_options(timeout=PATIENCE)
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        first = set_up(data)
        second, third = in_kiosk(data, Path(folder))
    whole = Counted(
        *(
            getattr(first, name) + getattr(second, name) + getattr(third, name)
            for name in vars(first)
        )
    )
    for what, done in (
        ("quickcheck setup", first),
        ("quickcheck kiosk", second),
        ("inspection and sealed card", third),
        ("all", whole),
    ):
        print(done.line(what))


if __name__ == "__main__":
    main()
