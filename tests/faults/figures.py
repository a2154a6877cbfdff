"""How many faults a run does, from which seed, and the lines that say what came out."""

import os
from collections.abc import Callable
from random import Random

import pytest

from tests.faults.ledger import Account

FULL = os.environ.get("QUICKCHECK_FULL") == "1"
SEED = int(os.environ.get("QUICKCHECK_FAULT_SEED") or (Random().getrandbits(32) if FULL else 2026))
"""The same faults in every short run; others in every full one, unless the variable names them."""

Note = Callable[..., None]
_KEY = "faults"


def size(short: int, full: int) -> int:
    """Return how many faults this run does."""
    return full if FULL else short


def dice(name: str) -> Random:
    """Return the dice of one test: they do not depend on what ran before it."""
    return Random(f"{SEED} {name}")


def bound(lost: int, of: int) -> str:
    """Return the 95 % upper bound of a share of which none was seen (the rule of three)."""
    return f" (95 % upper bound {min(100.0, 300 / of):.1f} %)" if of and not lost else ""


def line(name: str, faults: int, account: Account, more: str = "") -> str:
    """Return what one test says at the end."""
    lost = f"{account.lost} lost of {account.lines}{bound(account.lost, account.lines)}"
    return f"{name}: {faults} faults, {lost}, {account.doubled} doubled{more and f', {more}'}"


def keep(request: pytest.FixtureRequest, text: str) -> None:
    """Have a line printed at the end of the run; it travels with the test's report."""
    request.node.user_properties.append((_KEY, text))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print the lines of all tests together."""
    found = {
        text
        for reports in terminalreporter.stats.values()
        for report in reports
        for key, text in getattr(report, "user_properties", ())
        if key == _KEY
    }
    if found:
        terminalreporter.section(f"nothing lost (QUICKCHECK_FAULT_SEED={SEED})")
        for text in sorted(found, key=_number):
            terminalreporter.write_line(text)


def _number(text: str) -> tuple[int, str]:
    digits = text.removeprefix("T").partition(" ")[0]
    return (int(digits) if digits.isdigit() else 99, text)
