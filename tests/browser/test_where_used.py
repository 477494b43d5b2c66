"""From coming in to where a resin batch went, as a person does it."""

import pytest
from playwright.sync_api import Page, expect

from tests import worlds

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]


def test_from_sign_in_to_the_frames_of_a_resin_batch(page: Page):
    worlds.a_straight_week()
    complaints = []
    page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
    page.goto("/")
    page.get_by_label("Badge").fill("review")
    page.get_by_label("Password").fill(worlds.PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_label("Find by code").fill("rb-1142")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text(worlds.RESIN)
    page.get_by_role("link", name="Where it went").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"2 frames have {worlds.RESIN}")
    expect(page.get_by_role("link", name=worlds.SHIPPED, exact=True)).to_be_visible()
    assert complaints == []


def test_the_light_is_kept_on_this_device(page: Page):
    page.goto("/sign/in/")
    page.get_by_role("button", name="Glare").click()
    page.reload()
    expect(page.locator("html")).to_have_attribute("data-light", "glare")
    expect(page.get_by_role("button", name="Glare")).to_have_attribute("aria-pressed", "true")
