"""Every page of the floor that the table of rights names, in each language on a tablet: nothing scrolls, no key cuts
its words or is smaller than its rule. A page added to the table is looked at here without being named again.
"""

from dataclasses import asdict

import pytest
from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore
from django.test import Client
from playwright.sync_api import Browser, Page, TimeoutError

from plant.people.actions import set_language
from plant.people.middleware import BY_TABLET
from plant.people.models import Person
from plant.people.rights import Role
from tests import desks, worlds
from tests.browser.floor import take_along
from tests.browser.test_languages import CUT, LANGUAGES, SIZE, TALL, WIDE
from tests.browser.test_sizes import MM, faults_of
from tests.browser.test_tablet import enter
from tests.rights import PAGES
from tests.test_rights import address_of

pytestmark = [
    pytest.mark.browser,
    pytest.mark.unhurried,
    pytest.mark.sqlite,
    pytest.mark.long,
    pytest.mark.django_db(transaction=True),
]
# What may stand above a screen at once: kept here, in doubt, held.
TOLD = [
    "Auf diesem Tablet behalten. Es wird gesendet, sobald Verbindung besteht.",
    "RB-26-000042-7 ist im Zweifel: Tablet TB-26-000004-7 wurde gesperrt, und was darauf stand, ist nicht geprüft.",
    "RT-26-000073-6 ist gesperrt. Auf das rote Regal legen.",
]
SAY = """async (told) => {
  const { note, sayFirst } = await import('/static/floor/screens.js');
  sayFirst(...told.map((one) => note('watch', one)));
}"""
# Each page is opened as the first of these that may.
LOOKERS = (Role.LEAD, Role.OPERATOR, Role.STORES, Role.REVIEW)


def looker_at(page: object) -> str:
    return next(role for role in LOOKERS if role in page.lets)


def pages_of(role: str, waiting: dict) -> dict[str, str]:
    """Addresses by name and arguments, of pages that answer a role with a page to look at."""
    client: Client = worlds.signed_in(role)
    found = {}
    for page in PAGES:
        if page.sends is None and page.name.startswith("floor:") and looker_at(page) == role:
            address = address_of(page, waiting)
            answer = client.get(address)
            assert answer.status_code == 200, address
            if "html" in answer.headers["Content-Type"]:
                found[" ".join([page.name, *page.args, page.asks]).strip()] = address
    return found


def on_a_tablet(page: Page) -> None:
    """From here on the session is one of badge and PIN: pages that stand on a desk too come in the floor's frame."""
    (cookie,) = (one["value"] for one in page.context.cookies() if one["name"] == settings.SESSION_COOKIE_NAME)
    session = SessionStore(cookie)
    session[BY_TABLET] = True
    session.save()


def speaks(page: Page, language: str) -> bool:
    """Whether the page is in a language; a page that is the same for everybody is said by its script."""
    try:
        page.wait_for_function("language => document.documentElement.lang === language", arg=language, timeout=5000)
    except TimeoutError:
        return False
    return True


def wrong_with(page: Page, name: str) -> list[str]:
    """What is wrong with the page on the screen."""
    page.wait_for_function("() => !document.querySelector('[data-soon]')")
    found = faults_of(page, name)
    if page.evaluate(TALL) > 0:
        found.append(f"{name} scrolls by {page.evaluate(TALL)} px")
    if page.evaluate(WIDE) > 0:
        found.append(f"{name} scrolls sideways")
    found += [f"{name} cuts {words}" for words in page.evaluate(CUT)]
    page.evaluate(SAY, TOLD)
    below = page.evaluate(TALL)
    return found + ([f"{name} scrolls by {below} px below three sentences"] if below > 0 else [])


def test_each_page_of_the_floor_fits_a_tablet_in_each_language(browser: Browser, base_url: str):
    worlds.a_straight_week()
    waiting = asdict(worlds.matters_waiting()) | asdict(desks.all_of_it())
    addresses = {role: pages_of(role, waiting) for role in LOOKERS}
    assert sum(map(len, addresses.values())) >= 15
    faults = []
    for role, found in addresses.items():
        with browser.new_context(base_url=base_url, viewport=SIZE, has_touch=True) as context:
            page = context.new_page()
            page.add_init_script(f"localStorage.setItem('mm', '{MM}')")
            page.set_default_timeout(20_000)
            if found:
                enter(page, role)
                on_a_tablet(page)
            for language in LANGUAGES if found else ():
                set_language(Person.objects.get(badge=role), language, said=worlds.by(role))
                page.goto("/floor/kept/")
                take_along(page)
                for name, address in found.items():
                    page.goto(address)
                    faults += [f"{language}: {name} speaks another language"] if not speaks(page, language) else []
                    faults += [f"{language}: {fault}" for fault in wrong_with(page, name)]
    assert faults == [], "\n".join(faults)
