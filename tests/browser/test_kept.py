"""*Kept on this tablet*: its buttons do what they say, and a step tells how many touches it took."""

import json
import re

import pytest
from playwright.sync_api import Page, Route, expect

from records.items.actions import place_hold
from records.items.models import Move
from records.ledger.clock import clock
from records.ledger.models import Entry, EntryBody, Flag
from tests import worlds
from tests.browser.floor import all_sent
from tests.browser.test_tablet import a_final_step_to_do, enter, kept, link_again, log_final, put_moves, unlink

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def week(page: Page) -> None:
    worlds.a_straight_week()
    page.set_default_timeout(10_000)


def put_entry(page: Page, **told: object) -> None:
    """An entry kept on the tablet as a screen keeps it."""
    page.evaluate(
        """async told => { const box = await import('/static/floor/outbox.js');
            const [by, sittings] = ['operator', await box.recall('sittings')];
            await box.put([{ key: crypto.randomUUID(), by, sitting: sittings[by], ...told }]); }""",
        told,
    )


def test_what_was_refused_is_kept_and_marked_once_somebody_says_that_it_has_been_done(page: Page):
    a_final_step_to_do()
    place_hold(worlds.HERE, reason="doubt", said=worlds.by())
    enter(page, "operator")
    put_entry(page, kind="step", payload={"unit": worlds.HERE, "operation": "final", "station": "Bench"}, label="final")
    page.goto("/floor/kept/")
    expect(page.get_by_role("heading", name="Needs you")).to_be_visible()
    expect(page.get_by_text("Not taken")).to_be_visible()
    page.get_by_role("button", name="It has been done: keep it and mark it").click()
    expect(page.get_by_role("button", name="I have read it")).to_be_visible()
    (entry,) = kept(page, "flagged")
    assert Flag.objects.filter(entry__key=entry["key"]).exists()
    page.get_by_role("button", name="I have read it").click()
    expect(page.get_by_role("heading", name="Needs you")).to_have_count(0)


def test_what_has_not_happened_is_put_aside_and_sent_no_more(page: Page):
    a_final_step_to_do()
    place_hold(worlds.HERE, reason="doubt", said=worlds.by())
    enter(page, "operator")
    put_entry(page, kind="step", payload={"unit": worlds.HERE, "operation": "final"}, label="final")
    page.goto("/floor/kept/")
    page.get_by_role("button", name="It has not happened: put it aside").click()
    expect(page.get_by_text("Put aside")).to_be_visible()
    (entry,) = kept(page, "aside")
    assert not Entry.objects.filter(key=entry["key"]).exists()


def test_try_again_sends_what_waits(page: Page):
    enter(page, "operator")
    page.goto("/floor/kept/")
    before = Move.objects.count()
    unlink(page.context)
    put_moves(page, 0, 2, "operator")
    page.evaluate("import('/static/floor/link.js').then(link => { link.tellOthers(); return null; })")
    expect(page.get_by_role("heading", name="2 wait to go up")).to_be_visible()
    page.context.set_offline(False)
    page.get_by_role("button", name="Try again").click()
    expect(page.get_by_role("heading", name="Nothing waits")).to_be_visible()
    assert Move.objects.count() == before + 2


def test_forty_whose_photos_are_lost_keep_no_other_on_the_tablet(page: Page):
    enter(page, "operator")
    before = Move.objects.count()
    unlink(page.context)
    for n in range(40):  # as many as go at once
        put_entry(page, kind="move", payload={"item": f"N{n}", "station": "Bench"}, label="move", photos=["ab" * 32])
    put_moves(page, 0, 1, "operator")
    all_sent(page, but=40)
    assert Move.objects.count() == before + 1
    assert {entry["code"] for entry in kept(page, "waiting")} == {"photo-missing"}


def test_what_is_not_answered_is_not_sent_without_end(page: Page):
    enter(page, "operator")
    asked = []

    def say_nothing(route: Route) -> None:
        asked.extend(route.request.post_data_json["entries"])
        route.fulfill(json={"answers": [], "server_time": clock.now().isoformat()})

    page.route("**/floor/entries/", say_nothing)
    unlink(page.context)
    put_moves(page, 0, 1, "operator")
    page.context.set_offline(False)
    page.evaluate("import('/static/floor/link.js').then(link => link.send()).then(() => null)")
    assert 1 <= len(asked) <= 4
    assert len(kept(page, "waiting")) == 1


def test_the_saved_file_is_taken_in_at_a_desk_and_the_link_brings_nothing_twice(page: Page):
    enter(page, "operator")
    page.goto("/floor/kept/")
    before = Move.objects.count()
    unlink(page.context)
    put_moves(page, 0, 3, "operator")
    page.evaluate("import('/static/floor/link.js').then(link => { link.tellOthers(); return null; })")
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save to a file").click()
    expect(page.get_by_text("Saved. Take the file to a desk")).to_be_visible()
    path = saved.value.path()
    with page.context.browser.new_context(base_url=page.url.split("/floor")[0]) as context:
        desk = context.new_page()
        enter(desk, "lead")
        desk.goto("/floor/file/")
        desk.get_by_label("The file that the tablet saved").set_input_files(path)
        desk.get_by_role("button", name="Take it in").click()
        expect(desk.get_by_role("heading", name="3 taken in")).to_be_visible()
    link_again(page)
    assert Move.objects.count() == before + 3


def test_a_logged_step_tells_its_touches_and_no_more_than_four(page: Page):
    a_final_step_to_do()
    enter(page, "operator")
    log_final(page)
    expect(page.get_by_text("Logged.")).to_be_visible()
    (entry,) = kept(page)
    told = json.loads(EntryBody.objects.get(entry__key=entry["key"]).payload)["told"]
    assert 1 <= told["figures"]["touches"] <= 4
    assert 0 < told["figures"]["ms"] < 60_000
    expect(page).to_have_url(re.compile(r"/floor/at/Bench/$"))


def test_a_clock_that_jumps_without_a_link_makes_the_time_unsure(page: Page):
    enter(page, "operator")
    unlink(page.context)
    put_moves(page, 0, 1, "operator")
    page.evaluate("() => { const real = Date.now; Date.now = () => real() + 3600000; }")
    put_moves(page, 1, 1, "operator")
    sure, unsure = kept(page)
    assert (bool(sure.get("time_unsure")), unsure["time_unsure"]) == (False, True)
    link_again(page)
    assert [flag.code for flag in Flag.objects.filter(entry__key=unsure["key"])] == ["time-unsure"]
