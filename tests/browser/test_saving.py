"""Where answers go straight to the server: it dies, comes back, and each is there exactly once."""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect

from tests.browser.walking import PHONE, Shop, answer, at, press, ready, saved, straight, write

pytestmark = pytest.mark.browser
NewContext = Callable[..., BrowserContext]
PATIENCE = 15_000  # milliseconds: the page sends again every four seconds


@pytest.fixture(name="shop")
def _shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """Return a shop whose server a test may end and start again."""
    shop = Shop.on(tmp_path_factory.mktemp("shop"))
    with shop.server:
        yield shop


@pytest.fixture(name="phone")
def _phone(new_context: NewContext) -> Page:
    return straight(new_context(**PHONE)).new_page()


def unsent(page: Page, count: int) -> None:
    """Wait until the page says how many answers are not on the server."""
    said = page.locator("[data-unsent]")
    expect(said).to_have_attribute("data-unsent", str(count), timeout=PATIENCE)


def versions(shop: Shop, path: str, point: str) -> list[object]:
    """Return every answer that was ever stored at a point, in order, each change once."""
    found: list[object] = []
    for entry in shop.history(path):
        given = entry.document["answers"].get(point)
        if given is not None and (not found or found[-1] != given):
            found.append(given)
    return found


def test_killed_right_after_saved(shop: Shop, phone: Page) -> None:
    """What the page calls saved is there after the power went at that very moment."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at=knobs")
    ready(phone)
    wanted = {}
    for point, variant in (("knobs", "wood"), ("board", "pear"), ("nut", "bone")):
        phone.goto(f"{shop.server.url}{path}?at={point}")
        ready(phone)
        phone.locator("#strip .saved").evaluate("it => it.removeAttribute('data-saved')")
        answer(phone, shop.reference.by_id[point], {"seen": variant}, thumb=True)
        saved(phone)
        shop.server.kill()
        wanted[point] = {"seen": variant}
        assert shop.answers(path) == wanted
        shop.server.start()
    phone.goto(f"{shop.server.url}{path}")
    expect(phone.locator("#strip .count")).to_contain_text("3 of 26")


def test_dead_during_taps(shop: Shop, phone: Page) -> None:
    """Answers given while the server is dead are kept, said to be unsaved, and sent once."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at=knobs")
    ready(phone)
    shop.server.kill()
    by_id = shop.reference.by_id
    answer(phone, by_id["knobs"], {"seen": "wood", "note": "one cracked"}, thumb=True)
    unsent(phone, 1)
    expect(phone.locator("#strip .saved")).to_contain_text("Not saved yet")
    press(phone.get_by_role("button", name="Next"), thumb=True)
    shown = phone.locator("fieldset[data-point]:visible")
    expect(shown).not_to_have_attribute("data-point", "knobs")
    point = shown.get_attribute("data-point") or ""
    answer(phone, by_id[point], {"not_seen": "no-time"}, thumb=True)
    unsent(phone, 2)
    assert shop.answers(path) == {}
    shop.server.start()
    unsent(phone, 0)
    expect(phone.locator("#strip .saved")).to_have_attribute("data-saved", "server")
    wanted = {"seen": "wood", "note": "one cracked"}
    assert shop.answers(path) == {"knobs": wanted, point: {"not_seen": "no-time"}}
    assert versions(shop, path, "knobs") == [wanted]
    assert len(shop.history(path)) == 3


def test_verdict_follows_what_was_sent_again(shop: Shop, phone: Page) -> None:
    """Once the answers have arrived the strip says the verdict and the count with them."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at=knobs")
    ready(phone)
    shop.server.kill()
    answer(phone, shop.reference.by_id["knobs"], {"seen": "wood"}, thumb=True)
    unsent(phone, 1)
    shop.server.start()
    unsent(phone, 0)
    expect(phone.locator("#strip .count")).to_contain_text("1 of 26")


def test_never_saved_while_one_is_unsent(shop: Shop, phone: Page) -> None:
    """A later answer that arrives does not make the page call an earlier one saved."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at=knobs")
    ready(phone)

    def refuse_knobs(route: Route) -> None:
        if "_point=knobs" in (route.request.post_data or ""):
            route.abort("connectionrefused")
        else:
            route.continue_()

    phone.route("**/answer", refuse_knobs)
    by_id = shop.reference.by_id
    answer(phone, by_id["knobs"], {"seen": "wood"}, thumb=True)
    unsent(phone, 1)
    press(phone.get_by_role("button", name="Next"), thumb=True)
    shown = phone.locator("fieldset[data-point]:visible")
    expect(shown).not_to_have_attribute("data-point", "knobs")
    point = shown.get_attribute("data-point") or ""
    answer(phone, by_id[point], {"not_seen": "no-time"}, thumb=True)
    expect(phone.locator("#strip .count")).to_contain_text("1 of 26")
    unsent(phone, 1)
    assert phone.locator("#strip .saved").get_attribute("data-saved") != "server"
    phone.unroute("**/answer")
    unsent(phone, 0)
    assert set(shop.answers(path)) == {"knobs", point}


def test_changed_while_dead(shop: Shop, phone: Page) -> None:
    """Of several answers at one point while the server was dead the last one is stored."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at=knobs")
    ready(phone)
    shop.server.kill()
    for variant in ("wood", "cream", "black"):
        answer(phone, shop.reference.by_id["knobs"], {"seen": variant}, thumb=True)
        unsent(phone, 1)
    shop.server.start()
    unsent(phone, 0)
    assert shop.answers(path) == {"knobs": {"seen": "black"}}
    assert versions(shop, path, "knobs") == [{"seen": "black"}]


def test_leaving_with_unsent_answers_is_asked(shop: Shop, phone: Page) -> None:
    """Whoever leaves the page with answers that are not on the server is asked first."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at=knobs")
    ready(phone)
    shop.server.kill()
    answer(phone, shop.reference.by_id["knobs"], {"seen": "wood"}, thumb=True)
    unsent(phone, 1)
    asked: list[str] = []

    def stay(dialog: object) -> None:
        asked.append(getattr(dialog, "type", ""))
        getattr(dialog, "dismiss")()  # noqa: B009 – a dialog, whatever its class is called

    phone.on("dialog", stay)
    phone.evaluate("setTimeout(() => location.assign('/book'))")
    expect(phone.locator("#strip .saved")).to_contain_text("Not saved yet")
    phone.wait_for_timeout(500)
    assert asked == ["beforeunload"]
    at(phone, "knobs")
    shop.server.start()
    unsent(phone, 0)


def test_slow_answer_is_waited_for(shop: Shop, phone: Page) -> None:
    """The button "Next" waits for the server's word: nothing is called saved before it came."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at=knobs")
    ready(phone)
    held: list[Route] = []
    phone.route("**/answer", lambda route: held.append(route))  # noqa: PLW0108 – marked by its caller
    answer(phone, shop.reference.by_id["knobs"], {"seen": "wood"}, thumb=True)
    press(phone.get_by_role("button", name="Next"), thumb=True)
    expect(phone.locator("#strip .saved")).to_have_text("Saving …")
    at(phone, "knobs")
    assert phone.locator("#strip .saved").get_attribute("data-saved") != "server"
    held.pop().continue_()
    phone.unroute("**/answer")
    saved(phone)
    expect(phone.locator("fieldset[data-point]:visible")).not_to_have_attribute(
        "data-point", "knobs"
    )
    assert shop.answers(path) == {"knobs": {"seen": "wood"}}


def test_typed_text_is_not_called_saved(shop: Shop, phone: Page) -> None:
    """Text that is still being typed is not called saved, and is sent without leaving the field."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at=knobs")
    ready(phone)
    answer(phone, shop.reference.by_id["knobs"], {"seen": "wood"}, thumb=True)
    saved(phone)
    held: list[Route] = []
    phone.route("**/answer", lambda route: held.append(route))  # noqa: PLW0108 – marked by its caller
    box = at(phone, "knobs")
    write(box, 'textarea[name="knobs.note"]', "one cracked", thumb=True)
    assert phone.locator("#strip .saved").get_attribute("data-saved") != "server"
    phone.unroute("**/answer")
    for route in held:
        route.continue_()
    expect(phone.locator('#strip [data-saved="server"]')).to_be_visible(timeout=PATIENCE)
    expect(box.locator("textarea")).to_be_focused()
    expect(box.locator("textarea")).to_have_value("one cracked")
    assert shop.answers(path) == {"knobs": {"seen": "wood", "note": "one cracked"}}
