"""Every page for every eye and hand: axe's rules, small screens, thumbs, light and dark."""

import os
from typing import Any

import pytest
from playwright.sync_api import Page, ViewportSize

from tests.browser.pages import PAGES, Shown, Site, npm_file

pytestmark = pytest.mark.browser

PHONE = ViewportSize(width=390, height=844)
SMALL = ViewportSize(width=320, height=640)
SCREENS = pytest.mark.parametrize("screen", [PHONE, SMALL], ids=["390", "320"])
EVERY_LIGHT = [("light", PHONE), ("dark", PHONE), ("light", SMALL), ("dark", SMALL)]
# a short run sees each screen and each scheme once
LIGHTS = pytest.mark.parametrize(
    ("scheme", "screen"),
    EVERY_LIGHT if os.environ.get("QUICKCHECK_FULL") else EVERY_LIGHT[1:3],
    ids=lambda value: value if isinstance(value, str) else str(value["width"]),
)
EVERY_PAGE = pytest.mark.parametrize("shown", PAGES, ids=lambda shown: shown.name)
INSPECTING = pytest.mark.parametrize(
    "shown",
    [shown for shown in PAGES if shown.name.startswith(("inspection", "pick", "measure", "scan"))],
    ids=lambda shown: shown.name,
)
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


def look(page: Page, shown: Shown, site: Site, screen: ViewportSize = PHONE) -> None:
    """Open a page on a screen, without the movements that would still be going on."""
    page.set_viewport_size(screen)
    page.emulate_media(reduced_motion="reduce")
    shown.open(page, site)


@EVERY_PAGE
@LIGHTS
def test_axe_finds_nothing(
    page: Page, site: Site, shown: Shown, screen: ViewportSize, scheme: Any
) -> None:
    """No page breaks a rule of WCAG 2.2 AA that a program can check, nor axe's own advice."""
    page.emulate_media(color_scheme=scheme)
    look(page, shown, site, screen)
    page.evaluate(npm_file("axe-core/axe.min.js").read_text(encoding="utf-8"))
    found = page.evaluate(_AXE, _TAGS)
    assert not found, "\n".join(found)


@EVERY_PAGE
def test_a_small_screen_and_a_silent_console(
    page: Page, site: Site, shown: Shown, complaints: list[str]
) -> None:
    """At 320 CSS pixels, or a large page zoomed four times, nobody scrolls sideways; nothing throws."""
    look(page, shown, site, SMALL)
    found = page.evaluate(_WIDER)
    assert found["page"] <= found["width"], found
    page.wait_for_load_state("networkidle")
    assert complaints == [], "a script throws, or the content security policy refuses something"


@INSPECTING
@SCREENS
def test_a_thumb_hits_every_target(
    page: Page, site: Site, shown: Shown, screen: ViewportSize
) -> None:
    """All that can be tapped while inspecting or reading a card is 48 px high; a link in text, 24."""
    look(page, shown, site, screen)
    targets = page.evaluate(_TARGETS)
    assert len(targets) > 5
    low = [t for t in targets if t["height"] < (LINK if t["inline"] else THUMB) - 0.5]
    assert not low, "\n".join(f"{t['height']:.1f} px: {t['what']}" for t in low)


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
