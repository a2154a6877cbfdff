"""How large an inspection is on the wire: the page, its styles, its scripts and the model, compressed.

``python tests/bench/page_bench.py``: asks the real application for the inspection page of each
demo reference and for everything that the page and its modules load, as a browser that takes gzip
does, and prints the bytes of every part. Pictures come as they are looked at and are not
counted, nor what only installing asks for, nor what a module fetches later on (htmx, the code's
maker, the worker).
"""

import re
import sys
import tempfile
from pathlib import Path
from urllib.parse import urljoin

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from flask.testing import FlaskClient  # noqa: E402

from quickcheck import paths  # noqa: E402
from quickcheck.desk import gather, reference_paths  # noqa: E402
from quickcheck.store import open_store  # noqa: E402
from quickcheck.web import Settings, create_app  # noqa: E402

TARGET = 60_000  # bytes
ZIP = {"Accept-Encoding": "gzip"}


def size(client: FlaskClient, address: str) -> int:
    """Return how many bytes a reply's body has on the wire."""
    response = client.get(address, headers=ZIP)
    if response.status_code != 200:
        raise RuntimeError(f"{address}: {response.status_code}")
    return len(response.data)


def loaded(client: FlaskClient, page: str) -> list[str]:
    """Return the addresses of everything that a page loads at once, modules' modules as well."""
    tags = re.findall(r"<(?:script|link|img)[^>]*>", client.get(page).text)
    tags = [tag for tag in tags if not re.search(r"apple-touch-icon|manifest|drawing", tag)]
    found = [src for tag in tags for src in re.findall(r'(?:src|href)="(/[^"]+)"', tag)]
    for address in found:  # grows while it is walked
        if address.endswith(".js"):
            names = re.findall(
                r"^(?:import|export)\b[^;]*?'(\.[^']+)'", _text(client, address), re.MULTILINE
            )
            found += [one for name in names if (one := urljoin(address, name)) not in found]
    return list(dict.fromkeys(found))


def _text(client: FlaskClient, address: str) -> str:
    return client.get(address).text


def measure(client: FlaskClient, page: str) -> dict[str, int]:
    """Return part → bytes on the wire of one inspection page."""
    parts = {"page": size(client, page)}
    for address in loaded(client, page):
        parts[address.split("/", 3)[-1]] = size(client, address)
    model = re.search(r"/references/([0-9a-f]{16})/", client.get(page).text)
    if model and client.get(f"/references/{model[1]}/model.json").status_code == 200:
        parts["model.json"] = size(client, f"/references/{model[1]}/model.json")
    return parts


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(Path(folder) / "book.sqlite3")
        shelf = gather(reference_paths(paths.DEMO / "references"))
        client = create_app(Settings(store, shelf)).test_client()
        worst = 0
        for name in sorted(shelf.current):
            fields = {"reference": name, "year": "1954", "part": "whole", "access": "open"}
            begun = client.post("/", data=fields, headers={"Sec-Fetch-Site": "same-origin"})
            parts = measure(client, begun.location)
            total = sum(parts.values())
            worst = max(worst, total)
            print(f"{name}, {len(shelf.current[name].points)} points: {total:,} bytes gzipped")
            for part, count in sorted(parts.items(), key=lambda part: -part[1]):
                print(f"{count:10,}  {part}")
        store.close()
    print(f"target  at most {TARGET:,} bytes: {'met' if worst <= TARGET else 'MISSED'}, {worst:,}")


if __name__ == "__main__":
    main()
