"""`/veil`: hide the verdict from the owner's eyes."""

import pytest

from tests.web.checklist import Changing
from tests.web.kit import HERE, Site


class TestChecklist(Changing):
    """What holds at every endpoint."""

    path = "/veil"


def test_hidden_and_shown(site: Site) -> None:
    """One tap hides the verdict on the next page, another shows it."""
    inspection = site.begin()
    path = f"/inspect/{inspection}"
    response = site.post("/veil", {"veil": "1", "back": f"{path}?at=knobs"})
    assert (response.status_code, response.location) == (303, f"{path}?at=knobs")
    page = site.get(path)
    assert 'class="strip veiled"' in page.text
    assert "Show verdict" in page.text
    site.post("/veil", {"veil": "0", "back": path})
    page = site.get(path)
    assert 'class="strip"' in page.text
    assert "Hide verdict" in page.text


def test_parts_are_veiled_too(site: Site) -> None:
    """While it is hidden, the reply to a script keeps it hidden."""
    inspection = site.begin()
    site.post("/veil", {"veil": "1", "back": "/"})
    response = site.answer(inspection, "knobs", script=True, seen="wood")
    assert 'class="strip veiled"' in response.text


def test_cookie(site: Site) -> None:
    """The cookie is for our own pages alone and is readable by the script that shares it."""
    cookie = site.post("/veil", {"veil": "1", "back": "/"}).headers["Set-Cookie"]
    assert "veil=1" in cookie
    assert "SameSite=Strict" in cookie
    assert "Path=/" in cookie
    assert "Secure" not in cookie
    form = {"data": {"veil": "1"}, "base_url": "https://localhost", "headers": HERE}
    assert "Secure" in site.client.post("/veil", **form).headers["Set-Cookie"]


@pytest.mark.parametrize(
    "back",
    [
        "https://elsewhere.example/",
        "//elsewhere.example/",
        "/\\elsewhere.example",
        "\\\\elsewhere.example",
        "javascript:alert(1)",
        "elsewhere",
        "",
        " //elsewhere.example",
        "/\t/elsewhere.example",
        "/\n/elsewhere.example",
        "/\r\nSet-Cookie: a=b",
    ],
)
def test_leads_nowhere_else(site: Site, back: str) -> None:
    """Whatever is given as the way back, the reply leads to a page of ours."""
    response = site.post("/veil", {"veil": "1", "back": back})
    assert response.status_code == 303
    where = response.location or ""
    assert where.startswith("/")
    stripped = where.translate({9: None, 10: None, 13: None})  # as a browser reads an address
    assert not stripped.startswith(("//", "/\\"))
    assert len(response.headers.getlist("Set-Cookie")) == 1


def test_nothing_given(site: Site) -> None:
    """Without fields the verdict is shown and the start is where it leads."""
    response = site.post("/veil", {})
    assert (response.status_code, response.location) == (303, "/")
    assert "veil=0" in response.headers["Set-Cookie"]


@pytest.mark.parametrize("veil", ["2", "yes", "1; Domain=elsewhere.example", "\x00", "é"])
def test_odd_value(site: Site, veil: str) -> None:
    """Anything but 1 does not hide, and adds nothing to the cookie."""
    inspection = site.begin()
    response = site.post("/veil", {"veil": veil, "back": "/"})
    assert response.status_code == 303
    assert "Domain=elsewhere" not in response.headers["Set-Cookie"].replace('"', "").split("; ", 1)[
        1
    ] or (response.headers["Set-Cookie"].startswith('veil="'))
    assert 'class="strip"' in site.get(f"/inspect/{inspection}").text
