"""A pot is weighed at a tablet without a link: its gauge, what is on file, and how long one waits beside it."""

from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from plant.quantities import read_quantity
from records.floor.bands import Band
from records.items.actions import release_at_risk
from records.ledger.clock import clock
from records.scenario.works import SCALE_FINE
from tests import demo
from tests.browser.floor import Hands, at, enter

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
G = 10**6
# Lower limit, upper limit and aim in steps of a microgram, each with the finest that is shown. [ug]
BANDS = [
    (132_443_600, 136_476_400, 134_456_000, 10**5),
    (27 * G, 33 * G, 30 * G, 10**6),
    (9_700_000, 10_300_000, 10 * G, 10**4),
    (480 * G, 520 * G, 500 * G, 10**6),
]


@pytest.fixture(autouse=True)
def shift(page: Page) -> None:
    demo.a_shift_begins()
    page.set_default_timeout(8000)


def weighs(page: Page, resin: str = "480", *, linked: bool = False) -> Hands:
    """The resin stands on the scale; nothing is closed, so it is weighed for something else."""
    page.context.set_offline(not linked)
    page.goto(f"{at('Mixing')}log/pot/?mix=resin")
    hands = Hands(page)
    hands.press("Mix it all the same")
    hands.scan(SCALE_FINE)
    hands.scan("RESIN-1")
    hands.number(resin)
    return hands


def test_the_gauge_that_the_tablet_draws_is_the_one_of_the_server(page: Page):
    enter(page, "lenz", "Mixing")
    for lower, upper, aim, finest in BANDS:
        told = Band("g", "mass", lower, upper, aim, finest)
        got = page.evaluate(
            "async band => (await import('/static/floor/gauge.js')).placesOf(band)",
            {"low": told.low, "high": told.high, "aimed": told.aimed},
        )
        right = told.picture()
        band = (right.band_from, right.band_to, right.aim)
        assert (got["from"], got["to"], got["aim"]) == pytest.approx(band, abs=0.1)
        assert (got["origin"], got["perUnit"]) == pytest.approx((right.origin, right.per_unit), rel=1e-6)
        assert got["ticks"] == pytest.approx(list(right.ticks), abs=0.1)


def test_the_ratio_is_seen_while_it_is_poured_without_a_link(page: Page):
    enter(page, "lenz", "Mixing")
    hands = weighs(page)
    hands.number("480")
    hands.scan("HARDENER-1")
    gauge = page.locator("svg.gauge")
    expect(gauge).to_be_visible()
    expect(gauge.locator("text.soft")).to_contain_text("aim")
    page.locator("#answer").fill((gauge.locator("text.soft").text_content() or "").split()[-1])
    expect(page.locator('[data-says="within"]')).to_be_visible()
    assert 380 < float(gauge.locator(".dot").get_attribute("cx")) < 400  # in the middle of the jaws


def test_more_than_is_on_file_is_asked_about_by_what_the_tablet_knows(page: Page):
    enter(page, "lenz", "Mixing")
    hands = weighs(page, "60000")
    expect(page.get_by_role("heading", level=1)).to_have_text("There are only 50000 g left on file")
    hands.press("It is so: that much was taken")
    expect(page.get_by_role("heading", level=1)).to_have_text("Read the scale once more")


def test_more_than_a_release_at_risk_allows_is_said_alike_with_a_link_and_without(page: Page):
    limits = {"limit": read_quantity("2 kg"), "until": clock.now() + timedelta(days=2)}
    release_at_risk("RESIN-1", words="a second certificate is awaited", **limits, said=demo.said("quill"))
    enter(page, "lenz", "Mixing")
    said = []
    for linked in (True, False):
        hands = weighs(page, "2400.5", linked=linked)
        expect(page.get_by_role("heading", level=1)).to_have_text("RESIN-1 may not go in")
        said += [line for line in page.locator("main").inner_text().splitlines() if "You told" in line]
        assert "for 2 kg more. You told 2400.5 g." in said[-1]
        hands.press("It has gone in already")
        expect(page.get_by_role("heading", level=1)).to_have_text("Read the scale once more")
    assert said[0] == said[1]


WAITS = """async cases => {
  const { waitOf } = await import('/static/floor/waits.js');
  const in_min = minutes => minutes === null ? '' : new Date(60_000 * (minutes + 0.5)).toISOString();
  const routes = { R: [{ operation: 'mould', n: 1 }, { operation: 'fill', n: 2, takes_pot: true }] };
  return cases.map(([done, checked, pot]) => {
    const lots = new Map(pot === null ? [] : [['P', { code: 'P', kind: 'resin-mix', ends: in_min(pot) }]]);
    const known = { snapshot: { routes }, lots, now: () => 0 };
    return waitOf(known, done && { route: 'R', done, next: 'fill', checked_until: in_min(checked) });
  });
}"""
# What is done (nothing where no unit is known), end of its checks, end of the pot, how long it may wait. [min]
CASES = [
    (None, None, 4, 0),
    (["mould"], None, None, 10),
    (["mould"], 7, None, 7),
    (["mould"], 7, 4, 4),
    (["mould"], None, 4, 4),
    (["mould"], None, 25, 10),
    (["mould"], None, -3, 10),
    (["mould", "fill"], None, 4, 10),
]


def test_no_wait_is_longer_than_an_open_pot_has_whether_or_not_the_unit_is_on_file(page: Page):
    enter(page, "lenz", "Mixing")
    assert page.evaluate(WAITS, [case[:3] for case in CASES]) == [case[3] for case in CASES]
