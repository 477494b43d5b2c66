"""What a tablet without a link knows by itself: what was logged on it lies over what it took along."""

import pytest
from playwright.sync_api import Page, expect

from records.scenario.works import MANDRELS, MOULDS
from tests import demo
from tests.browser.floor import OUTBOX, at, enter

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
PUT = f"""async told => {{ {OUTBOX} const key = () => crypto.randomUUID();
    return box.put(told.map(one => ({{ key: key(), done: true, ...one }}))); }}"""
MOULD, OTHER = MOULDS["front"]
WALKED = """async ([name, told]) => {
    const { rules, routeOf, unitAt } = await import('/static/floor/rules.js');
    const { walk } = await import('/static/floor/walk.js');
    const known = await rules();
    const on = told.unit && unitAt(known, told.unit);
    const step = () => ({ ...routeOf(known, on).find(one => one.operation === told.operation), on });
    const { question, problem } = walk(known, name === 'make' ? known.snapshot.makes[told.part] : step(), told);
    return [question?.asks ?? '', problem];
}"""


@pytest.fixture(autouse=True)
def shift(page: Page) -> None:
    demo.a_shift_begins()
    page.set_default_timeout(8000)


def unlinked(page: Page, station: str) -> None:
    enter(page, "marta", station)
    page.context.set_offline(True)


def test_a_pot_without_a_number_has_its_clock_wherever_pots_stand(page: Page):
    unlinked(page, "Mixing")
    page.evaluate(PUT, [{"kind": "mix", "payload": {"mix": "resin", "pot": "", "inputs": []}}])
    for station in ("Mixing", "Press 1"):
        page.goto(at(station))
        expect(page.get_by_text("no number yet")).to_be_visible()
        expect(page.get_by_role("timer").locator("b")).to_have_text("59")


def test_a_spool_scanned_where_the_programme_is_asked_for_is_not_taken_for_it(page: Page):
    unlinked(page, "Winding")
    told = {"part": "TUBE", "tool": MANDRELS[0], "spools-1-lot": demo.SPOOL, "spools-1-amount": "300"}
    asks, problem = page.evaluate(WALKED, ["make", told | {"reading-1": "FB-26-000050-9"}])
    assert asks == "Programme"
    assert problem.startswith("That is the code FB-26-000050-9. Asked for here: Programme.")
    assert page.evaluate(WALKED, ["make", told | {"reading-1": "rev 4", "unit": ""}]) == ["", ""]


def test_another_mould_than_the_unit_stood_in_is_asked_about_and_stands_for_it_from_then_on(page: Page):
    front = demo.a_mould_to_fill()
    unlinked(page, "Press 1")
    again = {"unit": front, "operation": "mould", "tools-1": OTHER}
    assert page.evaluate(WALKED, ["step", again]) == [f"{front} stands in {MOULD}", ""]
    page.evaluate(PUT, [{"kind": "step", "payload": {"unit": front, "operation": "mould", "tools": [OTHER]}}])
    assert page.evaluate(WALKED, ["step", again | {"unit": OTHER}])[0] == "Scan the bladder that is in it now"


def test_the_unit_of_a_reading_ties_no_entries_together(page: Page):
    unlinked(page, "Press 1")
    readings = [{"name": "pressure-rise", "value": "0.2", "unit": "mbar"}]
    told = [
        {"kind": "step", "payload": {"unit": unit, "operation": "leak test", "readings": readings}} for unit in "AB"
    ]
    kept = page.evaluate(PUT, told)
    assert [one["touches"] for one in kept] == [["A"], ["B"]]
    assert [one["depends_on"] for one in kept] == [[], []]
