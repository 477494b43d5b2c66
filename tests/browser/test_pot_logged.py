"""The press that starts a pot's clock: its label with a link and without, and a badge in place of a second reading."""

import json
import re
from datetime import timedelta
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Page, expect

from plant.equipment.actions import Wanted, set_printer
from plant.people.actions import set_pin
from plant.people.models import Person
from records.ledger.clock import clock
from records.ledger.models import Entry, EntryBody, Flag
from records.scenario.works import BADGES, SCALE_FINE, STATIONS
from tests import demo
from tests.browser.floor import OUTBOX, all_sent, at, enter, take_along, until
from tests.browser.test_who import scan, type_pin
from tests.records.release.test_labels import Receiver, printer_address  # noqa: F401  # a fixture is asked for by its name

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]

# Everything told but the last reading: what is measured is the press that comes after it.
TOLD = {"mix": "resin", "moulds": "as", "scale": SCALE_FINE}
TOLD |= {"component-1-1-lot": "RESIN-1", "component-1-1-amount": "100", "component-1-1-amount-again": "100"}
TOLD |= {"component-2-1-lot": "HARDENER-1", "component-2-1-amount": "30"}
LAST = f"{at('Mixing')}log/pot/?{urlencode(TOLD)}"
PIN = "2749"


@pytest.fixture(autouse=True)
def shift(page: Page) -> None:
    demo.a_shift_begins()
    page.set_default_timeout(8000)


@pytest.fixture
def labels(shift: None, printer_address: str) -> list[bytes]:  # noqa: F811
    """What the printer of the mixing station gets."""
    wanted = Wanted("Labels", printer_address, 300, (STATIONS["Mixing"],))
    set_printer("LP-1", wanted, said=demo.said("edda", before=1))
    return Receiver.got


def start_the_clock(page: Page, *, linked: bool = True) -> None:
    page.context.set_offline(not linked)
    page.goto(LAST)
    page.locator("#answer").fill("30")
    if not linked:  # a label that was printed before would be its number
        page.locator("button.log").click()
        page.get_by_role("button", name="Give it a number").click()
    page.get_by_role("button", name="Start the pot clock").click()
    page.wait_for_url(re.compile(f"{at('Mixing')}$"))


def test_its_label_prints_by_itself_and_without_a_link_waits_for_one_press_while_the_pot_lives(page: Page, labels):
    enter(page, "marta", "Mixing")
    start_the_clock(page)
    expect(page.get_by_text(re.compile(r"Label 1 of PT-\S+ comes out of Labels\. Stick it on"))).to_be_visible()
    assert len(labels) == 1

    start_the_clock(page, linked=False)
    expect(page.get_by_text("Once there is a link, this tablet asks for the label.")).to_be_visible()
    key = page.get_by_role("button", name="Print the label of PT-")
    expect(key).to_have_count(0)
    all_sent(page)
    expect(key).to_contain_text("It was mixed without a link, and may be used until")
    assert len(labels) == 1  # nothing comes out that nobody waits for
    key.click()
    expect(page.get_by_text(re.compile(r"Label 1 of PT-\S+ comes out of Labels"))).to_be_visible()
    expect(key).to_have_count(0)
    assert len(labels) == 2

    start_the_clock(page, linked=False)
    with clock.at(clock.now() + timedelta(minutes=61)):
        all_sent(page)
        until(page, f"async () => {{ {OUTBOX} return (await box.recall('labels-waiting')).length === 0; }}")
    assert len(labels) == 2
    expect(key).to_have_count(0)


def test_another_persons_badge_stands_in_place_of_the_second_reading(page: Page):
    set_pin(Person.objects.get(badge=BADGES["marta"]), PIN, said=demo.said("marta"))
    enter(page, "jonas", "Mixing")
    page.goto("/floor/tablet/")
    expect(page.locator("[name=public_key]")).not_to_have_value("")
    page.get_by_role("button", name="Mixing").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile("This tablet is TB-"))
    page.goto(LAST)
    take_along(page)
    page.get_by_role("button", name="Another person read it too").click()
    page.get_by_role("button", name="Start the pot clock").click()
    expect(page.get_by_role("dialog")).to_contain_text("A typed mass that is read once is confirmed by another person.")
    scan(page, BADGES["marta"])
    type_pin(page, PIN)
    page.wait_for_url(re.compile(f"{at('Mixing')}$"))
    entry = Entry.objects.get(kind="pot mixed")
    told = json.loads(EntryBody.objects.get(entry=entry).payload)["told"]
    assert (entry.by.badge, told["second"]) == (BADGES["jonas"], Person.objects.get(badge=BADGES["marta"]).pk)
    assert "read_again" in told  # the resin was read twice, the hardener once
    assert not Flag.objects.exists()
