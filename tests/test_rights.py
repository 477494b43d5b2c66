"""Who may open which page and send which form: one table for the whole site, and nothing missing from it."""

import re
from collections.abc import Iterator
from dataclasses import asdict
from html import unescape
from urllib.parse import urlsplit

import pytest
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, resolve, reverse

from plant.people.rights import Role
from tests import desks, worlds
from tests.rights import NOT_OURS, PAGES, WITHOUT_BADGE, Page

pytestmark = pytest.mark.django_db
# One address for many tasks: the page of a station names those that its reader may do.
TASKS_BY_RIGHT = {"floor:log"}


def named(patterns: list, prefix: str = "") -> Iterator[str]:
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            yield from named(pattern.url_patterns, f"{prefix}{pattern.namespace}:" if pattern.namespace else prefix)
        elif isinstance(pattern, URLPattern):
            yield f"{prefix}{pattern.name}"


def address_of(page: Page, waiting: dict[str, object]) -> str:
    return reverse(page.name, args=[arg.format(**waiting) for arg in page.args]) + page.asks.format(**waiting)


def answer(client: Client, page: Page, address: str) -> HttpResponse:
    """What one request is answered, of which nothing stays."""
    with transaction.atomic():
        if page.body:
            kind = "image/jpeg" if isinstance(page.body, bytes) else "application/json"
            response = client.post(address, page.body, content_type=kind)
        else:
            response = client.get(address) if page.sends is None else worlds.press(client, address, **page.sends)
        transaction.set_rollback(True)
    return response


def links_of(response: HttpResponse) -> set[str]:
    """Names of the pages of ours that a page links to."""
    if response.status_code != 200 or "html" not in response.headers["Content-Type"]:
        return set()
    paths = {urlsplit(unescape(href)).path for href in re.findall(r'href="(/[^"#]*)', response.content.decode())}
    return {resolve(path).view_name for path in paths if not path.startswith("/static/")}


@pytest.mark.long
@pytest.mark.sqlite  # whom a page lets through is asked before any table is
def test_each_role_is_let_through_or_answered_403_as_the_table_says_and_no_page_links_to_a_closed_one():
    worlds.a_straight_week()
    waiting = asdict(worlds.matters_waiting()) | asdict(desks.all_of_it())
    opens = {
        name: {role for page in PAGES if page.name == name and page.sends is None for role in page.lets}
        for name in {page.name for page in PAGES if page.sends is None} - TASKS_BY_RIGHT
    }
    wrong = []
    for role in Role.values:
        client = worlds.signed_in(role)
        for page in PAGES:
            response = answer(worlds.another_window(client), page, address_of(page, waiting))
            status = response.status_code
            astray = sorted(name for name in links_of(response) if role not in opens.get(name, Role))
            wrong += [(page.name, "links to", role, name) for name in astray]
            if (status in (200, 302)) != (role in page.lets) or (role not in page.lets and status != 403):
                wrong.append((page.name, "get" if page.sends is None else "post", role, status))
    assert wrong == [], "\n".join(map(str, wrong))


def test_nobody_sees_a_page_without_a_badge():
    worlds.a_straight_week()
    waiting = asdict(worlds.matters_waiting()) | asdict(desks.all_of_it())
    answers = {page.name: Client().get(address_of(page, waiting)) for page in PAGES}
    assert {
        name for name, response in answers.items() if not response.headers.get("Location", "").startswith("/sign/in/")
    } <= {"people:sign_out", "floor:entries_take", "floor:photo_take"}


def test_every_address_stands_in_the_table():
    ours = {name for name in named(get_resolver().url_patterns) if not name.startswith(NOT_OURS)}
    assert ours - {page.name for page in PAGES} == WITHOUT_BADGE
