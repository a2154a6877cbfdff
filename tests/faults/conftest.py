"""What the fault tests share: a server with a network that fails, a ledger, lines at the end."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext

from tests.browser.walking import PHONE
from tests.faults import figures
from tests.faults.hands import Hands
from tests.faults.ledger import Account, Ledger
from tests.faults.phone import Phone
from tests.faults.proxy import Proxy
from tests.kit import Server, write_reference

Note = Callable[..., None]
NewContext = Callable[..., BrowserContext]


@pytest.fixture
def ledger() -> Ledger:
    """Return an empty ledger."""
    return Ledger()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """Serve a book of its own with the small reference."""
    write_reference(tmp_path)
    with Server(tmp_path, "serve") as running:
        yield running


@pytest.fixture
def proxy(server: Server) -> Iterator[Proxy]:
    """Stand between the phones and that server."""
    with Proxy(server.port) as standing:
        yield standing


@pytest.fixture
def phone(proxy: Proxy, ledger: Ledger) -> Phone:
    """Return a phone on that network."""
    return Phone(proxy.port, ledger)


@pytest.fixture
def hands(new_context: NewContext, proxy: Proxy, ledger: Ledger) -> Hands:
    """Return a person with a real browser on that network."""
    return Hands(new_context(**PHONE).new_page(), proxy.url, ledger)


@pytest.fixture
def note(request: pytest.FixtureRequest) -> Note:
    """Return what keeps a line for the end and fails the test if anything was lost or doubled."""

    def noted(name: str, faults: int, account: Account, more: str = "") -> None:
        text = figures.line(name, faults, account, more)
        print(text, f"seed {figures.SEED}")
        figures.keep(request, text)
        assert faults > 0
        assert account.lines > 0
        assert (account.lost, account.doubled) == (0, 0), text

    return noted
