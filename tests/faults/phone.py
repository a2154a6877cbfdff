"""A phone in Python that keeps and sends as the outbox of the app does, rule by rule.

The rules are those of ``static/js/outbox.js``: a hash is noted before it leaves; only a reply that
echoes id, revision and hash counts; a 409 that says "kept" counts as arrived; what the server can
never take is parked; another epoch makes everything dirty again.
"""

import http.client
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import count
from typing import Any
from uuid import uuid4

from quickcheck.reference import read_reference_text
from tests import kit
from tests.faults.ledger import Ledger, hash_of

EDITION = read_reference_text(kit.REFERENCE).hash
_NEVER = {400, 413, 415, 422, 424}
_NUMBERS = count(1)  # makes every document of a run another one


@dataclass
class Draft:
    """One inspection on the phone."""

    document: Mapping[str, Any]
    base: int = 0
    sent: list[str] = field(default_factory=list)
    had: list[str] = field(default_factory=list)
    dirty: bool = True
    conflict: bool = False
    parked: str | None = None

    def acknowledged(self, digest: str, revision: int) -> None:
        """Take a receipt in; what was written since it left stays to be sent."""
        self.base, self.sent, self.parked = revision, [], None
        self.had = [*(other for other in self.had if other != digest), digest][-100:]
        self.dirty = hash_of(self.document) != digest


@dataclass
class Phone:
    """A device: its drafts are its store, and the ledger hears all that it tells its owner."""

    port: int
    ledger: Ledger
    patience: float = 10.0
    clock: str | None = None
    drafts: dict[str, Draft] = field(default_factory=dict)
    cookie: str = ""
    mark: str = ""
    epoch: str = ""

    def begin(self, **more: Any) -> str:
        """Open an inspection on the phone and return its id."""
        inspection = str(uuid4())
        self.drafts[inspection] = Draft({})
        self.write(inspection, **more)
        return inspection

    def write(self, inspection: str, **more: Any) -> None:
        """Answer something: it is saved on the device."""
        draft = self.drafts[inspection]
        draft.document = kit.document(n=next(_NUMBERS), **more)
        draft.dirty = True
        self.ledger.note(inspection, hash_of(draft.document))

    def fetch(self, inspection: str) -> None:
        """Take an inspection over from the server, as opening its page does."""
        status, said = self._ask("GET", f"/api/inspections/{inspection}")
        assert status == 200, said
        self.drafts[inspection] = Draft(said["document"], base=said["revision"], dirty=False)

    def flush(self) -> dict[str, str]:
        """Try everything once; return what became of each."""
        waiting = [one for one, draft in self.drafts.items() if draft.dirty and not draft.parked]
        if not waiting:
            self._ask("GET", "/api/epoch")
            waiting = [one for one, draft in self.drafts.items() if draft.dirty]
        return {one: self.send(one) for one in waiting}

    def drain(self, rounds: int = 12) -> None:
        """Flush until nothing waits; AssertionError if something still does."""
        for _ in range(rounds):
            if not self.flush() and not any(draft.dirty for draft in self.drafts.values()):
                return
        raise AssertionError(f"still waiting: {[d for d in self.drafts.values() if d.dirty]}")

    def send(self, inspection: str) -> str:
        """Send one document; return "sent", "later", "unreachable", "parked" or "conflict"."""
        draft = self.drafts[inspection]
        digest = hash_of(draft.document)
        if digest not in draft.sent:
            draft.sent.append(digest)
        body = {
            "revision": draft.base + 1,
            "base": draft.base,
            "sent": [other for other in draft.sent if other != digest],
            "sha256": digest,
            "reference": EDITION,
            "document": draft.document,
        }
        status, said = self._ask("PUT", f"/api/inspections/{inspection}", json.dumps(body))
        return self._heard(inspection, digest, status, said)

    def _heard(self, inspection: str, digest: str, status: int, said: Any) -> str:
        draft = self.drafts[inspection]
        if said is None:
            return "later" if status else "unreachable"
        ours = said.get("uuid") == inspection and isinstance(said.get("revision"), int)
        if status in {200, 201} and ours and said.get("sha256") == digest:
            draft.acknowledged(digest, said["revision"])
            self.ledger.note(inspection, digest, said["revision"])
            return "sent"
        if status == 409 and ours and said.get("kept") is True:
            draft.acknowledged(digest, said["revision"])
            draft.conflict = True
            return "conflict"
        if status in _NEVER and (isinstance(said.get("faults"), list) or "error" in said):
            draft.parked = json.dumps(said)
            return "parked"
        return "later"

    def _ask(self, method: str, path: str, body: str | None = None) -> tuple[int, Any]:
        """Return status and JSON; 0 for no reply, None for what is no JSON object."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=self.patience)
        try:
            connection.request(method, path, body, self._headers(method))
            got = connection.getresponse()
            content = got.read()
        except (OSError, http.client.HTTPException):
            return 0, None
        finally:
            connection.close()
        if 300 <= got.status < 400:
            return 0, None  # fetch with redirect: "error"
        self.cookie = (got.getheader("Set-Cookie") or self.cookie).partition(";")[0]
        try:
            said = json.loads(content)
        except ValueError:
            return got.status, None
        if not isinstance(said, dict):
            return got.status, None
        self._note_epoch(said)
        return got.status, said

    def _headers(self, method: str) -> dict[str, str]:
        waiting = sum(draft.dirty and not draft.parked for draft in self.drafts.values())
        told = {
            "Host": f"localhost:{self.port}",
            "Sec-Fetch-Site": "same-origin",
            "X-Outbox": "1",
            "X-Unsent": str(waiting),
            "X-Clock": self.clock,
            "X-Mark": self.mark,
            "Cookie": self.cookie,
            "Content-Type": "application/json" if method == "PUT" else None,
        }
        return {name: value for name, value in told.items() if value}

    def _note_epoch(self, said: Mapping[str, Any]) -> None:
        self.mark = said["mark"] if isinstance(said.get("mark"), str) else self.mark
        if not isinstance(said.get("epoch"), str):
            return
        before, self.epoch = self.epoch, said["epoch"]
        if before in {"", self.epoch}:
            return
        for draft in self.drafts.values():
            draft.sent = list(dict.fromkeys([*draft.had, *draft.sent]))
            draft.dirty, draft.base = True, 0

    @property
    def store(self) -> dict[str, str]:
        """What is on the phone, by inspection."""
        return {one: hash_of(draft.document) for one, draft in self.drafts.items()}

    @property
    def unsent(self) -> dict[str, str]:
        """What is on the phone and nowhere else, as far as it knows."""
        return {one: hash_of(draft.document) for one, draft in self.drafts.items() if draft.dirty}
