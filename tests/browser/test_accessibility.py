"""Every page for every eye and hand: axe's rules, small screens, thumbs, light and dark."""

import os
from typing import Literal

import pytest
from playwright.sync_api import Page, ViewportSize

from tests.browser.pages import PAGES, Shown, Site, npm_file

pytestmark = pytest.mark.browser

Light = Literal["light", "dark"]

PHONE = ViewportSize(width=390, height=844)
SMALL = ViewportSize(width=320, height=640)
EVERY_LIGHT: list[tuple[Light, ViewportSize]] = [
    ("light", SMALL),
    ("dark", PHONE),
    ("dark", SMALL),
    ("light", PHONE),
]
# a short run sees each screen and each scheme once
LIGHTS = EVERY_LIGHT if os.environ.get("QUICKCHECK_FULL") else EVERY_LIGHT[:2]
INSPECTING = ("inspection", "pick", "measure", "scan")
THUMB = 48  # CSS pixels: about 9 mm, what a thumb hits
LINK = 24  # CSS pixels: WCAG 2.2, 2.5.8 Target Size (Minimum)

# WCAG 2.2 to level AA, and the advice that goes beyond it.
_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
_AXE = """async (tags) => {
  const { violations } = await axe.run(document, { runOnly: tags, resultTypes: ['violations'] });
  return violations.flatMap(({ id, help, nodes }) => nodes.map(
    (node) => `${id}: ${help}\\n    ${node.html.slice(0, 200)}\\n    ${node.failureSummary}`));
}"""
# What can be tapped, by what is really hit: a label belongs to its field, and a field that is laid
# over its label, unseen, is hit through the label.
_TARGETS = """() => {
  const shown = (e) => e.checkVisibility({ visibilityProperty: true }) && !e.closest('[inert]');
  const field = 'input:not([type=hidden]), select, textarea';
  const found = [...document.querySelectorAll(`a[href], button, summary, label, ${field}`)];
  return found.filter(shown).flatMap((e) => {
    if (e.matches(field) && e.closest('label')) return [];
    if (e.matches('label') && !e.querySelector(field)) return [];
    const { width, height, right, bottom } = e.getBoundingClientRect();
    if (right + scrollX <= 0 || bottom + scrollY <= 0) return [];   // not there until it has the focus
    const inline = e instanceof HTMLAnchorElement && getComputedStyle(e).display === 'inline';
    return [{ what: e.outerHTML.slice(0, 160), inline, width, height }];
  });
}"""
_WIDER = """() => {
  const width = innerWidth;
  const held = (e) => e.parentElement?.closest('.scroll, [role=region], pre, svg');
  const out = [...document.querySelectorAll('body *')].filter(
    (e) => e.getBoundingClientRect().right > width + 1 && !held(e));
  return { page: document.scrollingElement.scrollWidth, width,
           who: out.slice(0, 5).map((e) => e.outerHTML.slice(0, 120)) };
}"""


def _sideways(page: Page) -> list[str]:
    """Return what is wider than the screen."""
    found = page.evaluate(_WIDER)
    return [f"scrolls sideways: {found}"] if found["page"] > found["width"] else []


def _low(page: Page) -> list[str]:
    """Return what a thumb misses: less than 48 px high, a link in a text less than 24."""
    targets = page.evaluate(_TARGETS)
    assert len(targets) > 5
    low = [t for t in targets if t["height"] < (LINK if t["inline"] else THUMB) - 0.5]
    return [f"{t['height']:.1f} px high: {t['what']}" for t in low]


@pytest.mark.parametrize("shown", PAGES, ids=lambda shown: shown.name)
def test_a_page_is_for_every_eye_and_hand(
    page: Page, site: Site, shown: Shown, complaints: list[str]
) -> None:
    """A page breaks no rule of axe, scrolls nobody sideways, is hit by thumbs, and throws nothing.

    The rules are WCAG 2.2 AA's and axe's advice, in light and dark; 320 CSS pixels are also a large
    page zoomed four times; thumbs are for inspecting and for reading a card. The page is opened
    once, on the small screen and without movements, and the rest follows there.
    """
    first, screen = LIGHTS[0]
    page.set_viewport_size(screen)
    page.emulate_media(reduced_motion="reduce", color_scheme=first)
    shown.open(page, site)
    page.evaluate(npm_file("axe-core/axe.min.js").read_text(encoding="utf-8"))
    found: list[str] = []
    for scheme, size in LIGHTS:
        page.set_viewport_size(size)
        page.emulate_media(reduced_motion="reduce", color_scheme=scheme)
        here = _sideways(page) + page.evaluate(_AXE, _TAGS)
        if shown.name.startswith(INSPECTING):
            here += _low(page)
        found += [f"{scheme}, {size['width']} px: {each}" for each in here]
    assert not found, "\n".join(found)
    page.wait_for_load_state("networkidle")
    assert complaints == [], "a script throws, or the content security policy refuses something"


def test_the_console_would_not_hide_a_refusal(
    page: Page, site: Site, complaints: list[str]
) -> None:
    """A style written into a page is refused by the policy, and the test above would tell."""
    page.goto(site.server.url)
    page.evaluate("document.body.setAttribute('style', 'color: red')")
    assert any("Content Security Policy" in complaint for complaint in complaints)


def test_axe_would_find_a_field_without_a_name(page: Page, site: Site) -> None:
    """The rules are really run: a field that nothing names is found."""
    page.goto(site.server.url)
    page.evaluate("document.querySelector('main').append(document.createElement('input'))")
    page.evaluate(npm_file("axe-core/axe.min.js").read_text(encoding="utf-8"))
    assert any(found.startswith("label:") for found in page.evaluate(_AXE, _TAGS))
