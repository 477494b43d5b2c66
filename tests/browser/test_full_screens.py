"""Screens with as much on them as work brings: none scrolls on a tablet, and what was told last is in sight."""

import pytest
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from playwright.sync_api import Browser, Page, expect

from plant.people.actions import set_language
from plant.people.models import Person
from records.floor.actions import call_lead
from records.items.actions import place_hold
from records.scenario.works import BADGES, MANDRELS, MOULDS
from records.steps import actions as steps
from tests import demo
from tests.browser.floor import at, enter
from tests.browser.test_pot_clock import ABOVE
from tests.browser.test_sizes import MM

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
SPOOLS = "&".join(f"spools-{n}-lot=SPOOL-1&spools-{n}-amount={n}00&spools-{n}-amount-more=yes" for n in (1, 2, 3))
LAST = "spools-4-lot=SPOOL-1&spools-4-amount=40"
SCREENS = {
    "a number after others": ("Winding", "step/?unit=TUBE-1&operation=preform out&carrier=TUBE-1&reading-1=20"),
    "what may not go in": ("Press 1", f"make/?part=OS-F&tool={MOULDS['front'][0]}&in-1=TUBE-2"),
    "a code that is not known": ("Press 1", f"make/?part=OS-F&tool={MOULDS['front'][0]}&in-1=NO-SUCH"),
    "many spools": ("Winding", f"make/?part=TUBE&tool={MANDRELS[0]}&{SPOOLS}&{LAST}"),
}


@pytest.fixture
def tablet(browser: Browser, base_url: str) -> Page:
    demo.a_shift_begins()
    work = steps.Work(demo.STATION["Winding"])
    steps.log_step("TUBE-1", step="set", work=work, said=demo.said("marta", before=1))
    place_hold("TUBE-2", reason="doubt", said=demo.said("jonas"))
    with browser.new_context(base_url=base_url, viewport={"width": 1280, "height": 800}, has_touch=True) as context:
        page = context.new_page()
        page.add_init_script(f"localStorage.setItem('mm', '{MM}')")
        page.set_default_timeout(8000)
        enter(page, "marta", "Winding")
        yield page


@pytest.mark.parametrize("language", ["en", "de", "it"])
def test_none_scrolls_and_the_last_that_was_told_is_in_sight(tablet: Page, language: str):
    set_language(Person.objects.get(badge=BADGES["marta"]), language, said=demo.said("marta"))
    heights = {}
    for offline in (False, True):
        tablet.context.set_offline(False)
        tablet.goto(at("Winding"))
        tablet.evaluate("import('/static/floor/link.js').then(link => link.takeAlong(true)).then(() => null)")
        tablet.context.set_offline(offline)
        for name, (station, address) in SCREENS.items():
            tablet.goto(f"{at(station)}log/{address}")
            expect(tablet.locator(".key--call")).to_be_visible()
            heights[name, offline] = tablet.evaluate("document.documentElement.scrollHeight")
        last = tablet.locator(".got dd", has_text="40 g")
        expect(last).to_be_in_viewport(ratio=1)
        box, told = last.bounding_box(), tablet.locator(".got").bounding_box()
        assert box["y"] + box["height"] <= told["y"] + told["height"] + 1
    assert {where: height for where, height in heights.items() if height > 800} == {}


@pytest.mark.parametrize("language", ["en", "de", "it"])
def test_the_hand_over_has_its_foot_with_a_link_and_without(tablet: Page, language: str):
    set_language(Person.objects.get(badge=BADGES["jonas"]), language, said=demo.said("jonas"))
    enter(tablet, "jonas", "Winding")
    session = Session.objects.latest("expire_date")
    kept = SessionStore(session.session_key)
    kept.update({"device": "TB-26-000001-5"})
    kept.save()
    for offline in (False, True):
        tablet.context.set_offline(offline)
        tablet.goto("/floor/hand-over/")
        key = tablet.locator("form.handing button.log")
        expect(key).to_be_in_viewport(ratio=1)
        assert key.bounding_box()["width"] > 250
        assert tablet.evaluate("document.documentElement.scrollHeight") <= 800


def test_the_stations_stand_above_what_else_there_is_while_somebody_calls(tablet: Page):
    call_lead(demo.STATION["Winding"], said=demo.said("marta"))
    enter(tablet, "jonas", "Winding")
    tablet.goto("/floor/")
    expect(tablet.locator(".ringing a")).to_be_visible()
    tablet.evaluate(ABOVE)
    assert tablet.evaluate("document.documentElement.scrollHeight") <= 800


def test_while_somebody_is_asked_for_a_badge_no_next_screen_is_told_of(tablet: Page):
    tablet.evaluate(
        """async () => {
          const { goesOn } = await import('/static/floor/going.js');
          const { askOne } = await import('/static/floor/dialogs.js');
          goesOn(document.querySelector('main .key'));
          askOne('Who?', '', [{ code: 'a', word: 'A' }]);
        }"""
    )
    expect(tablet.locator(".going")).to_have_count(1)
    expect(tablet.locator(".going")).to_be_hidden()
    tablet.get_by_role("button", name="Leave it").click()
    expect(tablet.locator(".going")).to_be_visible()
