"""Where something may not go in a scan is the other one; the script alone is asked."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.floor import alone, scan

pytestmark = [pytest.mark.browser, pytest.mark.sqlite]

SCREEN = """<!doctype html><header class="fbar"></header><main><h1>%(name)s may not go in</h1>
<form class="choose"><input type="hidden" name="unit" value="F1"><input type="hidden" name="%(name)s" value="PT-OLD">
<button class="key" name="%(name)s-stop" value="again">Take another one</button>
<button class="key" name="%(name)s-stop" value="done">It has gone in already</button></form></main>
<script type="module">import { startScans } from "/static/floor/scanned.js"; startScans();
document.title = "ready";</script>"""


def test_a_pot_that_is_scanned_where_an_old_one_may_not_go_in_is_taken_in_its_place(page: Page):
    asked = alone(page, SCREEN % {"name": "pot-1"})
    scan(page, "PT-NEW")
    page.wait_for_timeout(600)
    assert asked == ["?unit=F1&pot-1=PT-NEW"]
    page.unroute_all(behavior="ignoreErrors")


def test_where_an_amount_may_not_go_in_a_scan_answers_nothing(page: Page):
    asked = alone(page, SCREEN % {"name": "in-1-amount"})
    scan(page, "PT-NEW")
    expect(page.get_by_role("alert")).to_contain_text("PT-NEW answers nothing here")
    assert asked == []
    page.unroute_all(behavior="ignoreErrors")
