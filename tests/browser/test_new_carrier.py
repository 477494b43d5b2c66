"""Another carrier is scanned at the step that puts it on, with a link and without one."""

import pytest
from playwright.sync_api import Page, expect

from records.items.queries import item_by_code
from records.ledger.models import Flag
from records.steps.carrying import carriers_of
from records.steps.models import StepRecord
from tests import demo
from tests.browser.floor import Hands, all_sent, at, enter, take_along

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]


def test_without_a_link_another_units_code_is_told_and_the_own_one_is_kept(page: Page):
    demo.a_shift_begins()
    demo.a_pot("POT-0", before=1.95)
    front = demo.a_front_to_bond()
    tube = demo.TUBES[2]
    enter(page, "marta", "Winding")
    take_along(page)
    page.context.set_offline(True)
    page.goto(at("Winding"))
    hands = Hands(page)
    hands.scan(tube)
    hands.press("Set: log it")
    hands.digits("4")
    hands.press("Log 4 pcs")
    page.goto(at("Winding"))
    hands.scan(tube)
    hands.press("Preform out: log it")
    expect(page.get_by_role("heading", name="Scan the tag")).to_be_visible()
    hands.scan(front)
    expect(page.get_by_text(f"That is the code of {front}, and this is {tube}.")).to_be_visible()
    hands.scan(f"[)>\x1e06\x1dS{tube}\x1dZ1\x1e\x04")
    hands.number("25")
    hands.number("1")
    hands.digits("300")
    hands.press("Log 300 g")
    all_sent(page)
    rows = carriers_of([item_by_code(tube).pk])
    assert [(row.kind, row.code, row.copy) for row in rows][-1] == ("tag", tube, 1)
    assert StepRecord.objects.filter(unit=item_by_code(tube), operation__name="preform out").exists()
    assert not Flag.objects.filter(code__contains="carrier").exists()
