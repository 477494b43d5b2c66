"""The clock of a pot in a real browser: corrected time, its colour and words, what is announced, without a link too."""

import pytest
from playwright.sync_api import Browser, Page, expect

from plant.people.actions import set_language
from plant.people.models import Person
from records.scenario.works import BADGES
from tests import demo
from tests.browser.floor import at, enter, take_along
from tests.browser.test_sizes import MM
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
    with page.expect_navigation():  # in one go: the clock of the page that leaves says it once more otherwise
        page.evaluate("() => { sessionStorage.clear(); location.reload(); }")
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


# What may stand above a station at once: a label that waits, what has come due, and what became of the entries before.
ABOVE = """async () => {
  const { draw, note, sayFirst } = await import('/static/floor/screens.js');
  const label = draw('button', { class: 'key key--label' }, draw('span', {}, 'Etikett von RB-26-000042-7 drucken', draw('small', {}, 'Ohne Verbindung gemischt, verwendbar bis 14:35.')));
  const due = draw('ul', { class: 'due' }, draw('li', {}, draw('span', {}, 'RB-26-000042-7: 1 kg ist von der Sonderfreigabe übrig, und noch nicht freigegeben. QS fragen.')));
  const words = ['Auf diesem Tablet behalten. Es wird gesendet, sobald Verbindung besteht.', 'RB-26-000042-7 ist im Zweifel: Tablet TB-26-000004-7 wurde gesperrt.', 'RT-26-000073-6 ist gesperrt. Auf das rote Regal legen.'];
  sayFirst(label, due, ...words.map((one) => note('watch', one)));
}"""  # noqa: E501
UNDER = """() => {
  const call = document.querySelector('.callrow').getBoundingClientRect();
  const under = (box) => box.bottom > innerHeight || (box.bottom > call.top && box.left < call.right && box.right > call.left);
  const keys = [...document.querySelectorAll('main .halves .key, main .pot, main .key--label')];
  return keys.filter((one) => under(one.getBoundingClientRect())).map((one) => one.textContent.trim());
}"""  # noqa: E501


@pytest.mark.parametrize("language", ["de", "it", "en"])
def test_two_pots_what_is_due_and_a_label_that_waits_leave_the_work_keys_on_the_screen(page: Page, language: str):
    for code in ("RB-26-000042-7", "RB-26-000043-5"):
        demo.a_pot(code, before=0.2)
    set_language(Person.objects.get(badge=BADGES["marta"]), language, said=demo.said("marta"))
    page.set_viewport_size({"width": 1280, "height": 800})
    page.add_init_script(f"localStorage.setItem('mm', '{MM}')")
    enter(page, "marta", "Mixing")
    for offline in (False, True):
        page.context.set_offline(offline)
        page.goto(at("Mixing"))
        expect(page.locator("[data-pot]")).to_have_count(2)
        page.evaluate(ABOVE)
        assert page.evaluate("document.documentElement.scrollHeight") <= 800
        assert page.evaluate(UNDER) == []
        size = page.locator("[data-minutes]").first.evaluate("one => parseFloat(getComputedStyle(one).fontSize)")
        assert size >= 64


# Four units wait where one does.
FOUR_WAIT = """() => { const row = document.querySelector('.rows li');
  for (let n = 0; n < 3; n += 1) row.after(row.cloneNode(true)); }"""


@pytest.mark.parametrize("language", ["it", "de", "en"])
def test_of_six_pots_the_nearest_two_stand_beside_the_work_and_a_key_leads_to_all(page: Page, language: str):
    for n in range(6):
        demo.a_pot(f"RB-26-00004{n}-7", before=0.4 + n / 10, grams=100)
    demo.a_mould_to_fill()
    set_language(Person.objects.get(badge=BADGES["marta"]), language, said=demo.said("marta"))
    page.set_viewport_size({"width": 1280, "height": 800})
    page.add_init_script(f"localStorage.setItem('mm', '{MM}')")
    enter(page, "marta", "Press 1")
    for offline in (False, True):
        page.context.set_offline(offline)
        page.goto(at("Press 1"))
        expect(page.locator("[data-pot]")).to_have_count(2)
        expect(page.locator("[data-pot-code]").first).to_have_text("RB-26-000045-7")
        page.evaluate(FOUR_WAIT)
        page.evaluate(ABOVE)
        assert page.evaluate("document.documentElement.scrollHeight") <= 800
        assert page.evaluate(UNDER) == []
        page.locator(".more-pots").click()
        expect(page.locator("[data-pot]")).to_have_count(6)
        assert page.evaluate("document.documentElement.scrollHeight") <= 800


def test_a_pot_of_adhesive_has_its_clock_at_the_bonding_bench(page: Page):
    demo.some_glue("GLUE-1")
    enter(page, "marta", "Bonding")
    for offline in (False, True):
        page.context.set_offline(offline)
        page.goto(at("Bonding"))
        expect(page.locator("[data-pot-code]")).to_have_text("GLUE-1")
    page.goto(at("Press 1"))
    expect(page.locator("[data-pot-code]")).to_have_count(0)
