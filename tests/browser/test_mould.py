"""A mould on a tablet: closed, tested, filled and opened, with a link and without one."""

import pytest
from playwright.sync_api import Page, expect

from records.items.models import Link
from records.items.queries import item_by_code
from records.ledger.models import Flag
from records.scenario.works import BLADDERS, MOULDS
from records.steps.models import StepRecord
from tests import demo
from tests.browser.floor import Hands, all_sent, at, enter

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
MOULD = MOULDS["front"][0]


@pytest.fixture(autouse=True)
def shift(page: Page) -> None:
    demo.a_shift_begins()
    page.set_default_timeout(8000)


def log(page: Page, station: str) -> Hands:
    if not page.url.endswith(at(station)):
        page.goto(at(station))
    return Hands(page)


def close_a_mould(page: Page) -> Hands:
    hands = log(page, "Press 1")
    hands.press("Osier front triangle")
    hands.scan(MOULD, thing=True)
    for code in ("TUBE-1", "TUBE-2", BLADDERS[0], "INSERT-1"):
        hands.scan(code, thing=True)
    hands.press("The mould is closed")
    return hands


def check(page: Page, step: str, value: str) -> Hands:
    hands = log(page, "Press 1")
    hands.scan(MOULD)
    hands.press(f"{step}: log it")
    hands.digits(value)
    hands.press(f"Log {value}")
    return hands


def fill(page: Page, pot: str) -> Hands:
    hands = log(page, "Press 1")
    hands.scan(MOULD)
    hands.scan(pot)
    hands.press("The mould is full")
    return hands


def steps_of(unit) -> list[str]:
    return list(
        StepRecord.objects.filter(unit=unit).order_by("ended_at", "pk").values_list("operation__name", flat=True)
    )


def test_a_mould_is_closed_tested_filled_and_opened_without_a_link_and_is_one_unit_later(page: Page):
    enter(page, "marta", "Mixing")
    demo.a_pot("POT-1")
    enter(page, "lenz", "Press 1")
    page.context.set_offline(True)
    page.goto(at("Press 1"))
    close_a_mould(page)
    expect(page.get_by_text("Kept on this tablet.")).to_be_visible()
    hands = log(page, "Press 1")
    hands.scan(MOULD)
    expect(page.get_by_text("Next: leak test")).to_be_visible()
    check(page, "Leak test", "0.2")
    check(page, "Bladder hold", "20")
    filled = fill(page, "POT-1")
    assert len(filled.touches) == 3
    for step in ("Start cure", "End cure"):
        hands = log(page, "Press 1")
        hands.scan(MOULD)
        hands.press(f"{step}: log it")
        if step == "End cure":  # the tablet knows by itself that it was begun a moment ago
            expect(page.get_by_text("Its route asks for that time between start cure and end cure.")).to_be_visible()
            hands.press("It has been done already")
            hands.press("Keep it and mark it")
        else:
            hands.press(f"Log {step.lower()}")
    check(page, "Vent", "0")
    hands = log(page, "Press 1")
    hands.scan(MOULD)
    hands.press("Demould: log it")
    expect(page.get_by_role("heading", name="Scan the tag")).to_be_visible()
    hands.press("It has none yet")  # without a link nothing has its number yet
    hands.press("Log demould")
    all_sent(page)
    unit = Link.objects.get(parent=item_by_code("TUBE-1")).child
    assert steps_of(unit) == [
        "mould",
        "leak test",
        "bladder hold",
        "fill",
        "start cure",
        "end cure",
        "vent",
        "demould",
    ]
    assert Link.objects.get(child=unit, parent=item_by_code("POT-1")).amount == 180_000_000
    assert sorted(Flag.objects.values_list("code", flat=True)) == ["no-carrier", "too-early"]


def test_a_mould_opened_without_a_link_is_tested_again_before_its_pot(page: Page):
    enter(page, "lenz", "Press 1")
    page.context.set_offline(True)
    page.goto(at("Press 1"))
    close_a_mould(page)
    check(page, "Leak test", "0.2")
    check(page, "Bladder hold", "20")
    hands = log(page, "Press 1")
    hands.scan(MOULD)
    page.goto(f"{at('Press 1')}unit/{MOULD}/")
    hands.press("The mould was opened")
    hands.scan(MOULD, thing=True)
    hands.scan(BLADDERS[1], thing=True)
    hands.press("Log mould")
    log(page, "Press 1").scan(MOULD)
    expect(page.get_by_text("No leak test since this mould was closed. That comes first.")).to_be_visible()
    expect(page.get_by_role("link", name="Leak test again: log it")).to_be_visible()
