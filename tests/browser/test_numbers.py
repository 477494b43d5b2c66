"""Numbers on a tablet: judged while they are typed, and by its own walk as the server judges them."""

import pytest
from playwright.sync_api import Page, expect

from records.inspection.models import Measurement
from records.steps.models import MeasureAgain
from tests import worlds
from tests.browser.test_tablet import BENCH, enter, link_again, unlink
from tests.records.floor.test_numbers import SLIPS

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
MEASURE = f"{BENCH}log/measure/?unit=TW-26-004202&gauge-1="
NUMBERS = "const n = await import('/static/floor/numbers.js');"
# Typed so far, limits, and what the word beside it says.
TYPED = [
    ("5", "55", "65", "go-on"),
    ("59", "59.2", "59.6", "go-on"),
    ("59.", "59.2", "59.6", "go-on"),
    ("59.4", "59.2", "59.6", "within"),
    ("59.1", "59.2", "59.6", "low"),
    ("59.7", "59.2", "59.6", "high"),
    ("7", "55", "65", "low"),
    ("594", "55", "65", "high"),
    ("0", "", "0.8", "within"),
    ("1", "", "0.8", "high"),
    ("-", "-2", "2", ""),
    ("-3", "-2", "2", "low"),
    ("-1", "-25", "-15", "go-on"),
    ("5", "", "", ""),
]


@pytest.fixture(autouse=True)
def week(page: Page) -> None:
    worlds.a_straight_week()
    page.set_default_timeout(8000)
    enter(page, "operator")


def test_the_tablet_knows_the_slips_that_the_server_knows(page: Page):
    got = page.evaluate(
        f"""async cases => {{ {NUMBERS} return cases.map(([typed, low, high]) =>
            n.meant(n.number(typed), {{ low: low || undefined, high: high || undefined, kind: 'length' }})); }}""",
        SLIPS,
    )
    assert got == [what for *_, what in SLIPS]


def test_a_number_is_judged_once_its_digits_could_be_whole(page: Page):
    got = page.evaluate(f"async cases => {{ {NUMBERS} return cases.map(([t, l, h]) => n.side(t, l, h)); }}", TYPED)
    assert got == [what for *_, what in TYPED]


def test_the_pad_types_the_point_of_the_language_and_the_word_follows(page: Page):
    page.goto(MEASURE)
    low = float(page.locator("#answer").get_attribute("data-low") or 0)
    for sign in str(int(low))[0]:
        page.locator(f'[data-sign="{sign}"]').click()
    expect(page.locator('[data-says="go-on"], [data-says="within"]').locator("visible=true")).to_have_count(1)


@pytest.mark.parametrize("linked", [True, False])
def test_a_number_outside_waits_and_is_measured_again_later(page: Page, linked: bool):
    page.goto(MEASURE)
    if not linked:
        unlink(page.context)
        page.reload()
    high = float(page.locator("#answer").get_attribute("data-high"))
    page.locator("#answer").fill(str(round(high + 0.01, 3)))
    page.locator("button.log").click()
    page.get_by_role("button", name="then measure again").click()
    page.get_by_role("button", name="Keep it and wait").click()
    expect(page.get_by_text("Logged." if linked else "Kept on this tablet.")).to_be_visible()
    page.goto(f"{BENCH}unit/TW-26-004202/")
    expect(page.get_by_text("outside its band.")).to_be_visible()
    expect(page.get_by_text("Measure it")).to_have_count(0)
    if not linked:
        link_again(page)
    assert MeasureAgain.objects.count() == 1
    assert not Measurement.objects.filter(entry__by__badge="operator").exists()


def test_what_cannot_be_read_says_why_without_a_link_too(page: Page):
    page.goto(MEASURE)
    unlink(page.context)
    page.reload()
    page.get_by_role("button", name="Can’t read it").click()
    page.get_by_role("button", name="Gauge is doubtful").click()
    page.get_by_role("button", name="No gauge to scan").click()
    page.locator("#answer").fill("34.9")
    page.get_by_role("button", name="Log 34.9 mm").click()
    expect(page.get_by_text("Kept on this tablet.")).to_be_visible()
    link_again(page)
    row = Measurement.objects.get(entry__by__badge="operator", value=None)
    assert (row.value, row.reason) == (None, "gauge-doubtful")
