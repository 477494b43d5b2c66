"""Each kind of page of the floor in each language: nothing scrolls on a tablet, and no key cuts its words."""

from uuid import uuid4

import pytest
from playwright.sync_api import Page, expect

from plant.people.actions import set_language
from plant.people.models import Person
from records.items.actions import place_hold
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.scenario.works import BADGES
from tests import demo
from tests.browser.floor import at, enter

pytestmark = [
    pytest.mark.browser,
    pytest.mark.unhurried,
    pytest.mark.sqlite,
    pytest.mark.long,
    pytest.mark.django_db(transaction=True),
]
LANGUAGES = ["de", "it", "en"]
SIZE = {"width": 1280, "height": 800}
# Keys and links whose words run out of them, or are wider than they may be.
CUT = """() => [...document.querySelectorAll('button, a.key, a.log, a.row, .key, .tag, h1, h2')]
  .filter((one) => one.offsetParent && (one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 0))
  .map((one) => one.textContent.trim())"""
TALL = "() => document.documentElement.scrollHeight - innerHeight"
WIDE = "() => document.documentElement.scrollWidth - innerWidth"


@pytest.fixture(autouse=True)
def shift(page: Page) -> None:
    demo.a_shift_begins()
    page.set_viewport_size(SIZE)
    page.set_default_timeout(8000)


def pages() -> dict[str, str]:
    """An address of each kind of page, by name."""
    unit = demo.a_mould_to_fill()
    demo.a_pot("POT-1")
    person = Person.objects.get(badge=BADGES["quill"])
    place_hold("TUBE-4", reason="surface", said=Said(person, uuid4(), clock.now()))
    press, mixing, bench = at("Press 1"), at("Mixing"), at("Bench")
    log = f"{press}log"
    return {
        "stations": "/floor/",
        "station": press,
        "mixing": mixing,
        "unit": f"{press}unit/{unit}/",
        "held": f"{press}unit/TUBE-4/",
        "scan": f"{log}/make/?part=OS-F",
        "number": f"{log}/step/?unit={unit}&operation=leak%20test",
        "outside": f"{log}/step/?unit={unit}&operation=leak%20test&reading-1=0.7",
        "why": f"{log}/step/?unit={unit}&operation=leak%20test&reading-1=",
        "hold": f"{log}/hold/?unit={unit}",
        "words": f"{log}/hold/?unit={unit}&reason=surface",
        "mix": f"{mixing}log/pot/",
        "weigh": f"{mixing}log/pot/?mix=resin",
        "out": f"{bench}many/out/",
        "kept": "/floor/kept/",
    }


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_page_fits_a_tablet_in_each_language_with_a_link_and_without(page: Page, language: str):
    person = Person.objects.get(badge=BADGES["marta"])
    if language != "en":
        set_language(person, language, said=Said(person, uuid4(), clock.now()))
    found = pages()
    enter(page, "marta", "Press 1")
    faults = {}
    for offline in (False, True):
        page.context.set_offline(offline)
        for name, address in found.items():
            page.goto(address)
            expect(page.locator("main h1, main h2, main [data-held]").first).to_be_visible()
            expect(page.locator("[data-soon]")).to_have_count(0)
            page.wait_for_function("() => document.querySelector('[data-link]').dataset.says")
            page.wait_for_function(
                "() => !document.querySelector('#answer[data-unit]') || !document.querySelector('.pad').hidden"
            )
            assert page.evaluate("document.documentElement.lang") == language
            where = f"{name}, {'without' if offline else 'with'} a link"
            wrong = {"tall": page.evaluate(TALL), "wide": page.evaluate(WIDE), "cut": page.evaluate(CUT)}
            if wrong["tall"] > 0 or wrong["wide"] > 0 or wrong["cut"]:
                faults[where] = wrong
    assert faults == {}
