"""What has come due is told where somebody looks, by the time that the tablet knows, without a link too."""

import pytest
from playwright.sync_api import Page, expect

from records.steps import actions as steps
from tests import demo
from tests.browser.floor import OUTBOX, at, enter

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
STATION = demo.STATION["Press 1"]


def a_cure() -> str:
    """A front that began to cure three minutes ago, for an hour by its route."""
    demo.a_shift_begins()
    demo.a_pot("POT-0")
    unit = demo.a_mould_to_fill()
    for step, before in (("fill", 0.08), ("start cure", 0.05)):
        work = steps.Work(STATION, shots=[steps.Shot("POT-0")] if step == "fill" else [])
        steps.log_step(unit, step=step, work=work, said=demo.said("lenz", before=before))
    return unit


def it_is_later(page: Page, minutes: int) -> None:
    """The time of the works, as this tablet without a link has it, is so much later."""
    page.evaluate(f"async ms => {{ {OUTBOX} await box.remember('clock', {{ offset_ms: ms }}); }}", minutes * 60_000)


def test_the_end_of_a_cure_is_told_at_its_station_and_on_the_first_page_without_a_link(page: Page):
    unit = a_cure()
    page.set_default_timeout(8000)
    page.add_init_script("document.addEventListener('sounded', () => { window.sounded = true; })")
    enter(page, "lenz", "Press 1")
    due = page.locator("[data-due] li")
    page.context.set_offline(True)
    it_is_later(page, 50)
    page.goto("/floor/")
    expect(page.get_by_text("No link. Rules, holds and lots as of")).to_be_visible()
    expect(due).to_have_count(0)
    it_is_later(page, 58)
    page.reload()
    expect(due).to_contain_text(f"{unit}: end cure may be logged from")
    page.goto(at("Press 1"))
    expect(due).to_contain_text(unit)
    page.wait_for_function("window.sounded")
    page.goto(at("Mixing"))
    expect(page.get_by_text("No link. Rules, holds and lots as of")).to_be_visible()
    expect(due).to_have_count(0)
