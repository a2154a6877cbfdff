"""What a card's page weighs, and that it is rebuilt as it was judged: on the demo, and at random."""

import json
import os
import re
from datetime import timedelta
from pathlib import Path

import brotli

from quickcheck import desk, paths
from quickcheck.card import SealState, Signer, decode_any, seal
from quickcheck.store import KeyFiles, make_key, open_store
from quickcheck.web import Settings, create_app
from tests.card.test_round_trip import judged as random_cases
from tests.store.sealing import MADE as KEY_MADE
from tests.web.issuing import FORM, ISSUER, MADE
from tests.web.kit import HERE, Clock

MOST = 30_000  # bytes
BOOK = sorted((paths.DEMO / "book").glob("*-*.json"))


def test_every_demo_card(tmp_path: Path) -> None:
    """Sealed page and style of every instrument of the demo: 30 kB as they are, without a script."""
    shelf = desk.gather(desk.reference_paths(paths.DEMO / "references"))
    files = KeyFiles(tmp_path / "keys")
    documents = {path.stem: json.loads(path.read_text(encoding="utf-8")) for path in BOOK}
    with open_store(tmp_path / "book.sqlite3") as store:
        make_key(store.keys, files, issuer=ISSUER, now=MADE)
        desk.seed_book(store, shelf, documents)
        client = create_app(Settings(store, shelf, keys=files, now=Clock())).test_client()
        found = store.book.list(99)
        assert len(found) == len(BOOK)
        for saved in found:
            made = client.post(f"/inspect/{saved.id}/card", data=FORM, headers=HERE)
            for path in (made.location, f"{made.location}/print"):
                page = client.get(path)
                assert 'data-seal="sealed"' in page.text
                assert len(page.data) <= MOST, f"{saved.name}: {len(page.data)}"
                sheet = re.search(r'rel="stylesheet" href="([^"]+)"', page.text)
                assert sheet
                style = client.get(sheet[1]).data
                sent = len(brotli.compress(page.data)) + len(brotli.compress(style))
                assert sent <= MOST / 2, f"{saved.name}: {sent}"


def test_rebuilt_as_it_was_judged() -> None:
    """Judged, sealed, read back from the sealed bytes and judged again: equal on every random case."""
    signer = Signer(bytes([3]) * 32)
    cases = random_cases()
    for sheet, verdict, card in cases:
        data = seal(card, signer).data
        again = decode_any(data, sheet.reference)
        assert again == card
        rebuilt = desk.judge_sheet(sheet.reference, again.document())
        assert rebuilt.verdict == verdict
    assert len(cases) == (500 if os.environ.get("QUICKCHECK_FULL") else 100)


def test_through_the_log(tmp_path: Path) -> None:
    """The same through the issue log of a book, one after the other: shown as it was judged."""
    files = KeyFiles(tmp_path / "keys")
    with open_store(tmp_path / "book.sqlite3") as store:
        make_key(store.keys, files, issuer=ISSUER, now=KEY_MADE - timedelta(days=30))
        signer = desk.signer_needed(store, files)
        for sheet, verdict, card in random_cases()[::10]:
            store.library.keep(sheet.reference)
            data = store.cards.issue(card, signer).data
            shown = desk.read_card(store, str(int.from_bytes(b"\1" + data, "big")))
            assert shown.seal.state is SealState.SEALED
            assert shown.judged
            assert shown.judged.verdict == verdict
            assert not shown.differs


def test_public_pages_load_no_script() -> None:
    """The templates of what anybody may open name no script and nothing from elsewhere."""
    for name in ("cards/_page.html", "cards/card.html", "issuer/keys.html", "issuer/recalls.html"):
        text = (paths.TEMPLATES / name).read_text(encoding="utf-8")
        assert "<script" not in text
        assert "http" not in text
