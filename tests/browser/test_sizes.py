"""Keys of the floor in millimetres, measured in the browser on a fitted tablet; no page of the floor scrolls there."""

import itertools
import re

import pytest
from playwright.sync_api import Browser, Page, expect

from plant.people.actions import set_language
from plant.people.models import Person
from records.floor.actions import note_by_voice
from records.items.actions import place_hold
from tests import worlds
from tests.browser.floor import take_along
from tests.browser.test_tablet import BENCH, enter, unlink

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
MM = 5.88  # a 10.1 inch tablet of 1280 dots across (interface of the floor, section 3.1) [px/mm]
UNIT = "TW-26-004202"
MEASURE = f"{BENCH}log/measure/?unit={UNIT}"
# Every kind of screen that the floor has, by its address.
SCREENS = {
    "stations": "/floor/",
    "station": BENCH,
    "unit": f"{BENCH}unit/{UNIT}/",
    "held": f"{BENCH}unit/TB-0004/",
    "scan": f"{BENCH}log/move/",
    "number": f"{MEASURE}&gauge-1=",
    "slip": f"{MEASURE}&gauge-1=&value-1-1=990",
    "outside": f"{MEASURE}&gauge-1=&value-1-1=990&value-1-1-slip=as",
    "why": f"{MEASURE}&gauge-1=&value-1-1=",
    "choice": f"{BENCH}log/hold/?unit={UNIT}",
    "words": f"{BENCH}log/hold/?unit={UNIT}&reason=doubt",
    "confirm": f"{BENCH}log/move/?item={UNIT}",
    "kept": "/floor/kept/",
    "fit": "/floor/fit/",
    "own": "/floor/own/",
    "own pin": "/floor/own/pin/",
    "own password": "/floor/own/password/",
    "file": "/floor/file/",
}
WRITING = ".pad .key, .log, .key--call, .choose .key, .toast .key, .askone > input[type=file]"
WITHOUT_LINK = ("station", "unit", "number", "outside", "confirm")
BOXES = """selector => [...document.querySelectorAll(selector)].map(one => one.getBoundingClientRect())
    .filter(box => box.width).map(box => [box.left, box.top, box.right, box.bottom])"""


@pytest.fixture
def tablet(browser: Browser, base_url: str) -> Page:
    worlds.a_straight_week()
    place_hold("TB-0004", reason="doubt", words="label hard to read", said=worlds.by())
    with browser.new_context(base_url=base_url, viewport={"width": 1280, "height": 800}, has_touch=True) as context:
        page = context.new_page()
        page.add_init_script(f"localStorage.setItem('mm', '{MM}')")
        page.set_default_timeout(8000)
        enter(page, "operator")
        yield page


def settle(page: Page) -> None:
    page.wait_for_function("document.documentElement.style.getPropertyValue('--mm') !== ''")
    page.wait_for_timeout(150)


def faults_of(page: Page, name: str) -> list[str]:
    """What is wrong with a screen: it scrolls, or a key is smaller than its rule."""
    found = []
    height = page.evaluate("document.documentElement.scrollHeight")
    if height > 800:
        found.append(f"{name} is {height} px high")
    least = 21 * MM - 0.6  # less than a dot is no fault
    for left, top, right, bottom in page.evaluate(BOXES, WRITING):
        if right - left < least or bottom - top < least:
            found.append(f"{name} has a key of {(right - left) / MM:.1f} x {(bottom - top) / MM:.1f} mm")
    for left, top, right, bottom in page.evaluate(BOXES, "main .key, main .row"):
        if right - left < least or bottom - top < 12 * MM - 0.6:
            found.append(f"{name} has a lesser key of {(right - left) / MM:.1f} x {(bottom - top) / MM:.1f} mm")
    return found


@pytest.mark.parametrize("language", ["en", "de", "it"])
def test_no_screen_scrolls_and_every_key_has_its_size(tablet: Page, language: str):
    set_language(Person.objects.get(badge="operator"), language, said=worlds.by("operator"))
    found = []
    for name, address in SCREENS.items():
        tablet.goto(address)
        settle(tablet)
        found += faults_of(tablet, name)
    assert not found, "\n".join(found)


def test_nor_does_one_without_a_link(tablet: Page):
    tablet.goto(BENCH)
    unlink(tablet.context)
    found = []
    for name in WITHOUT_LINK:
        tablet.goto(SCREENS[name])
        settle(tablet)
        found += faults_of(tablet, f"{name} without a link")
    assert not found, "\n".join(found)


def test_a_pin_that_was_wrong_is_said_beside_its_pad_and_the_key_below_stays_on_the_screen(tablet: Page):
    settle(tablet)
    tablet.evaluate(
        "() => { import('/static/floor/dialogs.js').then(asks => asks.askPin('PB', 'Wrong. '.repeat(9))); }"
    )
    expect(tablet.get_by_role("button", name="Leave it")).to_be_in_viewport(ratio=1)
    for left, top, right, bottom in tablet.evaluate(BOXES, "dialog .pad .key"):
        assert min(right - left, bottom - top) >= 21 * MM - 0.6


def test_keys_of_the_pad_stand_three_millimetres_apart(tablet: Page):
    tablet.goto(SCREENS["number"])
    settle(tablet)
    boxes = tablet.evaluate(BOXES, ".pad .key")
    rows = sorted({round(top) for _, top, _, _ in boxes})
    across = sorted(box for box in boxes if round(box[1]) == rows[0])
    assert [round((b[0] - a[2]) / MM, 1) for a, b in itertools.pairwise(across)] == [3.0, 3.0]
    down = sorted((box for box in boxes if round(box[0]) == round(across[0][0])), key=lambda box: box[1])
    assert {round((b[1] - a[3]) / MM, 1) for a, b in itertools.pairwise(down)} == {3.0}


def test_a_tablet_is_fitted_to_a_bank_card_and_keeps_it(tablet: Page):
    tablet.evaluate("localStorage.removeItem('mm')")
    tablet.goto("/floor/fit/")
    before = tablet.locator("[data-card]").evaluate("one => one.getBoundingClientRect().width")
    tablet.get_by_role("button", name="Much longer").click()
    tablet.get_by_role("button", name="Longer", exact=True).click()
    tablet.get_by_role("button", name="It ends with the card").click()
    expect(tablet.get_by_text("Fitted.")).to_be_visible()
    mm = float(tablet.evaluate("localStorage.getItem('mm')"))
    assert mm * 85.6 == pytest.approx(before + 11, abs=0.5)
    tablet.get_by_role("button", name="Quiet").click()
    assert tablet.evaluate("localStorage.getItem('volume')") == "0.05"


def test_a_palm_and_a_second_touch_press_nothing(tablet: Page):
    got = tablet.evaluate(
        f"""async () => {{
            const touching = await import('/static/floor/touching.js');
            const touch = (width, at) => touching.isNone({{ width, height: 20, at }}, 1000, {MM});
            return [touch(40, 1100), touch(29 * {MM}, 1100), touch(31 * {MM}, 1100), touch(40, 1059), touch(40, 1060)];
        }}"""
    )
    assert got == [False, False, True, True, False]
    tablet.goto(SCREENS["number"])
    settle(tablet)
    key = tablet.locator('[data-sign="5"]')
    box = key.bounding_box()
    client = tablet.context.new_cdp_session(tablet)

    def touch(radius: float) -> None:
        point = {"x": box["x"] + 40, "y": box["y"] + 40, "radiusX": radius, "radiusY": radius}
        client.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [point]})
        client.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        tablet.wait_for_timeout(150)

    touch(8)
    expect(tablet.locator("#answer")).to_have_value("5")
    touch(16 * MM)
    expect(tablet.locator("#answer")).to_have_value("5")


def test_what_is_held_is_heard_however_quiet_the_tablet_is(tablet: Page):
    tablet.add_init_script(
        "localStorage.setItem('volume', '0'); window.heard = [];"
        "document.addEventListener('sounded', event => window.heard.push(event.detail));"
    )
    tablet.goto(SCREENS["held"])
    expect(tablet.get_by_role("alertdialog")).to_be_focused()
    assert tablet.evaluate("window.heard") == [1]
    assert re.search("Review", tablet.get_by_role("alertdialog").inner_text())


def test_what_is_held_names_where_it_is_and_who_phoned_with_a_link_and_without(tablet: Page):
    hold = place_hold(UNIT, reason="doubt", said=worlds.by())
    note_by_voice(hold.entry, says="phoned", words="Spoke to the foreman.", said=worlds.by("stores"))
    take_along(tablet)
    told = []
    for offline in (False, True):
        tablet.context.set_offline(offline)
        tablet.goto(SCREENS["unit"])
        expect(tablet.get_by_role("alertdialog")).to_be_focused()
        rows = tablet.locator("#held-facts > div")
        told.append([rows.nth(n).inner_text().split("\n") for n in (0, -1)])
    assert told[0] == told[1]
    assert told[0][0] == ["Where it is", "Bench"]
    assert told[0][1][1].endswith(": I phoned: they leave it as it is. Spoke to the foreman.")
