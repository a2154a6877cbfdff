"""A hand on a page, in any engine: it presses where the thing is, and only what lies on top."""

import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from quickcheck.reference import Point
from tests.engines.engine import Engine, EngineError

PATIENCE: Final = 20.0  # seconds for what should come at once, on cores that are busy elsewhere
_AGAIN: Final = 0.04  # seconds

# Where to press: the middle of the one visible element, brought into sight, if nothing covers it.
_PLACE: Final = """
async (selector, again) => {
  const seen = [...document.querySelectorAll(selector)].filter((it) => it.checkVisibility());
  if (seen.length !== 1) return `${seen.length} visible`;
  const box = seen[0].getBoundingClientRect();
  if (again || box.top < 0 || box.bottom > innerHeight) {
    seen[0].scrollIntoView({ block: 'center', behavior: 'instant' });
    await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
  }
  const { x, y, width, height } = seen[0].getBoundingClientRect();
  const at = [x + width / 2, y + height / 2];
  const top = document.elementFromPoint(...at);
  if (top && (seen[0].contains(top) || top.contains(seen[0]) && top.localName === 'label')) return at;
  return `covered by ${top ? top.outerHTML.slice(0, 400) : 'nothing'}`;
}
"""

# Nobody presses within a blink after a page has come: what it puts in late has its place by then.
_STILL: Final = """
async () => {
  for (let before = '', now = ' '; now !== before;) {
    before = now;
    await new Promise((done) => setTimeout(done, 300));
    now = `${document.documentElement.scrollHeight} ${document.querySelector('main').offsetTop}`;
  }
  return true;
}
"""


@dataclass(frozen=True)
class Hand:
    """What a person can do with a page."""

    engine: Engine

    def wait(self, function: str, *given: Any, patience: float = PATIENCE) -> Any:
        """Wait until a function in the page returns something that is true; return that."""
        ends = time.monotonic() + patience
        last: object = None
        while time.monotonic() < ends:
            try:
                if last := self.engine.run(function, *given):
                    return last
            except EngineError as error:  # the page is being changed for another
                last = error
            time.sleep(_AGAIN)
        raise EngineError(f"waited in vain for {function} with {given}; last: {last}")

    def has(self, selector: str) -> bool:
        """Whether there is such an element on the page, seen or not."""
        return bool(self.engine.run("(it) => !!document.querySelector(it)", selector))

    def sees(self, selector: str, *, patience: float = PATIENCE) -> None:
        """Wait until there is such an element."""
        self.wait("(it) => !!document.querySelector(it)", selector, patience=patience)

    def says(self, selector: str) -> str:
        """Return the words of an element."""
        self.sees(selector)
        return str(self.engine.run("(it) => document.querySelector(it).textContent", selector))

    def press(self, selector: str) -> None:
        """Press the one visible element that there is."""
        ends = time.monotonic() + PATIENCE
        again = False
        while isinstance(place := self.engine.run(_PLACE, selector, again), str):
            if time.monotonic() > ends:
                raise EngineError(f"{selector} can't be pressed: {place}")
            again = True  # what is covered at the edge of the window is free in its middle
            time.sleep(_AGAIN)
        self.engine.press(*place)

    def choose(self, name: str, value: str) -> None:
        """Press the label of a choice that is not made yet, unfolding what it is folded into."""
        field = f'input[name="{name}"][value="{value}"]'
        if self.has(f"{field}:checked"):
            return
        self._unfold(field)
        self.press(f"label:has({field})")
        self.sees(f"{field}:checked")

    def write(self, field: str, text: str) -> None:
        """Press into a field and type."""
        self._unfold(field)
        self.press(field)
        self.wait("(it) => document.activeElement.matches(it)", field)  # a tap comes in its time
        self.engine.type(text)

    def _unfold(self, field: str) -> None:
        folded = f"fieldset:not([hidden]) details:not([open]):has({field})"
        if self.has(folded):
            self.press(f"{folded} > summary")

    def ready(self) -> None:
        """Wait until the scripts of the page are wired and it stands still."""
        self.sees("html[data-ready]")
        self.wait(_STILL)

    def answer(self, point: Point, given: Mapping[str, Any]) -> None:
        """Fill in one point, which must be the one on the screen."""
        self.sees(f'fieldset[data-point="{point.id}"]:not([hidden])')
        for name, value in _choices(point.id, given):
            self.choose(name, value)
        text = f"{given['value']:g}" if "value" in given else given.get("read")
        if text:
            self.write(f'input[name="{point.id}"]', text)
        if "note" in given:
            self.write(f'textarea[name="{point.id}.note"]', given["note"])
        self.press('.bar button[value="next"]')


def _choices(name: str, given: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    seen = given.get("seen", [])
    yield from ((name, variant) for variant in ([seen] if isinstance(seen, str) else seen))
    yield from ((f"{name}.where", place) for place in given.get("where", []))
    if given.get("sure") is False:
        yield f"{name}.unsure", "1"
    for part, key in (("state", "state"), ("not-seen", "not_seen")):
        if key in given:
            yield f"{name}.{part}", given[key]
