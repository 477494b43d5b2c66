"""The clock of a pot in a real browser: corrected time, its colour and words, what is announced, without a link too."""

import pytest
from playwright.sync_api import Browser, Page, expect

from tests import demo
from tests.browser.floor import at, enter, take_along
from tests.browser.test_tablet import SLOW_CLOCK

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def shift(page: Page) -> None:
    demo.a_shift_begins()
    page.set_default_timeout(8000)


def minutes(page: Page) -> int:
    return int(page.get_by_role("timer").locator("b").inner_text())


def test_minutes_left_run_on_the_time_of_the_works_on_a_tablet_whose_clock_is_slow(browser: Browser, base_url: str):
    demo.a_pot("POT-1", before=0.5)
    with browser.new_context(base_url=base_url) as context:
        context.add_init_script(SLOW_CLOCK)
        page = context.new_page()
        enter(page, "lenz", "Press 1")
        page.reload()
        expect(page.get_by_role("timer")).to_be_visible()
        page.wait_for_timeout(1200)
        assert minutes(page) in (29, 30)
        context.set_offline(True)
        page.goto(at("Press 1"))
        expect(page.get_by_text("No link. Rules, holds and lots as of")).to_be_visible()
        assert minutes(page) in (29, 30)


def test_under_ten_minutes_it_is_watched_and_announced_once(page: Page):
    demo.a_pot("POT-1", before=0.9)
    enter(page, "lenz", "Press 1")
    page.evaluate("document.addEventListener('sounded', () => { window.sounds = (window.sounds ?? 0) + 1; })")
    page.goto(at("Press 1"))
    pot = page.locator("[data-pot]")
    expect(pot).to_have_class("pot pot--watch pot--small")
    expect(page.get_by_role("timer")).to_have_attribute("aria-live", "off")
    assert minutes(page) in (5, 6)
    page.evaluate("sessionStorage.clear()")
    page.reload()
    expect(pot.locator("[data-pot-said]")).to_contain_text("Pot POT-1:")
    page.reload()
    expect(page.get_by_role("timer")).to_be_visible()
    expect(pot.locator("[data-pot-said]")).to_be_empty()


def test_one_that_has_ended_says_where_it_goes(page: Page):
    demo.a_pot("POT-1", before=1.05)
    enter(page, "lenz", "Press 1")
    expect(page.locator("[data-pot]")).to_have_class("pot pot--over pot--small")
    expect(page.get_by_text("It has ended. Do not use it, do not cover it")).to_be_visible()
    assert minutes(page) == 0


def test_the_minutes_are_the_largest_figure_of_the_fill_and_the_press_is_in_sight(page: Page):
    page.set_viewport_size({"width": 1280, "height": 800})
    demo.a_pot("POT-1")
    enter(page, "lenz", "Press 1")
    unit = demo.a_mould_to_fill()
    page.goto(f"{at('Press 1')}log/step/?unit={unit}&operation=fill&pot-1=POT-1")
    take_along(page)
    for is_linked in (True, False):
        if not is_linked:
            page.context.set_offline(True)
            page.reload()
            expect(page.get_by_text("No link. Rules, holds and lots as of")).to_be_visible()
        size = page.get_by_role("timer").locator("b").evaluate("b => getComputedStyle(b).fontSize")
        bar = page.get_by_role("button", name="The mould is full").bounding_box()
        assert (size, bar["y"] + bar["height"] <= 800) == ("152px", True)
