"""The app on a device: whole without its server, changed only when asked, never to one that is broken."""

import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Error, Page, expect

from quickcheck import paths
from tests.browser.handset import the_rest
from tests.browser.walking import PHONE, POPLIN, Shop, ready

pytestmark = [pytest.mark.browser, pytest.mark.checkout]
NewContext = Callable[..., BrowserContext]
PATIENCE = 60_000  # milliseconds for a worker to fetch a build, on cores that are busy elsewhere
ROOT = paths.TEMPLATES.parent
OTHER = next(path.name for path in sorted((paths.DEMO / "references").iterdir()) if path != POPLIN)
CLAIM = f"/?reference={POPLIN.name}"


@pytest.fixture(name="shop")
def _shop(tmp_path: Path) -> Iterator[Shop]:
    shop = Shop.on(tmp_path / "shop")
    # a second one: with a single reference the start page is its claim form
    other = paths.DEMO / "references" / OTHER
    shutil.copytree(other, tmp_path / "shop" / "references" / OTHER)
    with shop.server:
        yield shop


@pytest.fixture(name="phone")
def _phone(new_context: NewContext) -> Page:
    return new_context(**PHONE).new_page()


def other_build(folder: Path, *changes: tuple[str, str, str]) -> Path:
    """Copy the checkout with one more line in a style sheet, and with changes to its files."""
    for name in ("quickcheck", "templates", "static", "demo"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    with (folder / "static/css/print.css").open("a", encoding="utf-8") as sheet:
        sheet.write(f"/* {folder.name} */\n")
    for name, old, new in changes:
        text = (folder / name).read_text(encoding="utf-8")
        assert text.count(old) == 1, f"{name} has no single {old!r}"
        (folder / name).write_text(text.replace(old, new), encoding="utf-8")
    return folder


def change_server(shop: Shop, tree: Path | None) -> str:
    """Serve another build on the same port; return its hash."""
    shop.server.stop()
    shop.server.tree = tree
    shop.server.start()
    return build_of(shop.server.get("/").text)


def build_of(text: str) -> str:
    """Return the build that a page is of."""
    found = re.search(r"/s/([0-9a-f]{12})/", text)
    assert found
    return found[1]


def keep_app(page: Page, shop: Shop) -> str:
    """Open the app and wait until it is whole on the device; return its build."""
    page.goto(shop.server.url)
    expect(page.locator("html[data-kept]")).to_have_count(1, timeout=PATIENCE)
    expect(page.locator('html[data-shelf="up"]')).to_have_count(1, timeout=PATIENCE)
    return build_of(page.content())


def keep_reference(page: Page) -> None:
    """Press "keep for offline" on the reference of the page."""
    button = page.locator(f'[data-offered="{POPLIN.name}"] button')
    button.tap()
    expect(button).to_have_attribute("aria-pressed", "true", timeout=PATIENCE)


def begin(page: Page) -> str:
    """Fill in the claim that is on the screen; return the path of the inspection."""
    ready(page)
    page.locator("label.chip", has=page.locator('input[name="year"][value="1953"]')).tap()
    page.locator("form.claim .go button").tap()
    expect(page).to_have_url(re.compile(r"/inspect/[0-9a-f-]{36}$"), timeout=PATIENCE)
    ready(page)
    return re.sub(r"^https?://[^/]+", "", page.url)


def look_for_update(page: Page) -> None:
    """Have the browser ask for the worker's script, as it does by itself at times."""
    page.evaluate(
        "navigator.serviceWorker.getRegistration().then((r) => r.update()).catch(() => 0)"
    )


def caches(page: Page) -> dict[str, list[str]]:
    """Return what is cached: {cache: sorted paths}."""
    found: dict[str, list[str]] = page.evaluate("""async () => {
      const all = {};
      for (const name of await caches.keys()) {
        const requests = await (await caches.open(name)).keys();
        all[name] = requests.map(({ url }) => new URL(url).pathname).sort();
      }
      return all;
    }""")
    return found


def offered_update(page: Page) -> Any:
    """Return the button of the notice that a new version is here, once it is there."""
    button = page.locator('[data-notice="update"] button', has_text="Update")
    expect(button).to_be_visible(timeout=PATIENCE)
    return button


def test_everything_opens_with_the_server_dead(shop: Shop, phone: Page) -> None:
    """Start, claim, inspection, verdict, card and book open; what is not here says so."""
    keep_app(phone, shop)
    keep_reference(phone)
    shop.server.kill()
    phone.goto(shop.server.url)
    expect(phone.locator("main .lead")).to_contain_text("The server does not answer")
    phone.locator("#device-references a").tap()
    path = begin(phone)
    expect(phone.locator("#strip .says b")).to_have_text("Too little seen")
    expect(phone.locator("form.inspection")).to_have_attribute(
        "data-inspection", path.rpartition("/")[2]
    )
    for suffix in ("/verdict", "/card", "/claim", ""):
        phone.goto(shop.server.url + path + suffix)
        ready(phone)
        assert "00000000-0000-0000-0000-000000000000" not in phone.content(), suffix
        expect(phone.locator("h1").first).not_to_have_text("Not on this device")
    phone.goto(f"{shop.server.url}/book")
    expect(phone.locator("#device-book a")).to_have_attribute("href", path)
    for elsewhere in ("/references", "/inspect/6d1f6a52-3c1e-4b0a-9b8e-0d6f0c2a7e11"):
        phone.goto(shop.server.url + elsewhere)
        expect(phone.locator("h1")).to_have_text("Not on this device")


def test_caches_hold_exactly_what_is_listed(shop: Shop, phone: Page) -> None:
    """A build's cache has its files and the kept editions' pages; an edition's cache the rest."""
    build = keep_app(phone, shop)
    keep_reference(phone)
    listed = re.findall(
        r'\["(/[^"]+)", ?"[a-z/+]+", ?"[0-9a-f]{64}"\]', shop.server.get("/sw.js").text
    )
    assert len(listed) == 6
    the_rest(phone)
    here = f"/references/{shop.reference.hash[:16]}"
    own = [f"/device/{name}" for name in ("start", "book", "missing", "read")]
    shells = [f"{here}/{name}" for name in ("inspection", "claim", "verdict", "card")]
    pictures = [f"{here}/pictures/{name}" for name in shop.reference.pictures]
    assert caches(phone) == {
        f"shell-{build}": sorted([*listed, *own, *shells, "/served"]),
        f"references-{shop.reference.hash[:16]}": sorted(
            [*pictures, f"{here}/model.json", f"{here}/pack.json"]
        ),
    }


def test_an_edition_can_be_let_go(shop: Shop, phone: Page) -> None:
    """The same button takes a reference off the device, pages and all."""
    build = keep_app(phone, shop)
    keep_reference(phone)
    button = phone.locator(f'[data-offered="{POPLIN.name}"] button')
    button.tap()
    expect(button).to_have_attribute("aria-pressed", "false")
    left = caches(phone)
    assert list(left) == [f"shell-{build}"]
    assert not [path for path in left[f"shell-{build}"] if path.startswith("/references")]


def test_a_sign_in_page_is_never_kept_as_a_script(shop: Shop, phone: Page, tmp_path: Path) -> None:
    """A build of which one script comes as HTML is not taken at all; the one before goes on."""
    old = keep_app(phone, shop)
    keep_reference(phone)
    poisoned = other_build(
        tmp_path / "poisoned",
        (
            "quickcheck/web/assets.py",
            "        found = kept[name]\n",
            (
                '        if name == "js/app.js":\n'
                '            return Response("<p>Sign in</p>", mimetype="text/html")\n'
                "        found = kept[name]\n"
            ),
        ),
    )
    new = change_server(shop, poisoned)
    assert new != old
    assert "Sign in" in shop.server.get(f"/s/{new}/js/app.js").text
    ends = phone.evaluate("""async () => {
      const registration = await navigator.serviceWorker.getRegistration();
      const ended = new Promise((done) => registration.addEventListener('updatefound', () => {
        const { installing } = registration;
        installing.addEventListener('statechange', () => done(installing.state));
      }));
      registration.update().catch(() => 0);
      return ended;
    }""")
    assert ends == "redundant"
    assert [name for name in caches(phone) if name.startswith("shell-")] == [f"shell-{old}"]
    shop.server.kill()
    phone.goto(shop.server.url + CLAIM)
    assert build_of(phone.content()) == old
    begin(phone)


def test_an_update_waits_for_what_is_typed(shop: Shop, phone: Page, tmp_path: Path) -> None:
    """The prompt comes beside the form; pressed too early it waits, in another tab's favour too."""
    old = keep_app(phone, shop)
    keep_reference(phone)
    typing = phone.context.new_page()
    typing.goto(shop.server.url + CLAIM)
    ready(typing)
    typing.locator('textarea[name="claim_words"]').fill("From the first owner")
    new = change_server(shop, other_build(tmp_path / "new"))
    look_for_update(phone)
    offered_update(typing)
    button = offered_update(phone)
    button.tap()
    expect(phone.locator('[data-notice="update"]')).to_contain_text("as soon as everything typed")
    phone.wait_for_timeout(2500)
    expect(typing.locator('textarea[name="claim_words"]')).to_have_value("From the first owner")
    assert build_of(phone.content()) == build_of(typing.content()) == old
    assert f"shell-{new}" in caches(phone)
    begin(typing)
    expect(phone.locator(f'script[src^="/s/{new}/"]').first).to_be_attached(timeout=PATIENCE)
    shop.server.kill()
    typing.reload()
    ready(typing)
    assert build_of(typing.content()) == new


def test_three_tabs_change_together(shop: Shop, phone: Page, tmp_path: Path) -> None:
    """One tap in one of three tabs brings all of them to the new build, once."""
    keep_app(phone, shop)
    tabs = [phone, phone.context.new_page(), phone.context.new_page()]
    for tab, path in zip(tabs, ("/", "/book", CLAIM), strict=True):
        tab.goto(shop.server.url + path)
        ready(tab)
    new = change_server(shop, other_build(tmp_path / "new"))
    look_for_update(phone)
    offered_update(phone).tap()
    for tab in tabs:
        expect(tab.locator(f'script[src^="/s/{new}/"]').first).to_be_attached(timeout=PATIENCE)
        ready(tab)


def test_an_old_worker_and_a_new_server(shop: Shop, phone: Page, tmp_path: Path) -> None:
    """Before anybody updates, old pages and new ones both work, and each is of one build."""
    old = keep_app(phone, shop)
    keep_reference(phone)
    phone.goto(shop.server.url + CLAIM)
    path = begin(phone)
    new = change_server(shop, other_build(tmp_path / "new"))
    phone.goto(shop.server.url + path)
    ready(phone)
    assert set(re.findall(r"/s/([0-9a-f]{12})/", phone.content())) == {old}
    phone.goto(shop.server.url)
    ready(phone)
    assert set(re.findall(r"/s/([0-9a-f]{12})/", phone.content())) == {new}
    shop.server.kill()
    phone.goto(shop.server.url + path)
    ready(phone)
    assert build_of(phone.content()) == old


def test_the_switch_takes_all_back(
    shop: Shop, phone: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Switched off, the server takes worker and caches away; inspections stay on the device."""
    keep_app(phone, shop)
    keep_reference(phone)
    phone.goto(shop.server.url + CLAIM)
    path = begin(phone)
    monkeypatch.setenv("QUICKCHECK_OFFLINE", "off")
    change_server(shop, None)
    look_for_update(phone)
    # the page follows at once, as nothing in it is unsaved
    expect(phone.locator("html:not([data-offline])")).to_have_count(1, timeout=PATIENCE)
    left = "navigator.serviceWorker.getRegistration().then((r) => r ? 1 : 0)"
    for _ in range(50):
        with suppress(Error):  # asked in the moment in which the page is loaded anew
            if not phone.evaluate(left) and not caches(phone):
                break
        phone.wait_for_timeout(200)
    assert phone.evaluate(left) == 0
    assert caches(phone) == {}
    phone.goto(shop.server.url)
    assert phone.locator("html[data-offline]").count() == 0
    assert phone.locator('script[src$="/js/app.js"]').count() == 1, "nothing is sent"
    drafts = phone.evaluate("""() => new Promise((done, fail) => {
      const opening = indexedDB.open('quickcheck');
      opening.onerror = fail;
      opening.onsuccess = () => {
        const asked = opening.result.transaction('drafts').objectStore('drafts').getAllKeys();
        asked.onsuccess = () => done(asked.result);
      };
    })""")
    assert drafts == [path.rpartition("/")[2]]


def test_a_plain_address_says_what_does_not_work(phone: Page, shop: Shop) -> None:
    """Where a browser has no worker the page says so, and what to do."""
    phone.add_init_script("Object.defineProperty(globalThis, 'isSecureContext', { value: false })")
    phone.goto(shop.server.url)
    expect(phone.locator('[data-notice="insecure"]')).to_contain_text(
        "Open the app by its https name"
    )
