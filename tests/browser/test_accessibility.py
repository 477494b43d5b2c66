"""Every kind of page is held against the rules of axe-core 4 (WCAG 2.2 A and AA among them), in all three lights."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests import worlds

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PAGES = [
    "/",
    "/trace/",
    "/trace/?code=RB-II42",
    f"/trace/unit/{worlds.HERE}/",
    f"/trace/unit/{worlds.RESIN}/",
    f"/trace/lot-to-frames/{worlds.RESIN}/",
    f"/trace/hold/{worlds.HERE}/",
    f"/trace/hold-all/{worlds.RESIN}/",
    f"/trace/in-common/?codes={worlds.HERE}&among=lot&days=7",
    "/review/",
    f"/review/note/{worlds.HERE}/",
    f"/review/release/{worlds.HERE}/",
    "/review/going/",
    "/charts/OSIER/shell-width/",
    "/review/swap/",
    "/nowhere/",
]


def faults(page: Page) -> list[str]:
    found = Axe().run(page).response["violations"]
    return [f"{page.url} {fault['id']}: {node['html'][:90]}" for fault in found for node in fault["nodes"]]


def enter(page: Page) -> None:
    page.goto("/sign/in/")
    page.get_by_label("Badge").fill("review")
    page.get_by_label("Password").fill(worlds.PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("button", name="Sign in")).to_have_count(0)


def contrast(one: str, other: str) -> float:
    """Ratio of two colours as a browser tells them, by the formula of WCAG 2.2 (relative luminance)."""

    def luminance(colour: str) -> float:
        shares = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
        red, green, blue = (s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.long
def test_no_page_breaks_a_rule_of_accessibility_in_any_light(page: Page):
    worlds.a_straight_week()
    worlds.matters_waiting()
    page.goto("/sign/in/")
    found = faults(page)
    page.get_by_label("Badge").fill("review")
    page.get_by_label("Password").fill(worlds.PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    for light in ("paper", "dark", "glare"):
        page.evaluate("light => localStorage.setItem('light', light)", light)
        for address in PAGES:
            page.goto(address)
            found += [f"{light} {fault}" for fault in faults(page)]
    assert found == []


# A narrow phone, and a desk of 1280 px at 200 %.
@pytest.mark.parametrize("width", [320, 640])
def test_no_page_scrolls_sideways_on_a_narrow_screen_or_at_twice_the_size(page: Page, width: int):
    worlds.a_straight_week()
    worlds.matters_waiting()
    page.set_viewport_size({"width": width, "height": 640})
    enter(page)
    widths = {}
    for address in PAGES:
        page.goto(address)
        widths[address] = page.evaluate("document.documentElement.scrollWidth")
    assert {address: wide for address, wide in widths.items() if wide > width} == {}


# What is drawn, by the page that draws it.
DRAWN = {
    f"/trace/unit/{worlds.HERE}/": ".life-strand",
    f"/trace/lot-to-frames/{worlds.RESIN}/": ".strand",
    "/plant/": ".flow-strand",
}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_drawings_stand_out_in_colours_of_the_readers_own(page: Page, scheme: str):
    worlds.a_straight_week()
    page.set_viewport_size({"width": 1440, "height": 900})
    page.emulate_media(forced_colors="active", color_scheme=scheme)
    enter(page)
    for address, drawn in DRAWN.items():
        page.goto(address)
        stroke = page.locator(drawn).first.evaluate("one => getComputedStyle(one).stroke")
        ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
        assert contrast(stroke, ground) > 7, (address, stroke, ground)
    page.goto(f"/trace/unit/{worlds.HERE}/")
    # Else the system's plate would cover the words of a filled key.
    kept = page.locator(".btn").first.evaluate("one => getComputedStyle(one).forcedColorAdjust")
    assert kept == "none"


def test_a_page_is_worked_with_the_keyboard_alone(page: Page):
    worlds.a_straight_week()
    enter(page)
    page.goto(f"/trace/unit/{worlds.HERE}/")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Go to the page")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    seen = []
    for _ in range(12):
        seen.append(page.evaluate("document.activeElement.innerText"))
        ring = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert ring == "3px", (seen[-1], ring)
        if seen[-1] == "Hold it":
            break
        page.keyboard.press("Tab")
    assert seen[-1] == "Hold it"
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Why do you hold")
