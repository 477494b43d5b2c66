"""Who is at the tablet: registered by its key, entries signed, PIN with and without a link, changes, a stand-still."""

import re

import pytest
from django.conf import settings
from playwright.sync_api import Page, expect

from plant.people.actions import set_language, set_pin
from plant.people.models import Device, Person, PersonKey
from records.floor.models import HandOver
from records.items.actions import place_hold
from records.items.models import Item
from records.ledger.models import Entry, Signature
from records.ledger.verifying import verify
from tests import worlds
from tests.browser.test_tablet import BENCH, a_final_step_to_do, enter, finals, kept, link_again, log_final, unlink

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
PINS = {"operator": "2749", "lead": "8305"}


@pytest.fixture(autouse=True)
def week(page: Page) -> None:
    worlds.a_straight_week()
    for badge, pin in PINS.items():
        set_pin(Person.objects.get(badge=badge), pin, said=worlds.by(badge))
    page.set_default_timeout(8000)


def register(page: Page) -> None:
    """Register the browser as a tablet of the bench, by a lead's password."""
    enter(page, "lead")
    page.goto("/floor/tablet/")
    expect(page.locator("[name=public_key]")).not_to_have_value("")
    page.get_by_role("button", name="Bench").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile("This tablet is TB-"))
    knows(page, "device", "TB-26-000001-5")
    page.goto(BENCH)
    has_key(page, "lead")


def knows(page: Page, name: str, value: str) -> None:
    """Wait until the tablet keeps something: this value, or this name in it."""
    asked = """async ([name, value]) => {
        const { recall } = await import('/static/floor/outbox.js');
        for (let n = 0; n < 160; n += 1) {
            const kept = await recall(name);
            if (kept === value || kept?.[value]) return true;
            await new Promise((resolve) => setTimeout(resolve, 50));
        }
        return false;
    }"""
    assert page.evaluate(asked, [name, value]), f"{name} never held {value}"


def has_key(page: Page, badge: str) -> None:
    knows(page, "keys", badge)


def type_pin(page: Page, pin: str) -> None:
    for digit in pin:
        page.get_by_role("dialog").get_by_role("button", name=digit, exact=True).click()
    page.get_by_role("button", name="Come in", exact=True).click()


def scan(page: Page, badge: str) -> None:
    """A scanner read a badge, as the floor's listener for scanners tells it."""
    page.wait_for_function(
        "badge => !document.dispatchEvent(new CustomEvent('badge-scanned', { detail: { badge }, cancelable: true }))",
        arg=badge,
    )


def change_by_pin(page: Page, badge: str, pin: str) -> None:
    scan(page, badge)
    expect(page.get_by_role("dialog")).to_be_visible()
    type_pin(page, pin)
    expect(page.locator(".who span")).to_have_text(Person.objects.get(badge=badge).name)


def test_a_registered_tablet_signs_what_is_logged_and_the_key_cannot_leave_it(page: Page):
    a_final_step_to_do()
    register(page)
    log_final(page)
    expect(page.get_by_text("Logged.")).to_be_visible()
    entry = Entry.objects.get(key=kept(page)[-1]["key"])
    assert Signature.objects.get(entry=entry).public_key
    assert (PersonKey.objects.get().person.badge, Device.objects.get().station) == ("lead", "Bench")
    assert verify().faults == ()
    leaves = page.evaluate("""async () => {
        const box = await import('/static/floor/outbox.js');
        const keys = [await box.recall('tablet-key'), ...Object.values(await box.recall('keys'))];
        const out = (key) => crypto.subtle.exportKey('jwk', key.private).then(() => true, () => false);
        return Promise.all(keys.map(out));
    }""")
    assert leaves == [False, False]


def test_a_pin_changes_the_person_with_a_link_and_then_the_badge_alone(page: Page):
    register(page)
    change_by_pin(page, "operator", PINS["operator"])
    expect(page.get_by_text("The operator is active now.")).to_be_visible()
    has_key(page, "operator")
    scan(page, "lead")
    expect(page.locator(".who span")).to_have_text("The lead")
    scan(page, "operator")
    expect(page.locator(".who span")).to_have_text("The operator")


def test_a_wrong_pin_is_told_and_the_right_one_opens(page: Page):
    register(page)
    scan(page, "operator")
    type_pin(page, "1111")
    expect(page.get_by_text("Badge and PIN don’t belong together.")).to_be_visible()
    type_pin(page, PINS["operator"])
    expect(page.locator(".who span")).to_have_text("The operator")


def test_a_badge_that_nobody_has_is_asked_for_its_pin_and_answered_like_a_wrong_one(page: Page):
    register(page)
    answers = []
    for badge in ("operator", "nobody"):
        scan(page, badge)
        expect(page.get_by_role("dialog")).to_contain_text(f"PIN of {badge}")
        type_pin(page, "1111")
        expect(page.get_by_role("alert")).to_be_visible()
        answers.append(page.get_by_role("alert").inner_text())
        page.get_by_role("button", name="Leave it").click()
    assert answers == ["Badge and PIN don’t belong together. Look again, or sign in with your password."] * 2


def test_without_a_link_a_person_changes_by_pin_and_what_is_logged_is_signed_as_theirs(page: Page):
    a_final_step_to_do()
    register(page)
    change_by_pin(page, "operator", PINS["operator"])
    scan(page, "lead")
    expect(page.locator(".who span")).to_have_text("The lead")
    unlink(page.context)
    page.goto(BENCH)
    page.get_by_role("button", name="change").click()
    page.get_by_role("dialog").get_by_role("button", name="The operator").click()
    type_pin(page, "9999")
    expect(page.get_by_text("Badge and PIN don’t belong together.")).to_be_visible()
    type_pin(page, PINS["operator"])
    expect(page.locator(".who span")).to_have_text("The operator")
    log_final(page)
    expect(page.get_by_text("Kept on this tablet.")).to_be_visible()
    link_again(page)
    assert finals() == ["operator"]
    assert Signature.objects.count() == 1
    page.goto(BENCH)
    expect(page.locator(".who span")).to_have_text("The operator")


def test_pins_are_not_guessed_without_a_link(page: Page):
    register(page)
    change_by_pin(page, "operator", PINS["operator"])
    unlink(page.context)
    page.goto(BENCH)
    page.clock.install()
    page.get_by_role("button", name="change").click()
    page.get_by_role("dialog").get_by_role("button", name="The operator").click()
    for _ in range(5):
        type_pin(page, "9999")
        expect(page.get_by_text("Badge and PIN don’t belong together.")).to_be_visible()
    type_pin(page, PINS["operator"])
    expect(page.get_by_text("Too many wrong PINs. Wait 1 min")).to_be_visible()
    page.clock.fast_forward("01:01")
    type_pin(page, "9999")
    type_pin(page, PINS["operator"])
    expect(page.get_by_text("Too many wrong PINs. Wait 2 min")).to_be_visible()
    page.reload()
    page.get_by_role("button", name="change").click()
    page.get_by_role("dialog").get_by_role("button", name="The operator").click()
    type_pin(page, PINS["operator"])
    expect(page.get_by_text("Too many wrong PINs. Wait 2 min")).to_be_visible()


def test_a_half_typed_number_is_cleared_and_said_when_the_person_changes(page: Page):
    register(page)
    change_by_pin(page, "operator", PINS["operator"])
    page.goto(f"{BENCH}log/measure/?unit={worlds.HERE}&gauge-1=")
    page.get_by_role("textbox").fill("59.")
    scan(page, "lead")
    expect(page.get_by_text("The lead is active now. The half-typed 59. was cleared.")).to_be_visible()
    expect(page.get_by_role("textbox")).to_have_value("")


def test_a_stand_still_asks_who_is_there_at_the_next_entry_and_reading_does_not(page: Page):
    a_final_step_to_do()
    register(page)
    change_by_pin(page, "operator", PINS["operator"])
    page.clock.install()
    page.goto(f"{BENCH}log/step/?unit={worlds.HERE}&operation=final")
    page.get_by_role("heading", level=1).click()
    page.clock.fast_forward("04:01")
    page.get_by_role("button", name="Log final").click()
    expect(page.get_by_role("dialog")).to_contain_text("Still The operator?")
    page.get_by_role("button", name="Leave it").click()
    assert finals() == []
    page.clock.fast_forward("15:01")
    page.get_by_role("button", name="Log final").click()
    expect(page.get_by_role("dialog")).to_contain_text("Scan your badge.")
    scan(page, "operator")
    expect(page.get_by_text("Logged.")).to_be_visible()
    assert finals() == ["operator"]


def test_a_second_person_signs_without_becoming_active(page: Page):
    a_final_step_to_do()
    register(page)
    change_by_pin(page, "operator", PINS["operator"])
    page.goto(f"{BENCH}log/step/?unit={worlds.HERE}&operation=final")
    page.evaluate("""() => {
        const form = document.querySelector('form[data-entry]');
        form.dataset.entry = JSON.stringify({ ...JSON.parse(form.dataset.entry), needs_second: 'Typed by hand.' });
    }""")
    page.get_by_role("button", name="Log final").click()
    expect(page.get_by_role("dialog")).to_contain_text("Now the second person’s badge")
    scan(page, "operator")
    expect(page.get_by_role("dialog")).to_contain_text("It has to be another person.")
    scan(page, "lead")
    expect(page.get_by_text("Logged.")).to_be_visible()
    expect(page.locator(".who span")).to_have_text("The operator")
    assert sorted(Signature.objects.values_list("is_second", flat=True)) == [False, True]
    assert verify().faults == ()


def test_the_door_of_a_tablet_opens_by_badge_and_pin(page: Page):
    register(page)
    change_by_pin(page, "operator", PINS["operator"])
    page.context.clear_cookies()
    page.goto("/sign/in/?next=/floor/at/Bench/")
    page.get_by_role("button", name="Come in by badge and PIN").click()
    page.get_by_role("dialog").get_by_role("button", name="The operator").click()
    type_pin(page, PINS["operator"])
    expect(page).to_have_url(re.compile("/floor/at/Bench/"))
    expect(page.locator(".who span")).to_have_text("The operator")


def test_the_door_speaks_the_language_of_the_last_badge_and_of_whoever_presses_another(page: Page):
    set_language(Person.objects.get(badge="operator"), "it", said=worlds.by("operator"))
    register(page)
    change_by_pin(page, "operator", PINS["operator"])
    page.context.clear_cookies(name=settings.SESSION_COOKIE_NAME)
    page.goto("/sign/in/?next=/floor/at/Bench/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Chi c’è?")
    page.get_by_role("button", name="Entrare con badge e PIN").click()
    page.get_by_role("dialog").get_by_role("button", name="The operator").click()
    expect(page.get_by_role("dialog")).to_contain_text("PIN di The operator")
    for digit in "1111":
        page.get_by_role("dialog").get_by_role("button", name=digit, exact=True).click()
    page.get_by_role("button", name="Entrare", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("Badge e PIN non corrispondono.")
    page.get_by_role("button", name="Lasciare").click()
    page.get_by_role("link", name="Deutsch").click()
    expect(page.get_by_role("button", name="Mit Ausweis und PIN anmelden")).to_be_visible()


def test_a_browser_that_is_no_tablet_changes_by_password_alone(page: Page):
    enter(page, "operator")
    scan(page, "lead")
    expect(page.get_by_role("dialog")).to_contain_text("This tablet is not registered.")
    page.get_by_role("button", name="Leave it").click()
    page.get_by_role("button", name="change").click()
    expect(page).to_have_url(re.compile("/sign/in/"))


@pytest.mark.parametrize(
    "value", [{"b": [1, -0.5, 1e21, 1e-7, True, None], "a": 'Ö\u2028\U0001f600\n"', "é": {}, "aa": 0}]
)
def test_script_and_server_know_one_canonical_form(page: Page, value: dict):
    import rfc8785

    page.goto("/sign/in/")
    told = page.evaluate("v => import('/static/floor/canonical.js').then(m => m.canonical(v))", value)
    assert told.encode() == rfc8785.dumps(value)


def test_a_shift_is_handed_over_on_the_tablet_once_it_was_read_to_its_end_and_both_keys_sign(page: Page):
    set_pin(Person.objects.get(badge="jonas"), "6142", said=worlds.by("jonas"))
    for item in Item.objects.order_by("pk")[:30]:  # more than one leaf holds
        place_hold(item.code, reason="doubt", said=worlds.by())
    register(page)
    page.set_viewport_size({"width": 1280, "height": 800})
    page.goto("/floor/hand-over/")
    key = page.get_by_role("button", name="Hand over")
    expect(key).to_be_disabled()
    expect(key).to_contain_text("Read on to the end first.")
    further = page.get_by_role("button", name="Read on", exact=True)
    while further.is_enabled():
        further.click()
    assert page.evaluate("document.documentElement.scrollHeight") == 800
    page.get_by_label("What else the next shift must know").fill("Press 2 leaks.")
    key.click()
    page.get_by_label("Or type its code").fill("jonas")
    page.get_by_role("button", name="Take it").click()
    type_pin(page, "6142")
    expect(page.get_by_text("Logged.")).to_be_visible()
    row = HandOver.objects.get()
    assert (row.going.badge, row.coming.badge, str(row.words)) == ("lead", "jonas", "Press 2 leaks.")
    assert sorted(Signature.objects.filter(entry=row.entry).values_list("is_second", flat=True)) == [False, True]
    assert verify().faults == ()
    expect(page.locator(".who span")).to_have_text("The lead")
