"""Entries leave a tablet without a link as QR codes: drawn there, read by a decoder, typed into another tablet."""

import io

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from records.items.models import Move
from tests import worlds
from tests.browser.floor import typed
from tests.browser.test_tablet import enter, link_again, put_moves, unlink

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
# The worked example of ISO/IEC 18004 (its annex on symbol encoding), from memory: these eight digits.
WORKED_EXAMPLE = "01234567"


@pytest.fixture(autouse=True)
def week(page: Page) -> None:
    worlds.a_straight_week()
    page.set_default_timeout(10_000)
    page.set_viewport_size({"width": 1280, "height": 800})


def read(page: Page) -> str:
    """What a decoder reads off the screen."""
    picture = Image.open(io.BytesIO(page.locator("canvas.symbol").screenshot()))
    (found,) = zxingcpp.read_barcodes(picture)
    assert found.format == zxingcpp.BarcodeFormat.QRCode
    return found.text


def test_entries_leave_by_codes_and_are_taken_once(page: Page, browser: Browser, base_url: str):
    enter(page, "operator")
    page.goto("/floor/kept/")
    before = Move.objects.count()
    unlink(page.context)
    put_moves(page, 0, 6, "operator")
    page.evaluate("import('/static/floor/link.js').then(link => { link.tellOthers(); return null; })")
    page.get_by_role("button", name="Show as codes").click()
    shown = page.locator("output")
    expect(shown).to_contain_text("Code 1 of")
    many = int(shown.inner_text().split()[-1])
    lines = []
    for n in range(many):
        expect(shown).to_have_text(f"Code {n + 1} of {many}")
        lines.append(read(page))
        page.get_by_role("button", name="Next code").click()
    with browser.new_context(base_url=base_url) as context:
        other = context.new_page()
        enter(other, "lead")
        other.goto("/floor/codes/")
        for line in lines[::-1]:
            typed(other, "F9", *line, "Enter")
        expect(other.get_by_role("heading", name="6 taken in")).to_be_visible()
    link_again(page)
    assert Move.objects.count() == before + 6


def test_the_writer_draws_the_worked_example_of_the_standard(page: Page):
    enter(page, "operator")
    page.evaluate(
        """async text => { const qr = await import('/static/vendor/lean-qr/index.mjs');
            const canvas = document.createElement('canvas');
            canvas.className = 'symbol';
            document.querySelector('main').replaceChildren(canvas);
            qr.generate(qr.mode.numeric(text), { minCorrectionLevel: qr.correction.M }).toCanvas(canvas);
            canvas.dataset.side = canvas.width; }""",
        WORKED_EXAMPLE,
    )
    assert read(page) == WORKED_EXAMPLE
    assert page.locator("canvas.symbol").get_attribute("data-side") == str(21 + 2 * 4)
