"""Who may open which page and send which form: one table for the whole site, and nothing missing from it."""

from collections.abc import Iterator
from dataclasses import asdict

import pytest
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from plant.people.rights import Role
from tests import desks, worlds
from tests.rights import NOT_OURS, PAGES, WITHOUT_BADGE, Page

pytestmark = pytest.mark.django_db


def named(patterns: list, prefix: str = "") -> Iterator[str]:
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            yield from named(pattern.url_patterns, f"{prefix}{pattern.namespace}:" if pattern.namespace else prefix)
        elif isinstance(pattern, URLPattern):
            yield f"{prefix}{pattern.name}"


def address_of(page: Page, waiting: dict[str, object]) -> str:
    return reverse(page.name, args=[arg.format(**waiting) for arg in page.args]) + page.asks


def answer(client: Client, page: Page, address: str) -> int:
    """The status of one request, of which nothing stays."""
    with transaction.atomic():
        if page.body:
            response = client.post(address, page.body, content_type="application/json")
        else:
            response = client.get(address) if page.sends is None else worlds.press(client, address, **page.sends)
        transaction.set_rollback(True)
    return response.status_code


def test_each_role_is_let_through_or_answered_403_as_the_table_says():
    worlds.a_straight_week()
    waiting = asdict(worlds.matters_waiting()) | asdict(desks.all_of_it())
    wrong = []
    for role in Role.values:
        for page in PAGES:
            client = worlds.signed_in(role)
            status = answer(client, page, address_of(page, waiting))
            if (status in (200, 302)) != (role in page.lets) or (role not in page.lets and status != 403):
                wrong.append((page.name, "get" if page.sends is None else "post", role, status))
    assert wrong == []


def test_nobody_sees_a_page_without_a_badge():
    worlds.a_straight_week()
    waiting = asdict(worlds.matters_waiting()) | asdict(desks.all_of_it())
    answers = {page.name: Client().get(address_of(page, waiting)) for page in PAGES}
    assert {
        name for name, response in answers.items() if not response.headers.get("Location", "").startswith("/sign/in/")
    } <= {"people:sign_out", "floor:entries_take"}


def test_every_address_stands_in_the_table():
    ours = {name for name in named(get_resolver().url_patterns) if not name.startswith(NOT_OURS)}
    assert ours - {page.name for page in PAGES} == WITHOUT_BADGE
