"""What a tablet without a link knows by itself: what was logged on it lies over what it took along."""

import re

import pytest
from playwright.sync_api import Page, expect

from records.scenario.works import CUTTER, JIG, MANDRELS, MOULDS
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


MADE = """async told => {
    const { rules } = await import('/static/floor/rules.js');
    const { entryMade } = await import('/static/floor/payload.js');
    const known = await rules();
    return entryMade(known, known.snapshot.makes[told.part], told, '').payload.readings;
}"""
WAITS = """async unit => {
    const { rules } = await import('/static/floor/rules.js');
    return (await rules()).units.get(unit).wait?.name ?? null;
}"""
# What the tablet took along is so many hours older.
LATER = f"""async hours => {{ {OUTBOX}
    const snapshot = await box.recall('snapshot');
    const earlier = at => new Date(Date.parse(at) - hours * 3_600_000).toISOString();
    for (const unit of snapshot.units) if (unit.ready) unit.ready.until = earlier(unit.ready.until);
    await box.remember('snapshot', snapshot);
}}"""


OUT_WITH_THE_PAINTER = f"""async () => {{ {OUTBOX}
    const snapshot = await box.recall('snapshot');
    snapshot.many.out.push({{ code: 'CN-1', to: 'The painter', away: ['TW-26-000007-4'] }});
    await box.remember('snapshot', snapshot);
}}"""


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


def test_a_mould_that_was_closed_once_more_waits_for_no_number_of_before(page: Page):
    front = demo.a_mould_to_fill()
    unlinked(page, "Press 1")
    read = {"reading": "pressure-rise", "value": "0.9", "of": "mbar", "minutes": 10}
    page.evaluate(PUT, [{"kind": "wait", "payload": {"unit": front, "operation": "leak test", **read}}])
    assert page.evaluate(WAITS, front) == "pressure-rise"
    page.evaluate(PUT, [{"kind": "step", "payload": {"unit": front, "operation": "mould", "tools": [MOULD]}}])
    assert page.evaluate(WAITS, front) is None


def test_the_unit_of_a_reading_ties_no_entries_together(page: Page):
    unlinked(page, "Press 1")
    readings = [{"name": "pressure-rise", "value": "0.2", "unit": "mbar"}]
    told = [
        {"kind": "step", "payload": {"unit": unit, "operation": "leak test", "readings": readings}} for unit in "AB"
    ]
    kept = page.evaluate(PUT, told)
    assert [one["touches"] for one in kept] == [["A"], ["B"]]
    assert [one["depends_on"] for one in kept] == [[], []]


def test_a_measure_outside_that_is_kept_holds_its_unit_here_and_what_was_read_is_on_file(page: Page):
    demo.a_pot("POT-0", before=1.95)
    front = demo.a_front_to_deburr()
    unlinked(page, "Drill cell")
    screen = f"{at('Drill cell')}unit/{front}/"
    page.goto(f"{at('Drill cell')}?code={CUTTER}")
    expect(page.get_by_text(f"That is the cutter {CUTTER}. Due here: unit. Scan another code.")).to_be_visible()
    expect(page.get_by_role("link", name=f"Hold {CUTTER}")).to_have_count(0)
    page.goto(screen)
    asked = "To be measured at deburr, and not on file yet: shell width. Press “Measure it”."
    expect(page.get_by_text(asked)).to_be_visible()
    lines = [{"characteristic": "shell-width", "readings": ["72.5"], "gauge": "", "reason": ""}]
    told = {"kind": "measure", "payload": {"unit": front, "lines": lines}}
    page.evaluate(PUT, [told])
    page.goto(screen)
    expect(page.get_by_role("link", name="Deburr: log it")).to_be_visible()
    expect(page.get_by_text(asked)).to_have_count(0)
    page.evaluate(PUT, [told | {"keeps": True}])
    page.goto(screen)
    expect(page.get_by_role("alertdialog")).to_contain_text("a measure outside its band")


def test_a_surface_made_ready_too_long_ago_is_told_at_the_scan_and_made_ready_again_without_a_link(page: Page):
    demo.a_pot("POT-0", before=1.95)
    front = demo.a_front_to_bond()
    unlinked(page, "Bonding")
    screen = f"{at('Bonding')}unit/{front}/"
    page.goto(screen)
    expect(page.get_by_text(re.compile(r"Prepare good until \d\d:\d\d"))).to_be_visible()
    told = {"part": "OSIER", "tool": JIG, "front": front}
    assert page.evaluate(WALKED, ["make", told])[0] == "Scan the rear triangle"
    page.evaluate(LATER, 4)
    assert page.evaluate(WALKED, ["make", told])[0] == f"{front} may not go in"
    page.goto(screen)
    expect(page.get_by_text("Do it again before you go on.")).to_be_visible()
    page.get_by_role("link", name="Prepare again: log it").click()
    page.get_by_role("button", name="Log prepare").click()
    expect(page.get_by_text("Kept on this tablet.")).to_be_visible()
    assert page.evaluate(WALKED, ["make", told])[0] == "Scan the rear triangle"


def test_what_was_read_in_words_is_told_without_a_unit(page: Page):
    unlinked(page, "Winding")
    told = {"part": "TUBE", "tool": MANDRELS[0], "spools-1-lot": demo.SPOOL, "spools-1-amount": "300", "unit": ""}
    readings = page.evaluate(MADE, told | {"reading-1": "rev 4"})
    assert readings == [{"name": "programme", "value": "rev 4", "unit": ""}]


def test_a_unit_that_is_out_is_no_code_that_nobody_knows(page: Page):
    unlinked(page, "Bench")
    page.evaluate(OUT_WITH_THE_PAINTER)
    page.goto(f"{at('Bench')}?code=TW-26-000007-4")
    expect(page.get_by_text("TW-26-000007-4 is not here: it is out or shipped. Book it back first.")).to_be_visible()
    expect(page.get_by_role("link", name="Hold TW-26-000007-4")).to_have_count(0)
