"""What a first visit and an inspection weigh on the wire: the two figures that we promise.

As `tests/bench/offline_bench.py` counts in a real browser, without one: bodies, as compressed for a
browser that takes Brotli, each fetched once. Pictures are not counted.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from quickcheck import paths
from quickcheck.desk import Shelf, gather, reference_paths
from quickcheck.store import open_store
from quickcheck.web import Settings, create_app
from tests.web.kit import HERE

FIRST_VISIT, LATER, INSPECTION = 90_000, 16_000, 60_000  # bytes
DEMO = reference_paths(paths.DEMO / "references")
IDS = sorted(gather(DEMO).current)


@dataclass(frozen=True)
class Shop:
    """The application on the demo's references."""

    client: FlaskClient
    shelf: Shelf

    def weigh(self, addresses: set[str]) -> dict[str, int]:
        """Return address → bytes of its body on the wire."""
        return {address: len(self.packed(address)) for address in sorted(addresses)}

    def packed(self, address: str) -> bytes:
        """Return a body as it travels."""
        reply = self.client.get(address, headers={"Accept-Encoding": "gzip, deflate, br"})
        assert reply.status_code == 200, address
        return reply.data

    def listed(self, name: str) -> set[str]:
        """Return the addresses of one of the worker's lists."""
        found = re.search(rf"\b{name} ?= ?(\[\[.*?\]\])", self.client.get("/sw.js").text)
        assert found
        return {address for address, _, _ in json.loads(found[1])}

    def loaded(self, page: str) -> set[str]:
        """Return a page's address and those of what it loads at once."""
        tags = re.findall(r"<(?:script|link|img)\b[^>]*>", self.client.get(page).text)
        tags = [tag for tag in tags if "apple-touch-icon" not in tag and "drawing" not in tag]
        return {page, *re.findall(r'(?:src|href)="(/[^"]+)"', " ".join(tags))}


@pytest.fixture(name="shop", scope="module")
def _shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    with open_store(Path(tmp_path_factory.mktemp("weight")) / "book.sqlite3") as store:
        shelf = gather(DEMO, general=reference_paths(paths.GENERAL))
        for reference in shelf.current.values():
            store.library.keep(reference)
        yield Shop(create_app(Settings(store, shelf)).test_client(), shelf)


def report(weights: dict[str, int]) -> str:
    """Return what weighs how much, the heaviest first, for whoever must make it lighter."""
    lines = sorted(weights.items(), key=lambda item: -item[1])
    return "\n".join(f"{size:8,}  {address}" for address, size in lines)


@pytest.mark.parametrize("name", IDS)
def test_first_visit(shop: Shop, name: str) -> None:
    """All that a device needs to work without a network, with one reference, is at most 90 kB."""
    files = shop.listed("FILES")
    here = f"/references/{shop.shelf.current[name].hash[:16]}"
    lists = {"/sw.js", "/device/pack.json", f"{here}/pack.json", f"{here}/model.json"}
    weights = shop.weigh(shop.loaded("/") | files | lists | {"/api/epoch"})
    assert sum(weights.values()) <= FIRST_VISIT, report(weights)


def test_the_rest(shop: Shop) -> None:
    """What a first visit does not wait for is at most 16 kB, and nothing of it is fetched before."""
    later = shop.listed("LATER")
    assert not later & shop.listed("FILES")
    weights = shop.weigh(later | {"/device/later.json"})
    assert sum(weights.values()) <= LATER, report(weights)


@pytest.mark.parametrize("name", [*IDS, "us-electric-by-markings"])
def test_inspection(shop: Shop, name: str) -> None:
    """An inspection's page, its scripts and its styles are at most 60 kB."""
    fields = {"reference": name, "year": "1954", "part": "whole", "access": "open"}
    begun = shop.client.post("/", data=fields, headers=HERE)
    loaded = shop.loaded(begun.location) - {"/manifest.webmanifest"}
    assert len(loaded) > 3
    weights = shop.weigh(loaded)
    assert sum(weights.values()) <= INSPECTION, report(weights)
