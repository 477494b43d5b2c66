"""Every kind of page is held against the rules of axe-core 4 (WCAG 2.2 A and AA among them), in all three lights."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

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


def test_no_page_scrolls_sideways_on_a_narrow_screen(page: Page):
    worlds.a_straight_week()
    worlds.matters_waiting()
    page.set_viewport_size({"width": 320, "height": 640})
    page.goto("/sign/in/")
    page.get_by_label("Badge").fill("review")
    page.get_by_label("Password").fill(worlds.PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    widths = {}
    for address in PAGES:
        page.goto(address)
        widths[address] = page.evaluate("document.documentElement.scrollWidth")
    assert {address: width for address, width in widths.items() if width > 320} == {}
