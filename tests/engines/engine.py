"""What the walk asks of a browser engine, whichever protocol it is driven by."""

import json
from pathlib import Path
from typing import Any, Protocol


class EngineError(Exception):
    """The engine, or what drives it, did not do what was asked; says what."""


class Engine(Protocol):
    """A browser on a profile of its own, which outlives the browser."""

    name: str
    version: str
    pointer: str  # what presses: "touch" or "mouse"
    notes: tuple[str, ...]  # what this engine, run like this, can't show

    def start(self, profile: Path) -> None:
        """Start it on a folder, which is made where there is none."""

    def kill(self) -> None:
        """End all its processes between two instructions."""

    def goto(self, address: str) -> None:
        """Load a page; EngineError where nothing came."""

    def run(self, function: str, *given: Any) -> Any:
        """Call a function, in JavaScript, in the page; it may be async. Takes and gives JSON."""

    def press(self, x: float, y: float) -> None:
        """Press and let go at a place in the window, in CSS pixels, as a hand does."""

    def type(self, text: str) -> None:
        """Press the keys of a text."""

    def picture(self) -> bytes:
        """Return what is on the screen, as PNG."""


def call(function: str, *given: Any) -> str:
    """Return an expression, in JavaScript: a promise of the function's result, as JSON text."""
    words = ", ".join(json.dumps(each) for each in given)
    return f"(async () => JSON.stringify((await ({function})({words})) ?? null))()"
