"""A shift over a link that breaks in every way: no screen stays blank, none comes late, each entry is one fact.

``WALK_MINUTES`` and ``WALK_SEED`` make it longer and another one.
"""

import os
import re
import time
from contextlib import suppress
from random import Random

import pytest
from playwright.sync_api import Browser, Error, Page, expect

from records.ledger.models import Entry
from tests import worlds
from tests.browser.breaking_link import WAYS, breaking_link
from tests.browser.floor import OUTBOX, all_sent, come_in, scan

pytestmark = [
    pytest.mark.browser,
    pytest.mark.unhurried,
    pytest.mark.long,
    pytest.mark.django_db(transaction=True),
]

MINUTES, SEED = float(os.environ.get("WALK_MINUTES", "1")), int(os.environ.get("WALK_SEED", "1"))
PLACES = ("Bench", "Mixing")
# A tablet's own patience with a silent link ends after 4 s; what is drawn after it comes from the tablet at once.
LATEST_S = 8.0
IS_THERE = """address => location.pathname === address && document.querySelector('h1')?.checkVisibility() &&
    document.querySelector('main')?.innerText.trim().length > 20"""


class Walk:
    """Somebody at a tablet, going from screen to screen and logging what is brought."""

    def __init__(self, page: Page, chance: Random) -> None:
        self.page, self.chance = page, chance
        self.screens, self.latest, self.blank, self.pressed = 0, 0.0, [], 0

    def sees(self, address: str) -> None:
        """A screen is asked for and there in time."""
        begun = time.monotonic()
        with suppress(Error):
            self.page.goto(address, wait_until="commit", timeout=LATEST_S * 1000)
        try:
            self.page.wait_for_function(IS_THERE, arg=address, timeout=LATEST_S * 1000)
        except Error:
            self.blank.append(f"{address}: {self.page.content()[:300]}")
        self.screens += 1
        self.latest = max(self.latest, time.monotonic() - begun)

    def goes_on(self) -> None:
        """One screen after the other, as somebody walks; where something is brought a frame is scanned and logged."""
        place = self.chance.choice(PLACES)
        address = f"/floor/at/{place}/"
        asks = f"{address}many/here/"
        ways = [address, "/floor/", "/floor/kept/", f"{address}unit/{worlds.HERE}/", asks]
        chosen = self.chance.choice(ways)
        self.sees(chosen)
        if chosen == asks:
            self.takes()

    def takes(self) -> None:
        """A frame is brought: its scan and one press, whatever the link does meanwhile; it is logged at once."""
        count = self.page.locator("output.count")
        expect(count).to_be_visible(timeout=LATEST_S * 1000)
        self.page.evaluate("sessionStorage.removeItem('last-scan')")  # one symbol twice within 3 s is one scan
        scan(self.page, worlds.HERE)
        expect(count).to_have_text("1", timeout=LATEST_S * 1000)
        self.page.locator("button.log").click(timeout=LATEST_S * 1000)
        # The screen goes on once the entry is kept; that it has gone up stands in the bar at some time.
        self.page.wait_for_url(re.compile("/at/[^/]+/$"), wait_until="commit", timeout=LATEST_S * 1000)
        self.pressed += 1


@pytest.mark.sqlite
def test_over_a_breaking_link_no_screen_is_blank_and_each_entry_is_one_fact(browser: Browser, base_url: str):
    worlds.a_straight_week()
    chance = Random(SEED)
    with breaking_link(base_url, chance) as link:
        walks = []
        for badge in ("operator", "lead"):
            page = browser.new_context(base_url=link.url, viewport={"width": 1280, "height": 800}).new_page()
            come_in(page, badge, worlds.PASSWORD, f"/floor/at/{PLACES[0]}/")
            walks.append(Walk(page, chance))
        before, end = Entry.objects.count(), time.monotonic() + 60 * MINUTES
        while time.monotonic() < end:
            link.turn(chance.choice(WAYS))
            for walk in walks:
                for _ in range(chance.randrange(1, 4)):
                    walk.goes_on()
        link.turn("good")
        made = []
        for walk in walks:
            walk.sees(f"/floor/at/{PLACES[0]}/")
            all_sent(walk.page)
            made += walk.page.evaluate(f"async () => {{ {OUTBOX} return (await box.entries()).map(one => one.key); }}")
        facts = list(Entry.objects.order_by("pk").values_list("key", flat=True)[before:])
    print(
        f"{sum(w.screens for w in walks)} screens, the latest {max(w.latest for w in walks):.1f} s, {len(made)} entries"
    )
    assert [blank for walk in walks for blank in walk.blank] == []
    assert sorted(map(str, facts)) == sorted(made)
    assert len(made) == sum(walk.pressed for walk in walks) > 3
