"""A hand scanner that types: heard on every screen of the floor, never pressing a button, never left in a field."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests import worlds
from tests.browser.floor import scan, typed
from tests.browser.test_tablet import enter, unlink

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]

BENCH, MIXING = "/floor/at/Bench/", "/floor/at/Mixing/"


@pytest.fixture(autouse=True)
def week(page: Page) -> None:
    worlds.a_straight_week()
    page.set_default_timeout(8000)


def test_a_unit_is_opened_from_any_screen_of_the_station_and_answers_a_question(page: Page):
    enter(page, "operator")
    page.evaluate("document.activeElement.blur()")
    scan(page, worlds.HERE.lower())
    expect(page.get_by_role("heading", level=1)).to_have_text(worlds.HERE)
    page.goto(f"{BENCH}log/out/?to=Painter")
    scan(page, worlds.SHIPPED)
    expect(page.get_by_text(worlds.SHIPPED)).to_be_visible()
    expect(page.get_by_role("heading", level=1)).not_to_have_text("Scan the unit")


def test_a_scan_never_presses_the_button_that_has_the_focus_and_leaves_nothing_in_a_field(page: Page):
    enter(page, "operator")
    page.goto(f"{BENCH}unit/{worlds.HERE}/")
    page.get_by_role("button", name="change").focus()
    scan(page, "NO-SUCH-THING")
    expect(page).to_have_url(re.compile("code=NO-SUCH-THING"))
    expect(page.locator("#code")).to_have_value("NO-SUCH-THING")
    expect(page.get_by_role("alert")).to_contain_text("NO-SUCH-THING")


def test_speed_alone_tells_a_scanner_from_a_person(page: Page):
    enter(page, "operator")
    page.goto(f"{BENCH}unit/{worlds.HERE}/")
    typed(page, *"NO-SUCH-THING", "Enter", gap_ms=60)
    page.wait_for_timeout(200)
    expect(page).to_have_url(re.compile("/unit/"))
    typed(page, *"NO-SUCH-THING", "Enter")
    expect(page).to_have_url(re.compile("code=NO-SUCH-THING"))


def test_what_is_not_closed_in_time_is_dropped(page: Page):
    enter(page, "operator")
    page.goto(f"{BENCH}unit/{worlds.HERE}/")
    page.keyboard.press("F9")
    page.keyboard.type("NO-SUCH-")
    page.wait_for_timeout(300)
    page.keyboard.press("Enter")
    page.wait_for_timeout(200)
    expect(page).to_have_url(re.compile("/unit/"))


def test_the_rest_of_a_scan_that_stopped_in_the_middle_is_no_code_and_no_number(page: Page):
    enter(page, "operator")
    for address, field in ((BENCH, "#code"), (f"{BENCH}log/measure/?unit={worlds.HERE}&gauge-1=", "#answer")):
        page.goto(address)
        page.locator(field).focus()
        page.keyboard.press("F9")
        page.keyboard.type("FT-26-0000")
        page.wait_for_timeout(300)
        page.keyboard.type("42-5")
        page.keyboard.press("Enter")
        expect(page.get_by_role("alert")).to_contain_text("This scan broke off on its way")
        expect(page.locator(field)).to_have_value("")
        assert page.url.endswith(address)
    page.wait_for_timeout(1200)
    page.keyboard.type("12.5", delay=150)
    expect(page.locator("#answer")).to_have_value("12.5")


def test_a_scan_on_a_number_says_what_is_asked_and_leaves_the_digits(page: Page):
    enter(page, "operator")
    page.goto(f"{BENCH}log/measure/?unit={worlds.HERE}&gauge-1=")
    page.locator("#answer").fill("12")
    page.locator("#answer").focus()
    scan(page, worlds.HERE)
    expect(page.get_by_role("alert")).to_contain_text("This asks for a number")
    expect(page.locator("#answer")).to_have_value("12")


def test_the_same_code_within_three_seconds_is_a_short_sound_and_no_words(page: Page):
    enter(page, "operator")
    page.goto(f"{BENCH}log/hold/?unit={worlds.HERE}")
    scan(page, worlds.HERE)
    expect(page.get_by_role("alert")).to_contain_text("press one of the keys")
    page.evaluate(
        "window.tones = []; document.querySelector('[data-scan-said]').remove();"
        "document.addEventListener('sounded', event => window.tones.push(event.detail))"
    )
    scan(page, worlds.HERE)
    page.wait_for_function("() => window.tones.length === 1 && window.tones[0] === 1")
    expect(page.locator("[data-scan-said]")).to_have_count(0)


def test_the_same_code_counts_at_once_where_a_key_was_pressed_between(page: Page):
    enter(page, "operator")
    page.goto(f"{BENCH}log/hold/?unit={worlds.HERE}")
    scan(page, worlds.HERE)
    page.evaluate("document.querySelector('[data-scan-said]').remove()")
    page.locator("h1").click()
    scan(page, worlds.HERE)
    expect(page.get_by_role("alert")).to_contain_text("press one of the keys")


def test_a_badge_and_a_station_are_told_apart_from_things(page: Page):
    enter(page, "operator")
    page.evaluate(
        "document.addEventListener('badge-scanned', e => { window.badge = e.detail.badge; e.preventDefault(); })"
    )
    scan(page, "lead")
    page.wait_for_function("() => window.badge === 'lead'")
    scan(page, "mixing")
    expect(page).to_have_url(re.compile(MIXING))


def test_a_scan_is_heard_without_a_link_too(page: Page):
    enter(page, "operator")
    unlink(page.context)
    page.reload()
    expect(page.get_by_text("No link.").first).to_be_visible()
    page.evaluate("document.activeElement.blur()")
    scan(page, f"[)>{worlds.HERE}")
    expect(page.get_by_role("alert")).to_contain_text("separators of this label were lost")
    scan(page, worlds.HERE)
    expect(page.get_by_role("heading", level=1)).to_have_text(worlds.HERE)


def test_the_separators_of_a_symbol_come_through_the_keyboard(page: Page):
    enter(page, "operator")
    page.keyboard.press("F9")
    page.keyboard.type("[)>")
    page.keyboard.press("Control+Shift+^")
    page.keyboard.type("06")
    page.keyboard.press("Control+]")
    page.keyboard.type(f"S{worlds.HERE}")
    page.keyboard.press("Control+Shift+^")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text(worlds.HERE)
