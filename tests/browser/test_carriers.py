"""Carriers on a tablet: put on by pairs, old ones named as the server would, and what may not go out stays, by name."""

import re
from urllib.parse import quote

import pytest
from playwright.sync_api import Page, expect

from records.items.actions import place_hold
from records.items.queries import item_by_code
from records.ledger.models import Flag
from records.release.actions import print_label
from records.steps.carrying import carriers_of
from records.steps.models import StepRecord
from tests import demo
from tests.browser.floor import Hands, all_sent, at, enter, scan

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def fronts() -> tuple[str, str]:
    """A front and a rear that wait for their label."""
    demo.a_shift_begins()
    demo.a_pot("POT-0", before=0.95)
    front, rear = demo.a_front_to_deburr(), demo.a_rear_to_deburr()
    for reason in ("", "torn"):
        print_label(front, reason=reason, said=demo.said("odo", before=0.01))
    return front, rear


def now_on(code: str) -> tuple:
    row = carriers_of([item_by_code(code).pk])[-1]
    return row.kind, row.code, row.copy


def test_units_and_their_new_labels_by_turns_then_one_press(page: Page, fronts: tuple[str, str]):
    front, rear = fronts
    enter(page, "marta", "Drill cell")
    page.get_by_role("link", name="Deburr, several at once").click()
    expect(page.locator("output.count")).to_have_text("0")
    scan(page, front)
    expect(page.get_by_role("heading", name=f"Scan the label of {front}")).to_be_visible()
    press = page.locator("[data-many-press] button")
    expect(press).to_be_disabled()
    expect(press).to_contain_text(f"The label of {front} is not scanned yet.")
    scan(page, rear)
    expect(page.get_by_role("alert")).to_contain_text(f"That is the code of {rear}, and this is {front}.")
    scan(page, f"(21){front}(90)L2")
    scan(page, rear)
    page.get_by_role("button", name="It has none yet").click()
    page.get_by_role("button", name=f"Take {rear} out").click()
    expect(page.locator("output.count")).to_have_text("1")
    scan(page, "(21)NOBODY(90)L1")
    scan(page, f"(21){rear}(90)L4")
    expect(page.get_by_role("heading", name=f"Scan the label of {rear}")).to_be_visible()
    scan(page, f"(21){rear}(90)L1")
    page.get_by_role("button", name=re.compile("Log deburr for 2")).click()
    expect(page.get_by_text("2 logged.")).to_be_visible()
    assert (now_on(front), now_on(rear)) == (("label", front, 2), ("label", rear, 1))
    assert StepRecord.objects.filter(operation__name="deburr").count() == 2
    assert not Flag.objects.filter(code__contains="carrier").exists()


def test_without_a_link_an_old_label_is_named_and_what_may_not_go_stays_by_name(page: Page, fronts: tuple[str, str]):
    front, rear = fronts
    place_hold(rear, reason="doubt", said=demo.said("odo"))
    enter(page, "marta", "Drill cell")
    page.context.set_offline(True)
    page.goto(f"{at('Drill cell')}many/step/?operation=deburr")
    expect(page.locator("output.count")).to_have_text("0")
    for text in (front, f"(21){front}(90)L2", rear):
        scan(page, text)
    expect(page.get_by_role("heading", name="1 is held and stays here")).to_be_visible()
    expect(page.get_by_text("No link. Rules, holds and lots as of")).to_be_visible()
    page.get_by_role("button", name=re.compile("Log deburr for 1")).click()
    expect(page.get_by_text("Kept on this tablet.").first).to_be_visible()
    scan(page, f"(21){front}(90)L1")
    words = f"That is label 1 of {front}; label 2 was printed after it. Take the old one off."
    expect(page.get_by_text(words)).to_be_visible()
    page.goto(f"{at('Drill cell')}many/out/")
    expect(page.locator("output.count")).to_have_text("0")
    scan(page, front)
    expect(page.get_by_role("alert")).to_contain_text(f"{front} is known by its label alone")
    scan(page, rear)
    expect(page.get_by_role("heading", name="2 stay here")).to_be_visible()
    expect(page.locator("output.count")).to_have_text("0")
    page.goto(f"{at('Drill cell')}unit/{front}/")
    hands = Hands(page)
    hands.press("Replace its label")
    hands.press("It is painted over")
    hands.scan(f"(21){front}(90)L3")  # the scan logs
    assert len(hands.touches) == 3
    expect(page.get_by_text("Kept on this tablet.").first).to_be_visible()
    page.goto(f"{at('Drill cell')}?code={quote(f'(21){front}(90)L2')}")
    old = f"That is label 2 of {front}, which it is no longer known by: by its label."
    expect(page.get_by_text(old)).to_be_visible()
    all_sent(page)
    assert now_on(front) == ("label", front, 3)
