"""What goes wrong on the way: the server killed, an answer lost, a session at its end, a tablet that is full."""

import json
import os
import random
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.db import connection
from playwright.sync_api import Browser, Page, Route, expect

from plant.people.models import Person
from records.floor.actions import print_sheet
from records.items.actions import place_hold
from records.items.models import Hold, Move
from records.ledger.models import Entry, Unplaced
from tests import worlds
from tests.browser.floor import OUTBOX, settle, sign_in_by_hand, until
from tests.browser.test_tablet import (
    BENCH,
    a_final_step_to_do,
    enter,
    finals,
    kept,
    link_again,
    log_final,
    put_moves,
    unlink,
)
from tests.sources import BASE

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
STARTING_S = 30
SENDS = "import('/static/floor/link.js').then(link => { link.send(); return null; })"


@pytest.fixture(autouse=True)
def week(page: Page) -> None:
    worlds.a_straight_week()
    page.set_default_timeout(8000)


class Server:
    """The program as a process of its own, on the database of this test."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        name = str(connection.settings_dict["NAME"])
        is_file = connection.vendor == "sqlite"
        url = f"sqlite:///{name}" if is_file else urlsplit(settings.DATABASE_URL)._replace(path=f"/{name}").geturl()
        (folder / "static").mkdir()
        own = {"TRIAL": "1", "VAR_DIR": str(folder), "DATABASE_URL": url, "OWNER_DATABASE_URL": ""}
        self.environment = os.environ | own
        self.process: subprocess.Popen | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        command = [sys.executable, "manage.py", "runserver", "--noreload", "--skip-checks", str(self.port)]
        quiet = subprocess.DEVNULL
        self.process = subprocess.Popen(command, cwd=BASE, env=self.environment, stdout=quiet, stderr=quiet)
        ends = time.monotonic() + STARTING_S
        while time.monotonic() < ends and self.process.poll() is None:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)
        raise AssertionError("the server did not start")

    def kill(self) -> None:
        if self.process is not None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
            self.process = None


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    # Tests hash quickly; a program of its own knows the plant's way alone.
    hasher = Argon2PasswordHasher()
    Person.objects.filter(badge="operator").update(password=hasher.encode(worlds.PASSWORD, hasher.salt()))
    own = Server(tmp_path)
    own.start()
    yield own
    own.kill()


def wait_for_entries(number: int) -> None:
    """Until so many entries are on file."""
    ends = time.monotonic() + STARTING_S
    while Entry.objects.count() < number:
        assert time.monotonic() < ends, "nothing was sent"
        time.sleep(0.002)


@pytest.mark.postgresql  # a plant stands on it
@pytest.mark.long
def test_a_server_killed_ten_times_in_mid_batch_loses_nothing_and_doubles_nothing(server: Server, browser: Browser):
    chance = random.Random(20261126)
    with browser.new_context(base_url=server.address) as context:
        page = context.new_page()
        sign_in_by_hand(page, "operator", worlds.PASSWORD)
        settle(page, "operator", BENCH)
        before = Entry.objects.count()
        server.kill()
        put_moves(page, 0, 200, "operator")
        on_file = []
        for _ in range(10):
            so_far = Entry.objects.count()
            server.start()
            page.evaluate(SENDS)
            # So few that each kill falls within a batch of forty, wherever the one before it fell.
            wait_for_entries(so_far + chance.randint(1, 19))
            server.kill()
            on_file.append(Entry.objects.count() - before)
        server.start()
        link_again(page)
        facts = list(Entry.objects.order_by("pk")[before:])
        made = [entry["key"] for entry in kept(page)]
        assert [str(fact.key) for fact in facts] == made
        assert len(made) == 200
        assert Move.objects.filter(entry__in=facts).count() == 200
        # The kills fell between entries, not only between batches of forty.
        assert sum(bool(count % 40) for count in on_file if count < 200) > 4, on_file


def test_an_answer_lost_on_the_way_makes_no_second_fact(page: Page):
    enter(page, "operator")
    before = Entry.objects.count()
    lost: list[int] = []

    def lose(route: Route) -> None:
        if "move" in (route.request.post_data or "") and not lost:
            lost.append(route.fetch().status)
            route.abort()
        else:
            route.continue_()

    page.route("**/floor/entries/", lose)
    put_moves(page, 0, 5, "operator")
    page.evaluate(SENDS)
    expect(page.get_by_text("No link.")).to_be_visible()
    assert (lost, Entry.objects.count() - before) == ([200], 5)
    link_again(page)
    assert Entry.objects.count() - before == 5
    assert [entry["state"] for entry in kept(page)] == ["taken"] * 5


def test_a_session_at_its_end_keeps_the_entries_until_somebody_signs_in(page: Page):
    enter(page, "operator")
    before = Entry.objects.count()
    page.context.clear_cookies()
    put_moves(page, 0, 3, "operator")
    page.evaluate(SENDS)
    expect(page.get_by_text("Signed out.")).to_be_visible()
    expect(page.get_by_text("3 entries are safe on this tablet")).to_be_visible()
    assert Entry.objects.count() == before
    enter(page, "lead")  # the operator sat here: what was made goes up under the operator's name
    link_again(page)
    assert [entry.by.badge for entry in Entry.objects.order_by("pk")[before:]] == ["operator"] * 3


FULL = """IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); };"""


@pytest.mark.sqlite
def test_a_full_tablet_without_a_link_says_that_nothing_was_kept_and_which_sheet_to_take(page: Page):
    a_final_step_to_do()
    sheets = [print_sheet("Bench", said=worlds.by("lead")).code for _ in range(2)]
    enter(page, "operator")
    unlink(page.context)
    page.add_init_script(FULL)
    page.goto(BENCH)
    log_final(page)
    expect(page.get_by_text("Nothing was kept: this tablet is full and has no link.")).to_be_visible()
    expect(page.get_by_text(f"Use sheet {sheets[1]} of this station.")).to_be_visible()
    assert (kept(page), finals()) == ([], [])


@pytest.mark.sqlite
def test_the_station_without_a_link_names_the_sheet_that_lies_there_and_so_does_a_task_that_needs_one(page: Page):
    sheet = print_sheet("Bench", said=worlds.by("lead")).code
    enter(page, "operator")
    unlink(page.context)
    page.goto(BENCH)
    expect(page.get_by_text(f"If this tablet fails too: sheet {sheet}.")).to_be_visible()
    page.goto(f"{BENCH}log/nothing-of-this-name/")
    expect(page.get_by_text(f"Use sheet {sheet} of this station.")).to_be_visible()


@pytest.mark.sqlite
def test_a_tablet_that_is_locked_out_names_the_sheet_where_it_stands(page: Page):
    sheet = print_sheet("Bench", said=worlds.by("lead")).code
    enter(page, "operator")
    page.route("**/floor/entries/", lambda route: route.fulfill(status=401, json={"code": "locked-out", "words": ""}))
    page.evaluate(SENDS)
    expect(page.get_by_text("This tablet is locked.")).to_be_visible()
    expect(page.locator("[data-waiting]")).to_contain_text(f"Use sheet {sheet} of this station.")


@pytest.mark.sqlite
def test_a_full_tablet_with_a_link_logs_by_the_plain_form(page: Page):
    a_final_step_to_do()
    enter(page, "operator")
    page.add_init_script(FULL)
    page.goto(BENCH)
    log_final(page)
    expect(page.get_by_text("Logged.")).to_be_visible()
    assert (kept(page), finals()) == ([], ["operator"])


UNSAYABLE = """const real = Storage.prototype.setItem;
Storage.prototype.setItem = function (name, value) {
  if (name === 'told') throw new DOMException('full', 'QuotaExceededError');
  real.call(this, name, value);
};"""


@pytest.mark.sqlite
def test_what_was_kept_goes_no_second_way_where_the_tablet_stumbles_afterwards(page: Page):
    a_final_step_to_do()
    enter(page, "operator")
    before = Unplaced.objects.count()
    page.add_init_script(UNSAYABLE)
    page.goto(BENCH)
    log_final(page)
    page.wait_for_url(f"**{BENCH}")
    link_again(page)
    assert [entry["state"] for entry in kept(page)] == ["taken"]
    assert (finals(), Unplaced.objects.count()) == (["operator"], before)


def test_a_reading_outside_holds_its_unit_once_however_often_it_is_pressed(page: Page):
    a_final_step_to_do()
    enter(page, "operator")
    page.goto(f"{BENCH}log/step/?unit={worlds.HERE}&operation=final")
    form = page.locator("form[data-entry]")
    form.evaluate(
        "form => { form.dataset.entry = JSON.stringify({ ...JSON.parse(form.dataset.entry), holds: true }); }"
    )
    place_hold(worlds.HERE, reason="doubt", said=worlds.by("marta"))
    page.get_by_role("button", name="Log final").click()
    expect(page.get_by_text("Not logged yet")).to_be_visible()
    page.get_by_role("button", name="It has been done: keep it and mark it").click()
    expect(page.get_by_text("Logged.").first).to_be_visible()
    assert finals() == ["operator"]
    assert Hold.objects.filter(item__codes__code=worlds.HERE, reason="reading-outside").count() == 1


def test_what_depends_on_an_entry_that_the_server_stumbles_over_waits_behind_it(page: Page):
    enter(page, "operator")
    before = Move.objects.count()

    def stumble(route: Route) -> None:
        sent = json.loads(route.request.post_data or "{}")["entries"]
        is_first = [one["payload"].get("station") for one in sent] == ["Bench"]
        if len(sent) > 1 or is_first:
            route.fulfill(status=500, body="")
        else:
            route.continue_()

    page.route("**/floor/entries/", stumble)
    put_moves(page, 0, 2, "operator")
    page.evaluate(SENDS)
    asked = (
        f"async () => {{ {OUTBOX} return (await box.entries('waiting')).filter(one => one.tries > 0).length === 2; }}"
    )
    until(page, asked)
    assert [entry["code"] for entry in kept(page, "waiting")] == ["server-fault", "waits"]
    assert Move.objects.count() == before
    page.unroute("**/floor/entries/")
    link_again(page)
    assert [row.place.station.code for row in Move.objects.order_by("pk")[before:]] == ["Bench", "Mixing"]
