"""The first step after the first visit on a throttled link: from the navigation until a question can be answered.

400 kbit/s each way and 400 ms there and back: common practice for "slow 3G", from memory. The baseline is the second
that the floor is promised. The browser is Debian's own; the site is served by Django's live server on this machine, so
that the time holds what the server takes as well.
"""

import os
from statistics import median

from playwright.sync_api import BrowserContext, sync_playwright
from pytest_django.live_server_helper import LiveServer

from tests import worlds
from tests.bench.measuring import Row
from tests.bench.slow_link import slow_link
from tests.browser.conftest import FLAGS
from tests.browser.test_tablet import BENCH, enter
from tests.deploy.scripts import installing

LATENCY_S, RATE = 0.4, 400_000 / 8  # there and back, and one way [s], [bytes/s]
PROMISED_S = 1.0
REPETITIONS, REPETITIONS_WHEN_TINY = 9, 1
SCREENS = {
    "station": (BENCH, "form.scan #code"),
    "question": (f"{BENCH}log/measure/?unit=TW-26-004202&gauge-1=", ".pad .key"),
}
# A screen is usable once what answers it is drawn and heard: the module that does it has run by then.
USABLE = """([selector]) => {
  const one = document.querySelector(selector);
  return one && one.checkVisibility() && Boolean(document.querySelector('[data-link]')?.dataset.says);
}"""
NOW = "performance.now()"


def bench(*, tiny: bool = False) -> list[Row]:
    """Median of the first steps of a tab that was just opened, in seconds, against the promise."""
    os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # the driver keeps an event loop in this thread
    worlds.a_straight_week()
    server = LiveServer("localhost")
    try:
        with slow_link(server.url) as link, sync_playwright() as driver:
            chromium = installing.chromium_path()
            browser = driver.chromium.launch(executable_path=chromium, args=FLAGS)
            context = browser.new_context(base_url=link.url)
            enter(context.new_page(), "operator")
            _settle(context)
            link.latency_s, link.rate = LATENCY_S, RATE
            repetitions = REPETITIONS_WHEN_TINY if tiny else REPETITIONS
            rows = [row_of(context, name, repetitions) for name in SCREENS]
            browser.close()
    finally:
        server.stop()
    return rows


def _settle(context: BrowserContext) -> None:
    """All that the worker keeps is there: the first visit is over."""
    page = context.pages[0]
    page.wait_for_function("() => caches.match('/static/vendor/zxing-wasm/zxing_reader.wasm')")
    page.close()


def row_of(context: BrowserContext, name: str, repetitions: int) -> Row:
    """The row of one screen."""
    took = median(first_step(context, *SCREENS[name]) for _ in range(repetitions))
    return Row(f"first step, {name}", took, PROMISED_S, "s", took / PROMISED_S, "<= 1")


def first_step(context: BrowserContext, address: str, selector: str) -> float:
    """Seconds from the navigation until its screen can be worked, in a tab of its own on a throttled link."""
    page = context.new_page()
    page.goto(address, wait_until="commit")
    page.wait_for_function(USABLE, arg=[selector], polling="raf")
    took = page.evaluate(NOW) / 1000
    page.wait_for_load_state("networkidle")  # what is cut off would take its connection along
    page.close()
    return took
