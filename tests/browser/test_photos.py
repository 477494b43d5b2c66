"""A photo taken on a tablet: small and bare, kept there until it has gone up, and never in the way of an entry."""

import base64
import json

import pytest
from playwright.sync_api import Page, expect

from records.items.models import Hold
from records.ledger.models import Flag, Photo
from records.ledger.photos import place_of
from tests.browser.test_tablet import BENCH, enter, link_again, unlink
from tests.photos import a_picture
from tests.worlds import a_straight_week

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
HOLD = f"{BENCH}log/hold/?unit=TW-26-004202&reason=doubt&words="


@pytest.fixture(autouse=True)
def week(page: Page) -> None:
    a_straight_week()
    page.set_default_timeout(8000)
    enter(page, "operator")


def photograph(page: Page, colour: str = "teal") -> None:
    before = page.locator(".photos img").count()
    picture = a_picture(size=(2400, 1800), camera=True, colour=colour)
    page.locator("#photo").set_input_files({"name": "x.jpg", "mimeType": "image/jpeg", "buffer": picture})
    expect(page.locator(".photos img")).to_have_count(before + 1)


def the_photo() -> Photo:
    photo = Photo.objects.get()
    assert (photo.width, photo.height) == (1600, 1200)
    assert b"a maker" not in place_of(photo.sha256).read_bytes()
    return photo


def test_a_photo_goes_up_ahead_of_its_entry(page: Page):
    page.goto(HOLD)
    photograph(page)
    page.locator("form[data-entry] button").click()
    expect(page.get_by_text("Logged.")).to_be_visible()
    assert the_photo().entry == Hold.objects.latest("pk").entry


def test_a_photo_taken_without_a_link_outlives_a_reload_and_goes_up_with_its_entry(page: Page):
    page.goto(HOLD)
    photograph(page)
    unlink(page.context)
    page.reload()
    expect(page.locator(".photos img")).to_have_count(1)
    photograph(page, "navy")
    page.get_by_role("button", name="Leave this photo out").last.click()
    expect(page.locator(".photos img")).to_have_count(1)
    page.locator("form[data-entry] button").click()
    expect(page.get_by_text("Kept on this tablet.")).to_be_visible()
    page.goto("/floor/kept/")
    expect(page.get_by_text("photos: 1")).to_be_visible()
    link_again(page)
    assert the_photo().entry == Hold.objects.latest("pk").entry


def test_a_file_carries_photos_along(page: Page):
    page.goto(HOLD)
    photograph(page)
    unlink(page.context)
    page.locator("form[data-entry] button").click()
    expect(page.get_by_text("Kept on this tablet.")).to_be_visible()
    page.goto("/floor/kept/")
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save to a file").click()
    with open(saved.value.path(), encoding="utf-8") as file:
        told = json.load(file)
    ((name, text),) = told["photos"].items()
    assert json.loads(told["entries"])[0]["photos"] == [name]
    assert base64.b64decode(text)[:2] == b"\xff\xd8"


def test_an_entry_goes_without_a_photo_that_cannot_be_sent_and_says_which_one(page: Page):
    page.goto(HOLD)
    photograph(page)
    unlink(page.context)
    page.locator("form[data-entry] button").click()
    expect(page.get_by_text("Kept on this tablet.")).to_be_visible()
    page.goto("/floor/kept/")
    page.get_by_role("button", name="Show as codes").click()
    expect(page.get_by_text("1 photo stays on this tablet: codes carry none.")).to_be_visible()
    expect(page.get_by_text("Save to a file takes photos along.")).to_be_visible()
    page.get_by_role("button", name="Back to what is kept").click()
    page.get_by_role("button", name="Send it without the photo").click()
    page.get_by_role("button", name="The photo is not on this tablet any more").click()
    expect(page.get_by_role("button", name="Send it without the photo")).to_have_count(0)
    link_again(page)
    assert not Photo.objects.exists()
    flag = Flag.objects.get(entry=Hold.objects.latest("pk").entry)
    facts = json.loads(flag.facts)
    assert (flag.code, len(facts["photo"]), facts["why"]) == ("photo-left-out", 64, "it is not on the tablet any more")


def test_what_is_no_picture_is_told_and_the_entry_goes_without_it(page: Page):
    page.goto(HOLD)
    page.locator("#photo").set_input_files({"name": "x.jpg", "mimeType": "image/jpeg", "buffer": b"no picture"})
    expect(page.get_by_text("That is no picture.")).to_be_visible()
    page.locator("form[data-entry] button").click()
    expect(page.get_by_text("Logged.")).to_be_visible()
    assert not Photo.objects.exists()
