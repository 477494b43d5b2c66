"""A tablet in the hall: what is logged with and without a link is on file once, in order, whatever befalls the page."""

import contextlib
import json
import re
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Page, expect

from records.items.models import Hold, Move
from records.ledger.models import Entry, EntryBody
from records.steps.actions import withdraw_step
from records.steps.models import StepRecord
from tests import worlds
from tests.browser.floor import OUTBOX, all_sent, come_in, until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

BENCH = "/floor/at/Bench/"
STATIONS = ("Bench", "Mixing")


@pytest.fixture(autouse=True)
def week(page: Page) -> None:
    worlds.a_straight_week()
    page.set_default_timeout(8000)


def enter(page: Page, badge: str) -> None:
    """Somebody comes in at the bench."""
    come_in(page, badge, worlds.PASSWORD, BENCH)


def unlink(context: BrowserContext) -> None:
    context.set_offline(True)


def link_again(page: Page, waiting: int = 0) -> None:
    """The link is back; wait until no more than so many wait."""
    all_sent(page, but=waiting)


def kept(page: Page, state: str = "") -> list[dict]:
    return page.evaluate(f"async state => {{ {OUTBOX} return box.entries(state || undefined); }}", state)


def a_final_step_to_do() -> None:
    done = StepRecord.objects.get(unit__codes__code=worlds.HERE, operation__name="final")
    withdraw_step(done.entry.key, words="logged for another frame", said=worlds.by("marta"))


def log_final(page: Page) -> None:
    page.get_by_label("Code of the unit").fill(worlds.HERE.lower())
    page.get_by_role("button", name="Take it").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(worlds.HERE)
    page.get_by_text("Final: log it").click()
    page.get_by_role("button", name="Log final").click()


def finals() -> list[str]:
    standing = StepRecord.objects.standing().filter(unit__codes__code=worlds.HERE, operation__name="final")
    return [step.entry.by.badge for step in standing]


def test_with_a_link_the_press_goes_through_the_outbox(page: Page):
    a_final_step_to_do()
    enter(page, "operator")
    log_final(page)
    expect(page.get_by_text("Logged.")).to_be_visible()
    (entry,) = kept(page)
    assert (entry["state"], finals()) == ("taken", ["operator"])
    sealed = json.loads(EntryBody.objects.get(entry__key=entry["key"]).payload)
    assert sealed["device"] == entry["device"]
    assert sealed["told"]["sequence"] == 1
    assert sealed["told"]["seen"]["route"]


@pytest.mark.sqlite
def test_times_are_those_of_the_works_whatever_zone_the_tablet_is_set_to(browser: Browser, base_url: str):
    a_final_step_to_do()
    with browser.new_context(base_url=base_url, timezone_id="Pacific/Auckland") as context:
        page = context.new_page()
        enter(page, "operator")
        since = page.get_by_text("waits since").first.inner_text()
        unlink(context)
        page.reload()
        expect(page.get_by_text("No link. Rules, holds and lots as of")).to_be_visible()
        assert page.get_by_text("waits since").first.inner_text() == since
        page.goto("/floor/kept/")
        expect(page.get_by_role("banner")).to_contain_text("The operator")


def test_what_is_logged_while_a_sending_is_under_way_goes_with_the_next_one_at_once(page: Page):
    enter(page, "operator")
    held: list = []
    page.route("**/floor/entries/", lambda route: held.append(route) if not held else route.continue_())
    with page.expect_request("**/floor/entries/"):
        page.evaluate("import('/static/floor/link.js').then(link => { link.send(); return null; })")
    put_moves(page, 0, 1, "operator")
    page.evaluate("import('/static/floor/link.js').then(link => { link.send(); return null; })")
    held[0].continue_()
    until(page, f"async () => {{ {OUTBOX} return (await box.entries('taken')).length === 1; }}")


def test_without_a_link_a_step_is_walked_from_the_tablet_and_goes_up_later(page: Page):
    a_final_step_to_do()
    enter(page, "operator")
    unlink(page.context)
    page.goto(BENCH)
    expect(page.get_by_text("No link. Rules, holds and lots as of")).to_be_visible()
    log_final(page)
    expect(page.get_by_text("Kept on this tablet.")).to_be_visible()
    expect(page.get_by_text("1 entry is safe on this tablet")).to_be_visible()
    page.get_by_label("Code of the unit").fill(worlds.HERE)
    page.get_by_role("button", name="Take it").click()
    expect(page.get_by_text("Its route is done")).to_be_visible()
    assert finals() == []
    link_again(page)
    assert finals() == ["operator"]
    assert kept(page, "waiting") == []
    expect(page.get_by_text("Drawn without a link")).to_be_visible()
    expect(page.get_by_text("No link.")).to_have_count(0)


def test_a_hold_placed_without_a_link_stops_the_unit_on_the_tablet_at_once(page: Page):
    a_final_step_to_do()
    enter(page, "operator")
    unlink(page.context)
    page.goto(f"{BENCH}unit/{worlds.HERE}/")
    page.get_by_role("link", name="Hold it").click()
    page.get_by_role("button", name="A doubt about the record").click()
    page.get_by_label("What did you see?").fill("label hard to read")
    page.get_by_role("button", name="Log hold it").click()
    expect(page.get_by_text("Kept on this tablet.")).to_be_visible()
    page.goto(f"{BENCH}unit/{worlds.HERE}/")
    expect(page.get_by_text("Do not work on it. Put it on the red shelf.")).to_be_visible()
    expect(page.get_by_text("a doubt about the record")).to_be_visible()
    expect(page.get_by_text("Nobody has been told. Call by voice.")).to_be_visible()
    page.goto(BENCH)
    expect(page.get_by_role("link", name=f"{worlds.HERE} ")).to_contain_text("held · waits since")
    link_again(page)
    page.reload()
    expect(page.get_by_role("link", name=f"{worlds.HERE} ")).to_contain_text("held · waits since")
    assert [str(hold.words) for hold in Hold.objects.filter(item__codes__code=worlds.HERE, lift=None)] == [
        "label hard to read"
    ]


# Four minutes behind.
SLOW_CLOCK = """(() => {
    const Real = Date;
    globalThis.Date = class extends Real {
        constructor(...told) { if (told.length) super(...told); else super(Real.now() - 240000); }
        static now() { return Real.now() - 240000; }
    };
})()"""


@pytest.mark.sqlite
def test_a_number_is_asked_without_a_link_with_its_gauge_and_judged_as_it_is_typed(page: Page):
    enter(page, "operator")
    unlink(page.context)
    page.goto(f"{BENCH}log/measure/?unit={worlds.HERE}&gauge-1=")
    gauge = page.get_by_role("img", name=re.compile("^band "))
    expect(gauge).to_be_visible()
    assert gauge.bounding_box()["width"] > 300
    expect(page.locator("svg.gauge .dot")).to_be_hidden()  # nothing is read yet
    page.get_by_role("textbox").fill("900")
    expect(page.get_by_text("Outside, high")).to_be_visible()
    page.get_by_role("button", name=re.compile("^Take 900")).click()
    page.get_by_role("button", name=re.compile("^It reads 900 mm")).click()  # so far off, a slip is asked about first
    expect(page.get_by_text("What is to be done?")).to_be_visible()


PUT_MOVES = f"""async ({{from, many, by, item, stations}}) => {{
    {OUTBOX}
    const sitting = (await box.recall('sittings'))[by];
    for (let n = from; n < from + many; n += 1) {{
        const payload = {{ item, station: stations[n % stations.length] }};
        await box.put([{{ key: crypto.randomUUID(), kind: 'move', payload, done: true, by, sitting, label: 'move' }}]);
    }}
}}"""


def put_moves(page: Page, start: int, many: int, by: str) -> None:
    """So many moves by the outbox of the page, as its screens put them there."""
    told = {"from": start, "many": many, "by": by, "item": worlds.HERE, "stations": STATIONS}
    page.evaluate(PUT_MOVES, told)


@pytest.mark.long
def test_two_hundred_entries_of_three_people_without_a_link_are_two_hundred_facts_in_order(page: Page):
    page.context.add_init_script(SLOW_CLOCK)
    for badge in ("operator", "lead", "stores"):
        enter(page, badge)
    expect(page.get_by_text("This tablet’s clock is 4 min slow. Times are being put right.")).to_be_visible()
    before, begun = Entry.objects.count(), datetime.now(UTC)
    unlink(page.context)
    put_moves(page, 0, 60, "operator")
    page.reload()
    expect(page.get_by_text("60 entries are safe on this tablet")).to_be_visible()
    put_moves(page, 60, 60, "lead")
    other = page.context.new_page()
    other.goto(BENCH)
    put_moves(other, 120, 50, "stores")
    crashed(page)
    put_moves(other, 170, 30, "operator")
    third = other.context.new_page()
    third.goto(BENCH)
    assert len(kept(third, "waiting")) == 200
    other.context.set_offline(False)
    sends = "import('/static/floor/link.js').then(link => { link.send(); return null; })"
    other.evaluate(sends)
    link_again(third)
    facts = list(Entry.objects.order_by("pk")[before:])
    made = {entry["key"]: entry for entry in kept(third)}
    assert [str(fact.key) for fact in facts] == list(made)
    assert len(facts) == len(made) == 200
    assert [fact.by.badge for fact in facts] == [entry["by"] for entry in made.values()]
    assert Move.objects.filter(entry__in=facts).count() == 200
    # The clock was put right: each happened after this test had begun, though the tablet says four minutes before.
    assert min(fact.happened_at for fact in facts) > begun - timedelta(seconds=2)
    assert max(fact.made_at for fact in facts) < begun


@pytest.mark.sqlite
def test_a_tablet_whose_clock_is_slow_knows_what_it_has_just_logged_and_tells_the_true_age_of_what_waits(page: Page):
    page.context.add_init_script(SLOW_CLOCK)
    a_final_step_to_do()
    enter(page, "operator")
    log_final(page)
    expect(page.get_by_text("Logged.").first).to_be_visible()
    unlink(page.context)
    page.goto(f"{BENCH}unit/{worlds.HERE}/")
    expect(page.get_by_text("Its route is done")).to_be_visible()
    begun = datetime.now(UTC)
    put_moves(page, 0, 1, "operator")
    with page.expect_request(lambda asked: "oldest_at" in (asked.post_data or "")) as sent:
        link_again(page)
    oldest = datetime.fromisoformat(sent.value.post_data_json["tablet"]["oldest_at"])
    assert begun - timedelta(seconds=2) < oldest < datetime.now(UTC)


def crashed(page: Page) -> None:
    """The page goes down as when a tablet's browser is ended by its system."""
    with page.expect_event("crash"), contextlib.suppress(Error):
        page.goto("chrome://crash", timeout=3000)
    page.close()
