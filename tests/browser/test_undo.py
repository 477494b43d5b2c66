"""Undo on a tablet: a real key for ten seconds, with a link and without; what lies in the outbox is never deleted."""

import pytest
from playwright.sync_api import Page, expect

from records.items.actions import move_item
from records.items.models import HoldLift, Move
from records.items.queries import item_by_code
from records.ledger.clock import clock
from records.steps.actions import put_carrier
from records.steps.carrying import carriers_of
from records.steps.models import StepRecord
from tests import worlds
from tests.browser.floor import take_along
from tests.browser.test_tablet import BENCH, a_final_step_to_do, enter, kept, link_again, log_final, unlink
from tests.browser.test_wedge import scan

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def week(page: Page) -> None:
    worlds.a_straight_week()
    page.set_default_timeout(8000)
    a_final_step_to_do()
    enter(page, "operator")


def final_stands() -> bool:
    return StepRecord.objects.standing().filter(unit__codes__code=worlds.HERE, operation__name="final").exists()


def test_what_was_logged_is_undone_by_one_press(page: Page):
    log_final(page)
    toast = page.locator(".toast")
    expect(toast).to_have_attribute("role", "status")
    toast.get_by_role("button", name="Undo").click()
    expect(toast).to_contain_text("Undone.")
    assert not final_stands()
    assert [one["kind"] for one in kept(page)] == ["step", "undo"]


def test_the_screen_is_drawn_anew_once_it_was_undone(page: Page):
    log_final(page)
    expect(page.get_by_text("Logged.").first).to_be_visible()
    page.locator(".toast").get_by_role("button", name="Undo").click()
    expect(page.locator(".said-first").get_by_text("Logged.")).to_have_count(0)
    expect(page.get_by_role("link", name=worlds.HERE)).to_contain_text("final")
    expect(page.locator(".toast")).to_contain_text("Undone. Both stay readable.")
    expect(page.locator(".toast button")).to_have_count(0)


def test_without_a_link_a_second_entry_withdraws_the_first(page: Page):
    unlink(page.context)
    page.goto(BENCH)
    log_final(page)
    page.locator(".toast").get_by_role("button", name="Undo").click()
    expect(page.locator(".toast")).to_contain_text("Undone on this tablet.")
    first, second = kept(page)
    assert second["depends_on"] == [first["key"]]
    page.goto(f"{BENCH}unit/{worlds.HERE}/")
    expect(page.get_by_text("Final: log it")).to_be_visible()
    link_again(page)
    assert not final_stands()
    assert StepRecord.objects.filter(entry__key__in=[first["key"], second["key"]]).count() == 2


def test_the_key_goes_after_ten_seconds(page: Page):
    log_final(page)
    expect(page.locator(".toast")).to_be_visible()
    expect(page.locator(".toast")).to_have_count(0, timeout=12_000)
    assert final_stands()


def test_a_list_of_things_that_came_here_is_undone_by_one_press_each_by_an_entry_of_its_own(page: Page):
    codes = [worlds.HERE, worlds.RESIN]
    with clock.at(worlds.AFTER):
        move_item(worlds.RESIN, station="Mixing", said=worlds.by())
    page.goto(f"{BENCH}many/here/")
    expect(page.locator("output.count")).to_be_visible()
    for code in codes:
        scan(page, code)
    page.get_by_role("button", name="Log 2 as here").click()
    toast = page.locator(".toast")
    toast.get_by_role("button", name="Undo").click()
    expect(toast).to_contain_text("Undone.")
    moves = Move.objects.filter(entry__kind="entry withdrawn").values_list("item__state__code", flat=True)
    assert sorted(moves) == sorted(codes)


def test_what_no_press_takes_back_says_what_to_do_instead(page: Page):
    page.goto(f"{BENCH}many/out/")
    expect(page.locator("output.count")).to_be_visible()
    scan(page, worlds.HERE)
    page.get_by_label("Who takes them?").fill("Painter")
    page.get_by_role("button", name="Send 1 to Painter").click()
    expect(page.locator(".toast")).to_contain_text("Take them back in where they did not leave.")
    expect(page.locator(".toast").get_by_role("button")).to_have_count(0)


def test_a_hold_placed_by_a_mis_tap_is_undone(page: Page):
    page.goto(f"{BENCH}log/hold/?unit={worlds.HERE}")
    page.get_by_role("button").filter(has_text="doubt").first.click()
    for _ in range(3):
        log = page.locator("button.log")
        if page.locator(".toast").count() or not log.count():
            break
        log.click()
        page.wait_for_load_state()
    page.locator(".toast").get_by_role("button", name="Undo").click()
    expect(page.locator(".toast")).to_contain_text("Undone.")
    assert HoldLift.objects.latest("pk").is_withdrawn


def test_without_a_link_a_hold_that_was_a_mis_tap_stops_nothing_on_the_tablet_either(page: Page):
    unlink(page.context)
    page.goto(f"{BENCH}log/hold/?unit={worlds.HERE}&reason=doubt")
    page.get_by_label("What did you see?").fill("nothing")
    page.get_by_role("button", name="Log hold it").click()
    page.locator(".toast").get_by_role("button", name="Undo").click()
    expect(page.locator(".toast")).to_contain_text("Undone on this tablet.")
    page.goto(f"{BENCH}unit/{worlds.HERE}/")
    expect(page.get_by_text("Final: log it")).to_be_visible()


def carrier_here(page: Page) -> list:
    """What carries the unit by what this tablet knows: from the snapshot, and from what was logged here since."""
    return page.evaluate(
        """async code => {
            const { rules } = await import('/static/floor/rules.js');
            return (await rules()).units.get(code).carrier ?? [];
        }""",
        worlds.HERE,
    )


def test_a_carrier_that_was_put_on_by_a_mis_tap_is_taken_back_with_a_link_and_without(page: Page):
    unit = item_by_code(worlds.HERE).pk
    put_carrier(worlds.HERE, kind="tag", symbol=f"(21){worlds.HERE}(90)L1", said=worlds.by())
    take_along(page)
    for offline in (False, True):
        page.context.set_offline(offline)
        page.goto(f"{BENCH}log/carrier/?unit={worlds.HERE}&put=label&reason=worn")
        page.locator("#answer").fill(f"(21){worlds.HERE}(90)L2")
        page.locator("#answer").press("Enter")
        toast = page.locator(".toast")
        expect(toast).to_contain_text(f"Logged {worlds.HERE}.")
        assert carrier_here(page)[0] == "label"
        if not offline:
            take_along(page)  # the snapshot knows the mistake by then
            page.context.set_offline(True)
        toast.get_by_role("button", name="Undo").click()
        expect(toast).to_contain_text("Undone on this tablet.")
        assert carrier_here(page) == ["tag", worlds.HERE, 1]
        link_again(page)
        assert [(row.kind, row.is_on) for row in carriers_of([unit])] == [("tag", True)]
