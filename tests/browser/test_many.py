"""Scan many: one after another, one press, with and without a link; what is held or wrong stays off."""

from dataclasses import replace
from uuid import UUID

import pytest
from playwright.sync_api import Page, expect

from records.items.actions import bring_back, move_item, place_hold
from records.items.models import Consignment, ConsignmentLine, Move, StockCount
from records.ledger.clock import clock
from records.release.actions import print_label
from records.release.models import LabelCheck
from records.steps.actions import send_out
from tests import worlds
from tests.browser.floor import OUTBOX, scan
from tests.browser.test_tablet import BENCH, enter, kept, link_again, unlink

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]

LOTS = "import('/static/floor/rules.js').then(r => r.rules()).then(known => [...known.lots.keys()])"


@pytest.fixture(autouse=True)
def week(page: Page) -> None:
    worlds.a_straight_week()
    with clock.at(worlds.AFTER):
        bring_back([worlds.SHIPPED], station="Bench", said=worlds.by("operator"))
    page.set_default_timeout(8000)


def open_list(page: Page, name: str) -> None:
    page.goto(f"{BENCH}many/{name}/")
    expect(page.locator("output.count")).to_be_visible()


def lots_known(page: Page) -> list[str]:
    """Codes of the lots that the tablet knows."""
    return page.evaluate(LOTS)


def sent_out() -> list[set[str]]:
    lines = ConsignmentLine.objects.filter(consignment__direction=Consignment.Direction.OUT)
    found: dict[int, set[str]] = {}
    for line in lines.select_related("item__state"):
        found.setdefault(line.consignment_id, set()).add(line.item.code)
    return list(found.values())


def test_what_is_scanned_goes_by_one_press_and_what_is_held_or_wrong_stays_here(page: Page):
    with clock.at(worlds.AFTER):
        place_hold(worlds.SHIPPED, reason="doubt", words="dent", said=worlds.by())
    enter(page, "operator")
    before = sent_out()
    open_list(page, "out")
    for code in (worlds.HERE, worlds.SHIPPED, "NO-SUCH", worlds.RESIN):
        scan(page, code)
    expect(page.get_by_role("heading", name="1 is held and stays here")).to_be_visible()
    expect(page.get_by_role("alert")).to_contain_text("This list is for units.")
    expect(page.locator("output.count")).to_have_text("1")
    page.get_by_label("Who takes them?").fill("Painter")
    expect(page.get_by_text("1 go, 1 stay here")).to_be_visible()
    page.get_by_role("button", name="Send 1 to Painter").click()
    expect(page.get_by_text("1 logged.")).to_be_visible()
    assert [codes for codes in sent_out() if codes not in before] == [{worlds.HERE}]
    assert len(kept(page)) == 1


def test_one_is_taken_out_again_and_a_reload_loses_nothing(page: Page):
    enter(page, "operator")
    first, second = lots_known(page)[:2]
    open_list(page, "here")
    scan(page, first)
    scan(page, second)
    page.reload()
    expect(page.locator("output.count")).to_have_text("2")
    page.get_by_role("button", name=f"Take {first} out").click()
    expect(page.locator("output.count")).to_have_text("1")
    moved = Move.objects.count()
    page.get_by_role("button", name="Log 1 as here").click()
    expect(page.get_by_text("1 logged.")).to_be_visible()
    assert Move.objects.count() == moved + 1


def test_a_line_above_a_list_takes_its_room_from_it_and_the_press_stays_in_sight(page: Page):
    page.set_viewport_size({"width": 1280, "height": 800})
    enter(page, "operator")
    page.evaluate("sessionStorage.setItem('told', JSON.stringify([['watch', 'Kept on this tablet.']]))")
    open_list(page, "here")
    line, press = page.get_by_text("Kept on this tablet.").bounding_box(), page.locator("button.log").bounding_box()
    assert line["y"] < 100
    assert press["y"] + press["height"] <= 800


def test_without_a_link_each_gets_an_entry_that_goes_up_later_once(page: Page):
    enter(page, "operator")
    lots = lots_known(page)[:3]
    unlink(page.context)
    open_list(page, "here")
    for code in lots:
        scan(page, code)
    moved = Move.objects.count()
    page.get_by_role("button", name="Log 3 as here").click()
    expect(page.locator("#kept")).to_contain_text("Kept on this tablet.")
    assert Move.objects.count() == moved
    link_again(page)
    expect(page.locator("#kept")).to_have_count(0)  # it is no longer true
    assert [entry["state"] for entry in kept(page)] == ["taken"] * 3
    assert Move.objects.count() == moved + 3


def test_what_came_back_is_told_with_what_is_missing_by_name(page: Page):
    first, second = worlds.HERE, worlds.SHIPPED
    with clock.at(worlds.AFTER):
        consignment = send_out([first, second], to="Painter", said=worlds.by("operator"))
    enter(page, "operator")
    open_list(page, "back")
    scan(page, first)
    expect(page.get_by_text(f"{consignment.code}: 1 of 2 are back. Missing: {second}.")).to_be_visible()
    page.get_by_role("button", name="Take 1 back in").click()
    expect(page.get_by_text("1 logged.")).to_be_visible()
    assert Consignment.objects.filter(direction=Consignment.Direction.BACK, back_of=consignment).exists()


def test_a_count_is_blind_and_asks_how_much_of_each(page: Page):
    enter(page, "stores")
    lot = lots_known(page)[0]
    open_list(page, "count")
    scan(page, lot)
    press = page.get_by_role("button", name="Log the count of 1")
    expect(press).to_be_disabled()
    page.get_by_label(f"How much of {lot}?").fill("12,5")
    press.click()
    expect(page.get_by_text("1 logged.")).to_be_visible()
    assert StockCount.objects.latest("pk").written.replace(",", ".").startswith("12.5")


def test_a_new_label_is_noted_as_read_back_at_its_first_scan(page: Page):
    with clock.at(worlds.AFTER):
        print_label(worlds.HERE, said=worlds.by())
    enter(page, "operator")
    page.keyboard.press("F9")
    page.keyboard.type("[)>")
    page.keyboard.press("Control+Shift+^")
    page.keyboard.type("06")
    page.keyboard.press("Control+]")
    page.keyboard.type(f"S{worlds.HERE}")
    page.keyboard.press("Control+]")
    page.keyboard.type("Z1")
    page.keyboard.press("Control+Shift+^")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text(worlds.HERE)
    link_again(page)
    assert LabelCheck.objects.get().printed.code == worlds.HERE


def keys_on_the_list(page: Page) -> list[str]:
    """Keys under which the lines of the list go up, in the order scanned."""
    return page.evaluate(
        f"""async () => {{ {OUTBOX}
          const [, , , station, , name] = location.pathname.split('/').map(decodeURIComponent);
          return (await box.recall(`many ${{station}} ${{name}} `)).lines.map(line => line.key);
        }}"""
    )


def test_what_conflicts_is_told_by_name_and_stays_with_those_who_decide(page: Page):
    enter(page, "operator")
    first, second = lots_known(page)[:2]
    open_list(page, "here")
    scan(page, first)
    scan(page, second)
    expect(page.locator("output.count")).to_have_text("2")
    (taken, _) = keys_on_the_list(page)
    with clock.at(worlds.AFTER):
        move_item(second, station="Press 1", said=replace(worlds.by("operator"), key=UUID(taken)))
    moved = Move.objects.count()
    page.get_by_role("button", name="Log 2 as here").click()
    expect(page.get_by_text("1 logged.")).to_be_visible()
    expect(page.get_by_text(f"{first}: This entry was sent before with other content.")).to_be_visible()
    assert [entry["state"] for entry in kept(page)] == ["conflict", "taken"]
    assert Move.objects.count() == moved + 1


def test_what_the_gate_stops_stays_on_the_list_and_is_kept_and_marked_where_it_has_happened(page: Page):
    enter(page, "operator")
    first = worlds.HERE
    open_list(page, "out")
    scan(page, first)
    with clock.at(worlds.AFTER):
        place_hold(first, reason="doubt", words="dent", said=worlds.by())
    page.get_by_label("Who takes them?").fill("Painter")
    page.get_by_role("button", name="Send 1 to Painter").click()
    expect(page.get_by_role("alert")).to_contain_text(f"{first} is held.")
    expect(page.locator("output.count")).to_have_text("1")
    page.get_by_role("button", name="It has been done: keep it and mark it").click()
    expect(page.get_by_text("1 logged.")).to_be_visible()
    assert [entry["state"] for entry in kept(page)] == ["aside", "flagged"]
    assert {first} in sent_out()
