"""A network that loses, repeats, delays and cuts: what a phone was told is saved is there, once."""

from collections.abc import Callable
from threading import Thread
from time import monotonic, sleep

import pytest

from tests.faults.conftest import Note
from tests.faults.figures import dice, size
from tests.faults.ledger import Ledger, hash_of, read_book
from tests.faults.phone import Phone
from tests.faults.proxy import HTML, PASS, Asked, Fault, Plan, Proxy, reply
from tests.kit import Server

pytestmark = pytest.mark.browser


def documents(fault: Callable[[Asked], Fault]) -> Plan:
    """Return a plan that harms documents only."""
    return lambda asked: fault(asked) if asked.is_document else PASS


def once(fault: Fault) -> Plan:
    """Return a plan that harms the next document and no other."""
    left = [fault]
    return documents(lambda _: left.pop() if left else PASS)


def test_reply_dropped_after_commit(
    server: Server, proxy: Proxy, phone: Phone, ledger: Ledger, note: Note
) -> None:
    """What the server took without the phone's hearing of it is no second inspection or revision."""
    rolled, faults, one = dice("T5"), size(60, 700), ""
    for _ in range(faults):
        if not one or rolled.random() < 0.3:
            one = phone.begin()
        before = proxy.replies
        proxy.plan = once(Fault("drop-reply"))
        assert phone.send(one) == "unreachable"
        assert proxy.replies == before + 1, "the server never had it"
        if rolled.random() < 0.5:
            phone.write(one)  # typed on before the next try
        if rolled.random() < 0.8:
            assert phone.send(one) == "sent"
    phone.drain()
    account = ledger.settle(read_book(server.data), [phone.unsent])
    assert not any(draft.conflict for draft in phone.drafts.values())
    note("T5 reply dropped after commit", faults, account)


def test_duplicates_in_parallel(
    server: Server, proxy: Proxy, phone: Phone, ledger: Ledger, note: Note
) -> None:
    """A request that the network repeats two to eight times at once is one revision."""
    rolled, faults, one = dice("T6"), size(30, 300), ""
    for _ in range(faults):
        if not one or rolled.random() < 0.5:
            one = phone.begin()
        else:
            phone.write(one)
        proxy.plan = once(Fault("duplicate", times=rolled.randint(2, 8)))
        assert phone.send(one) == "sent"
    account = ledger.settle(read_book(server.data), [phone.unsent])
    assert not any(draft.conflict for draft in phone.drafts.values())
    note("T6 duplicates ×2–8 in parallel", faults, account)


def test_two_tabs_send_the_same_draft(
    server: Server, proxy: Proxy, phone: Phone, ledger: Ledger, note: Note
) -> None:
    """Two to five tabs without locks that send one draft at the same time make one revision."""
    rolled, faults = dice("T6b"), size(10, 100)
    for _ in range(faults):
        one = phone.begin()
        threads = [Thread(target=phone.send, args=(one,)) for _ in range(rolled.randint(2, 5))]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    phone.drain()
    note("T6 tabs that send the same at once", faults, ledger.settle(read_book(server.data)))


def test_delayed_and_reordered(server: Server, proxy: Proxy, ledger: Ledger, note: Note) -> None:
    """Requests that arrive after their followers change nothing: what is current is the newest."""
    rolled, faults = dice("T7"), size(40, 400)
    phone = Phone(proxy.port, ledger, patience=0.05)
    ends, late = 0.0, 0
    for index in range(faults):
        if index % 4 == 0:
            one = phone.begin()
        else:
            phone.write(one)
        wait = rolled.uniform(0.1, 0.5)
        proxy.plan = once(Fault("delay", wait=wait))
        assert phone.send(one) == "unreachable"
        ends = max(ends, monotonic() + wait)
        if rolled.random() < 0.5:
            phone.patience = 10.0
            phone.write(one)
            late += phone.send(one) == "conflict"
            phone.patience = 0.05
    sleep(max(0.0, ends - monotonic()) + 0.5)
    phone.patience = 10.0
    phone.drain()
    book = read_book(server.data)
    assert late == 0
    for inspection, draft in phone.drafts.items():
        assert hash_of(book[inspection].current) == hash_of(draft.document), "an older one won"
    note("T7 delayed beyond the time-out, overtaken", faults, ledger.settle(book))


@pytest.mark.parametrize("kind", ["cut-upload", "slow", "cut-reply", "reset"])
def test_cut(
    kind: str, server: Server, proxy: Proxy, phone: Phone, ledger: Ledger, note: Note
) -> None:
    """A body or a reply that breaks off at any byte leaves nothing half, and nothing stuck."""
    rolled, one = dice(f"T8 {kind}"), ""
    faults = size(4, 40) if kind == "slow" else size(15, 200)
    for _ in range(faults):
        one = phone.begin() if not one or rolled.random() < 0.4 else one
        if rolled.random() < 0.5:
            phone.write(one)
        proxy.plan = once(Fault(kind, at=rolled.random(), wait=rolled.uniform(0.2, 0.8)))
        fate = phone.send(one)
        assert fate in ({"sent"} if kind == "slow" else {"unreachable", "later"})
        assert phone.drafts[one].dirty == (kind != "slow")
    phone.drain()
    account = ledger.settle(read_book(server.data), [phone.unsent])
    note(f"T8 {kind} at a random byte", faults, account)


def test_something_on_the_way_shortens_bodies(
    server: Server, proxy: Proxy, phone: Phone, ledger: Ledger, note: Note
) -> None:
    """A body cut by something that calls the rest whole leaves nothing on the server."""
    rolled, faults = dice("T8 short"), size(15, 200)
    for _ in range(faults):
        one = phone.begin()
        proxy.plan = once(Fault("short-upload", at=rolled.random()))
        assert phone.send(one) in {"parked", "later"}
        assert one not in read_book(server.data)
    assert all(draft.dirty for draft in phone.drafts.values())
    note("T8 bodies shortened on the way", faults, ledger.settle({}, [phone.unsent]))


FOREIGN = [
    *(reply(status) for status in (200, 401, 403, 404, 413, 429, 500, 502, 503, 504, 511)),
    reply(302, b"", "text/html", "Location: http://login.invalid/"),
    reply(200, b"{}", "application/json"),
    reply(200, b'{"ok":true}', "application/json"),
    reply(413, HTML),
    reply(422, b"[]", "application/json"),
    reply(200, b"", "application/json"),
]


def test_foreign_replies(
    server: Server, proxy: Proxy, phone: Phone, ledger: Ledger, note: Note
) -> None:
    """Whatever somebody else answers, the document stays, and arrives once when the way is free."""
    rolled, faults = dice("T9"), size(34, 340)
    for index in range(faults):
        one = phone.begin()
        foreign = FOREIGN[index % len(FOREIGN)]
        proxy.plan = once(Fault("replace", reply=foreign, reaches=rolled.random() < 0.5))
        assert phone.send(one) in {"later", "unreachable"}
        assert phone.drafts[one].dirty
    phone.drain()
    note("T9 replies of somebody else", faults, ledger.settle(read_book(server.data)))


def test_flapping(server: Server, proxy: Proxy, ledger: Ledger, note: Note) -> None:
    """A network that comes and goes while phones write drains once it stays."""
    rolled, faults = dice("T20"), size(20, 200)
    phones = [Phone(proxy.port, ledger, patience=2.0) for _ in range(3)]
    ends = Thread(target=proxy.flap, args=([rolled.uniform(0.02, 0.12) for _ in range(faults)],))
    ends.start()
    while ends.is_alive():
        for phone in phones:
            if not phone.drafts or rolled.random() < 0.3:
                phone.begin()
            else:
                phone.write(rolled.choice(list(phone.drafts)))
            phone.flush()
    began = monotonic()
    for phone in phones:
        phone.drain()
    took = monotonic() - began
    assert took < 60
    account = ledger.settle(read_book(server.data))
    note("T20 network flapping", faults, account, f"drained in {took:.1f} s")
