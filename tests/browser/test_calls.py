"""The call for the lead on a tablet: at rest, answered by whom and when, and nobody told."""

from uuid import uuid4

import pytest
from playwright.sync_api import Browser, Page, expect

from plant.people.models import Person
from records.floor.actions import call_lead
from records.floor.models import Call
from records.items.actions import place_hold
from records.ledger.acts import Said
from records.ledger.clock import clock
from tests import worlds
from tests.browser.test_languages import TALL
from tests.browser.test_tablet import BENCH, a_final_step_to_do, enter, link_again, unlink

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def week(page: Page) -> None:
    worlds.a_straight_week()
    page.set_default_timeout(10_000)


def press(page: Page) -> None:
    page.get_by_role("button", name="Call the lead").click()


def test_a_call_is_heard_answered_and_told_where_it_was_made(page: Page, browser: Browser, base_url: str):
    enter(page, "operator")
    key = page.get_by_role("button", name="Call the lead")
    expect(key).to_contain_text("This does not stop the machine.")
    press(page)
    expect(key).to_contain_text("nobody has seen it yet.")
    assert Call.objects.get().was_heard
    with browser.new_context(base_url=base_url) as context:
        lead = context.new_page()
        enter(lead, "lead")
        expect(key).to_contain_text("The lead saw it", timeout=15_000)
        lead.get_by_role("link", name="The operator calls you to Bench.").click()
        lead.get_by_role("button", name="Let it cool.").click()
        expect(lead.get_by_text("The operator is told.")).to_be_visible()
    expect(key).to_contain_text("answered")
    expect(key).to_contain_text("Let it cool.")


def test_without_a_link_nobody_is_told_and_the_call_is_kept_as_such(page: Page):
    enter(page, "operator")
    page.goto(f"{BENCH}unit/{worlds.HERE}/")
    unlink(page.context)
    page.goto(f"{BENCH}unit/{worlds.HERE}/")
    key = page.get_by_role("button", name="Call the lead")
    expect(key).to_be_visible()
    press(page)
    expect(key).to_contain_text("Nobody has been told. Call by voice.")
    page.evaluate("""async () => { const box = await import('/static/floor/outbox.js');
        const [call] = await box.entries('waiting');
        await box.change(call.key, { made_at: new Date(Date.parse(call.made_at) - 120000).toISOString() }); }""")
    link_again(page)
    call = Call.objects.get()
    assert (call.was_heard, call.station.code, call.unit.code) == (False, "Bench", worlds.HERE)


def test_the_key_is_at_the_foot_on_the_left_and_large_enough_for_gloves(page: Page):
    page.set_viewport_size({"width": 1280, "height": 800})
    enter(page, "operator")
    box = page.get_by_role("button", name="Call the lead").bounding_box()
    assert box["x"] < 40
    assert box["y"] + box["height"] > 700
    least = page.evaluate("parseFloat(getComputedStyle(document.documentElement).getPropertyValue('--mm')) || 0")
    assert box["height"] >= 21 * (least or 3.7795)


HELD = "OF-0002"


def test_what_rings_leaves_the_press_on_the_screen(page: Page):
    """Whoever answers calls works too: a strip above a question must not push its press below the glass."""
    page.set_viewport_size({"width": 1280, "height": 800})
    a_final_step_to_do()
    place_hold(HELD, reason="doubt", words="label hard to read", said=worlds.by())
    enter(page, "lead")
    call_lead("Bench", said=Said(Person.objects.get(badge="operator"), uuid4(), clock.now()))
    unit = f"unit={worlds.HERE}"
    screens = [
        f"log/measure/?{unit}",
        f"log/measure/?{unit}&gauge-1=",
        f"log/measure/?{unit}&gauge-1=no-such",
        f"log/step/?{unit}&operation=final",
        f"log/hold/?{unit}",
        f"unit/{HELD}/",
    ]
    for screen in screens:
        page.goto(f"{BENCH}{screen}")
        expect(page.get_by_role("link", name="The operator calls you to Bench.")).to_be_visible()
        assert page.evaluate(TALL) <= 0, screen
