"""A delivery booked in with a hand scanner, which ends every code with Enter."""

import pytest
from playwright.sync_api import Page, expect

from records.items.models import Receipt
from records.items.queries import item_by_code
from tests import worlds

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]


def test_the_enter_behind_a_code_books_nothing_in_before_the_press(page: Page):
    worlds.a_straight_week()
    before = Receipt.objects.count()
    page.goto("/sign/in/")
    page.get_by_label("Badge").fill("stores")
    page.get_by_label("Password").fill(worlds.PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.goto("/stores/receive/")
    page.get_by_label("What it is").select_option(item_by_code(worlds.RESIN).part.number)
    page.get_by_label("How much came").fill("20 kg")
    page.get_by_label("From whom").fill("Fell Supply")
    page.get_by_label("Lot on their label").press_sequentially("FS-20417")
    page.keyboard.press("Enter")
    page.get_by_role("textbox", name="Delivery note").fill("DN 0417")
    page.keyboard.press("Enter")
    page.locator("#id_code").press_sequentially("R-0417")
    page.keyboard.press("Enter")
    expect(page.get_by_label("Lot on their label")).to_have_value("FS-20417")
    assert Receipt.objects.count() == before
    page.get_by_role("button", name="Put it in quarantine").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("R-0417 is in quarantine")
    assert Receipt.objects.latest("pk").delivery_note == "DN 0417"
