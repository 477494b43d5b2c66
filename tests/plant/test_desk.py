"""What stands on every page of the desk: the head of a paper copy, Print and Export, and the line of who only reads."""

import re
from dataclasses import asdict

import pytest
from django.urls import reverse

from plant.people.rights import Role
from records.ledger.models import Entry
from tests import desks, worlds
from tests.rights import PAGES
from tests.test_rights import address_of

pytestmark = [pytest.mark.sqlite, pytest.mark.django_db]
READS = "You can read, not change."
NO_FILE = "Nothing to export: this page has no file of its own."


@pytest.fixture(autouse=True)
def works():
    worlds.a_straight_week()


def page(badge, name, *args, **asked):
    answer = worlds.signed_in(badge).get(reverse(name, args=args), asked)
    return re.sub(r"<[^>]+>", "", answer.content.decode()), answer.content.decode()


def test_the_head_of_a_paper_copy_says_what_it_is_what_it_rests_on_when_and_for_whom():
    html = page("auditor", "items:stock")[1]
    head = html[html.index('class="print-head"') : html.index("</div>", html.index('class="print-head"'))]
    last = Entry.objects.latest("pk")
    assert "The shelf, Stores" in head
    assert f"Records up to entry {last.pk}, taken 2026-03-09 08:00" in head
    assert re.search(r"Drawn \d{4}-\d\d-\d\d \d\d:\d\d for The auditor<span data-printed></span>", head)
    assert "A paper copy can be out of date." in head


def test_a_paper_copy_of_what_was_known_on_a_day_says_so():
    text, _ = page("auditor", "trace:lot_to_frames", worlds.RESIN, as_of="2026-03-05T12:00")
    assert "As known on 2026-03-05T12:00, records up to entry" in text


def test_the_title_is_escaped_once():
    _, html = page("auditor", "trace:find", code="<b>&")
    title = re.search(r"<title>(.*?)</title>", html)[1]
    assert "&lt;" in title
    assert "&amp;lt;" not in title
    assert f"<b>{title.removesuffix(', Framethread')}</b>" in html


@pytest.mark.parametrize(
    ("name", "args", "files"),
    [
        ("items:stock", [], ["?form=csv", "?form=xlsx"]),
        ("trace:lot_to_frames", [worlds.RESIN], ["?form=csv", "?form=xlsx"]),
        ("trace:unit", [worlds.HERE], ["dossier", "traveller"]),
        ("quality:bench", [], []),
        ("trace:unit", [worlds.RESIN], []),
        ("home", [], []),
    ],
)
def test_an_auditor_has_print_and_the_files_of_a_page_or_is_told_that_it_has_none(name, args, files):
    text, html = page("auditor", name, *args)
    assert READS in text
    assert "data-print hidden>Print" in html
    assert "Print: in your browser’s menu" in text
    assert (NO_FILE in text) is (files == [])
    offered = html[html.index('class="take') : html.index("</p>", html.index('class="take'))]
    assert all(file in offered for file in files)


def test_who_may_change_something_is_not_told_what_there_is_not():
    text, _ = page("review", "quality:bench")
    assert NO_FILE not in text
    assert READS not in text


@pytest.mark.long
def test_every_page_of_the_desk_that_an_auditor_may_open_has_them():
    waiting = asdict(worlds.matters_waiting()) | asdict(desks.all_of_it())
    without, client = [], worlds.signed_in("auditor")
    for asked in PAGES:
        if asked.sends is None and Role.AUDITOR in asked.lets and not asked.name.startswith("floor:"):
            answer = client.get(address_of(asked, waiting))
            html = answer.content.decode() if "html" in answer.headers["Content-Type"] else ""
            has = [READS, "data-print hidden>Print", 'class="print-head"']
            if html and not (all(words in html for words in has) and ((NO_FILE in html) != ('class="export"' in html))):
                without.append(asked.name)
    assert without == []
