"""What was answered is still there after the power went, on the same address."""

from pathlib import Path

import pytest

from tests.browser.pages import Site, new_inspection
from tests.kit import Server

pytestmark = pytest.mark.browser


def test_an_answer_outlives_a_killed_server(tmp_path: Path) -> None:
    """An answer that the server took is in the book of the next process."""
    with Server(tmp_path) as server:
        path = new_inspection(Site(server))
        given = server.post(f"{path}/answer", {"_point": "knobs", "knobs": "wood", "_go": "next"})
        assert given.status == 200, given.text
        server.kill()
        server.start()
        page = server.get(f"{path}?at=knobs").text
    assert page.count('value="wood" checked') == 1


def test_two_servers_never_share_a_port(tmp_path: Path) -> None:
    """A second program on a taken port says so and ends; the first goes on."""
    with Server(tmp_path / "first") as first:
        second = Server(tmp_path / "second", port=first.port)
        with pytest.raises(RuntimeError, match="Stop what listens there"):
            second.start()
        assert first.get("/").status == 200
