"""Our modules one by one, as a page's whole script has them and does not offer them."""

from urllib.parse import urlsplit

from playwright.sync_api import Page, Route

from quickcheck import paths
from quickcheck.web.bundles import squeezed

WHERE = "/alone"


def alone(page: Page) -> str:
    """Let a page that is opened next import any module, squeezed as it is served.

    Returns the address that the modules are under. A worker would ask the server for them, so the
    page gets none.
    """
    page.add_init_script("delete Navigator.prototype.serviceWorker;")
    page.route(f"**{WHERE}/**", _answer)
    return f"{WHERE}/js"


def _answer(route: Route) -> None:
    name = urlsplit(route.request.url).path.removeprefix(f"{WHERE}/")
    text = (paths.STATIC / name).read_text(encoding="utf-8")
    # what is not ours is served as it is
    body = squeezed(text, "text/javascript") if name.startswith("js/") else text
    route.fulfill(body=body, content_type="text/javascript")
