"""The public pages of a frame in a browser without script: rules of axe-core 4 in both lights, narrow and with large
words, the policy kept, and a report sent with the keyboard alone.
"""

import pytest
from playwright.sync_api import Browser, Page, expect

from records.items.actions import place_hold
from records.ledger.clock import clock
from records.quality.models import OwnerReport
from records.release.models import Passport
from tests import worlds
from tests.browser.test_accessibility import beyond_the_keyboard, faults, sideways

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def token() -> str:
    """Of a frame that was shipped."""
    worlds.a_straight_week()
    return Passport.objects.get(unit__state__code=worlds.SHIPPED).token


def pages_of(token: str) -> list[str]:
    frame = f"/f/{token}/"
    return [frame, f"{frame}report/", f"{frame}reported/", "/f/nobody/", "/01/09521234544081/21/TW-26-004201"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_public_page_breaks_a_rule_of_accessibility(page: Page, token: str, scheme: str):
    page.emulate_media(color_scheme=scheme)
    found, complaints = [], []
    page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
    for address in pages_of(token):
        page.goto(address)
        found += [*faults(page), *beyond_the_keyboard(page), *sideways(page)]
    with clock.at(worlds.AFTER):
        place_hold(worlds.SHIPPED, reason="recall", said=worlds.by())
    page.goto(f"/f/{token}/?in=de")
    expect(page.get_by_role("heading", name="Nicht fahren")).to_be_visible()
    found += [*faults(page), *sideways(page)]
    assert found == [], "\n".join(found)
    assert [words for words in complaints if "404" not in words] == []


def test_with_words_twice_as_large_nothing_is_cut_off_on_a_phone(page: Page, token: str):
    page.set_viewport_size({"width": 390, "height": 844})
    for address in pages_of(token):
        page.goto(address)
        page.evaluate("document.documentElement.style.setProperty('font-size', '32px')")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, address


def test_damage_is_told_without_script_and_no_cookie_is_left(browser: Browser, base_url: str, token: str):
    context = browser.new_context(java_script_enabled=False, base_url=base_url, locale="en-GB")
    page = context.new_page()
    page.goto(f"/f/{token}/")
    page.get_by_role("link", name="Report damage or a crash").click()
    page.get_by_label("What do you see").fill("A crack at the seat tube.")
    page.wait_for_timeout(2100)  # nobody writes a report in less than two seconds
    page.get_by_role("button", name="Send the report").click()
    expect(page.get_by_role("heading", name="Your report is kept")).to_be_visible()
    assert context.cookies() == []
    context.close()
    assert OwnerReport.objects.get().departure.item.code == worlds.SHIPPED
