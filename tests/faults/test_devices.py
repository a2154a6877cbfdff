"""Clocks that are wrong, and two devices on one inspection: nothing is overwritten unseen."""

import http.client
import json
from collections.abc import Sequence
from itertools import combinations
from typing import Any

import pytest

from tests.faults.conftest import Note
from tests.faults.figures import dice, size
from tests.faults.ledger import Ledger, hash_of, read_book
from tests.faults.phone import Phone
from tests.faults.proxy import PASS, Fault, Proxy
from tests.kit import Server

pytestmark = pytest.mark.browser
CLOCKS = (
    *("1970-01-01T00:00:00Z", "2038-01-19T03:14:08Z", "9999-12-31T23:59:59+14:00"),
    *("0001-01-01T00:00:00Z", "0", "-1", "9" * 18, "9" * 400, "9" * 5000, "NaN", "inf", "1e400"),
    *("2026-13-40", "yesterday", "2026-11-25", "'; DROP TABLE device; --", "٣"),
)


def test_wild_clocks(server: Server, proxy: Proxy, ledger: Ledger, note: Note) -> None:
    """Whatever a device's clock says, its documents are taken, and the last sent is current."""
    rolled, faults = dice("T14"), size(36, 360)
    phones = [Phone(proxy.port, ledger) for _ in range(2)]
    one, order = phones[0].begin(), list[str]()
    for index in range(faults):
        phone = phones[index % 2]
        phone.clock = CLOCKS[rolled.randrange(len(CLOCKS))].encode().decode("latin-1")
        if index:
            phone.fetch(one)
            phone.write(one, at=rolled.choice(CLOCKS))
        assert phone.send(one) == "sent"
        order.append(hash_of(phone.drafts[one].document))
    kept = read_book(server.data)[one]
    assert [kept.revisions[number + 1] for number in range(faults)] == order
    assert server.get("/health").status == 200
    note("T14 clocks from year 1 to 9999 and worse", faults, ledger.settle({one: kept}))


def orders() -> list[tuple[int, ...]]:
    """Return every order in which two devices can take three steps each: 20 of them."""
    return [tuple(int(at in ones) for at in range(6)) for ones in combinations(range(6), 3)]


STEPS = ("open", "write", "send")


def act(phone: Phone, step: str, one: str, rolled: Any) -> None:
    """Do one step; a reply may be lost, and then it is sent again."""
    if step == "open":
        phone.fetch(one)
    elif step == "write":
        phone.write(one)
    elif rolled.random() < 0.3:
        lost = [Fault("drop-reply")]
        phone.plan(lambda asked: lost.pop() if asked.is_document and lost else PASS)
        assert phone.send(one) == "unreachable"
    if step == "send":
        assert phone.send(one) in {"sent", "conflict"}


class OnNetwork(Phone):
    """A phone that can set the plan of its network."""

    proxy: Proxy

    def plan(self, plan: Any) -> None:
        """Set what becomes of the next requests."""
        self.proxy.plan = plan


def wrote_blindly(one: str, phones: Sequence[Phone], order: Sequence[int]) -> bool:
    """Whether the devices opened and sent so that the later of two sends had not seen the other."""
    first, second = (
        index for index in range(6) if list(order[: index + 1]).count(order[index]) == 3
    )
    opened = list(order).index(order[second])
    return opened < first


def test_two_devices_in_every_order(
    server: Server, proxy: Proxy, ledger: Ledger, note: Note
) -> None:
    """In each order of opening, writing and sending both documents are kept; a fork is listed."""
    rolled, shown, forks, faults = dice("T16"), 0, 0, 0
    for order in orders() * size(2, 50):
        phones = [OnNetwork(proxy.port, ledger) for _ in range(2)]
        for phone in phones:
            phone.proxy = proxy
        starter = Phone(proxy.port, ledger)
        one = starter.begin()
        assert starter.send(one) == "sent"
        taken = [0, 0]
        for who in order:
            act(phones[who], STEPS[taken[who]], one, rolled)
            taken[who] += 1
        forked = wrote_blindly(one, phones, order)
        listed = _get(proxy.port, one)["two_versions"]
        assert listed == forked, f"order {order}"
        assert any(phone.drafts[one].conflict for phone in phones) == forked
        both = {hash_of(phone.drafts[one].document) for phone in phones}
        assert both <= read_book(server.data)[one].hashes.keys(), "one of both is gone"
        forks, shown, faults = forks + forked, shown + listed, faults + 1
    account = ledger.settle(read_book(server.data))
    note("T16 two devices, every order", faults, account, f"{shown} of {forks} forks listed")


def test_the_loser_of_a_fork_goes_on(
    server: Server, proxy: Proxy, ledger: Ledger, note: Note
) -> None:
    """A device whose document came too late writes on: the fork stays listed, all are kept."""
    faults = size(10, 100)
    for _ in range(faults):
        first, second = Phone(proxy.port, ledger), Phone(proxy.port, ledger)
        one = first.begin()
        assert first.send(one) == "sent"
        second.fetch(one)
        for phone, fate in ((first, "sent"), (second, "conflict")):
            phone.write(one)
            assert phone.send(one) == fate
        for phone in (second, first, second):
            phone.write(one)
            assert phone.send(one) in {"sent", "conflict"}
            assert _get(proxy.port, one)["two_versions"], "the fork is forgotten"
    note("T16 a fork that goes on", faults, ledger.settle(read_book(server.data)))


def _get(port: int, one: str) -> dict[str, Any]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    try:
        connection.request("GET", f"/api/inspections/{one}", headers={"Host": f"localhost:{port}"})
        said: dict[str, Any] = json.loads(connection.getresponse().read())
    finally:
        connection.close()
    return said
