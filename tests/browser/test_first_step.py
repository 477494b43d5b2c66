"""The first step after the first visit: nothing of the screen is asked of the network but the page itself.

How long it takes is measured by ``python -m tests.bench --only first_step``; here stands why it is short.
"""

import threading
from collections.abc import Callable, Iterable

import pytest
from django.core.handlers.wsgi import WSGIHandler
from django.core.servers.basehttp import WSGIRequestHandler
from django.core.signals import request_started
from playwright.sync_api import Page, expect

from tests import worlds
from tests.browser.test_tablet import BENCH, enter, unlink

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
MEASURE = f"{BENCH}log/measure/?unit=TW-26-004202&gauge-1="


@pytest.fixture
def asked() -> list[str]:
    """Paths that the server is asked for, from now on."""
    paths: list[str] = []

    def note(environ: dict, **_: object) -> None:
        paths.append(environ["PATH_INFO"])

    request_started.connect(note)
    yield paths
    request_started.disconnect(note)


def the_first_question(page: Page) -> None:
    page.goto(MEASURE, wait_until="commit")
    expect(page.locator(".pad")).to_be_visible()
    page.locator('[data-sign="7"]').click()
    expect(page.locator("#answer")).to_have_value("7")


def test_after_the_first_visit_no_part_of_a_screen_is_asked_of_the_network(page: Page, asked):
    worlds.a_straight_week()
    enter(page, "operator")
    page.close()
    page = page.context.new_page()
    page.context.new_cdp_session(page).send("Network.clearBrowserCache")
    asked.clear()
    the_first_question(page)
    parts = [
        path for path in asked if path.startswith("/static/") and "zxing" not in path
    ]  # the decoder comes after it
    assert parts == []
    assert asked[0] == MEASURE.split("?")[0]
    assert asked.count(asked[0]) == 1


def test_without_a_link_nothing_at_all_is(page: Page, asked):
    worlds.a_straight_week()
    enter(page, "operator")
    unlink(page.context)
    asked.clear()
    the_first_question(page)
    assert asked == []


def test_a_page_of_another_version_takes_its_parts_from_the_server(page: Page, asked, monkeypatch):
    worlds.a_straight_week()
    enter(page, "operator")
    page.context.new_cdp_session(page).send("Network.clearBrowserCache")
    monkeypatch.setattr("records.floor.tablet.shell_version", lambda: "another")
    asked.clear()
    the_first_question(page)
    assert "/static/floor/outbox.js" in asked


def test_a_page_of_which_the_link_brings_half_is_drawn_by_the_tablet_and_holds_no_connection(page: Page, monkeypatch):
    worlds.a_straight_week()
    all_of_it, to_its_end = WSGIHandler.__call__, WSGIRequestHandler.handle
    halved, given_up = set(), threading.Event()

    def half_of_it(handler: WSGIHandler, environ: dict, start_response: Callable) -> Iterable[bytes]:
        answer = all_of_it(handler, environ, start_response)
        if not environ["PATH_INFO"].startswith(BENCH):
            return answer
        halved.add(threading.get_ident())
        body = b"".join(answer)
        return [body[: len(body) // 2]]

    def handled(handler: WSGIRequestHandler) -> None:
        """A connection has a thread of its own; it ends when the browser lets go of it."""
        to_its_end(handler)
        if threading.get_ident() in halved:
            given_up.set()

    monkeypatch.setattr(WSGIRequestHandler, "handle", handled)
    enter(page, "operator")
    monkeypatch.setattr(WSGIHandler, "__call__", half_of_it)
    the_first_question(page)
    assert given_up.wait(2)
