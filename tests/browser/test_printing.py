"""A page is printed by a press; its paper copy says what it is, and what cannot be pressed on paper is not on it."""

import io

import pytest
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader

from tests import worlds
from tests.browser.floor import sign_in

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]


def enter(page: Page) -> None:
    sign_in(page, "auditor", worlds.PASSWORD)


def test_print_asks_the_browser_and_the_paper_says_what_it_is(page: Page):
    worlds.a_straight_week()
    enter(page)
    page.goto("/stores/?which=past")
    page.evaluate("window.print = () => { document.body.dataset.asked = 'yes'; }")
    page.get_by_role("button", name="Print").click()
    expect(page.locator("body[data-asked=yes]")).to_have_count(1)
    expect(page.get_by_text("Print: in your browser’s menu")).to_be_hidden()
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    words = " ".join(PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages[0].extract_text().split())
    for told in ("The shelf, Stores", "Records up to entry", "for The auditor, printed", "Which: Past their end"):
        assert told in words
    assert "page 1 of 1" in words
    for pressed in ("CSV file", "Narrow it", "Sign out"):
        assert pressed not in words


def test_without_script_the_page_says_where_print_is(browser: Browser, live_server):
    worlds.a_straight_week()
    page = browser.new_page(java_script_enabled=False, base_url=live_server.url)
    enter(page)
    page.goto("/stores/")
    expect(page.get_by_text("Print: in your browser’s menu")).to_be_visible()
    expect(page.get_by_role("button", name="Print")).to_be_hidden()
    page.close()
