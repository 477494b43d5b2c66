"""The way of each role through its pages, pressed as a person presses: what README's tours tell is done here."""

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Download, Page, expect

from plant.catalogue.models import CharacteristicRevision
from plant.people.models import Person
from plant.people.rights import Role
from records.items.models import ConsignmentLine, Hold, Item, Link, LotDecision
from records.quality.models import Countersign, Disposition
from records.release.models import Release
from records.runs.models import RunDecision
from records.spc.models import SignalAnswer
from records.steps.actions import withdraw_step
from records.steps.models import StepRecord
from tests import desks, worlds
from tests.browser.floor import sign_in_by_hand
from tests.papers import words_of

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def week(page: Page) -> Iterator[None]:
    """The works of one week; whatever a page complains of in the console ends the way."""
    worlds.a_straight_week()
    complaints: list[str] = []
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page.set_default_timeout(5000)
    yield
    assert complaints == []


def enter(page: Page, role: str) -> None:
    sign_in_by_hand(page, role, worlds.PASSWORD)


def head(page: Page) -> str:
    return page.get_by_role("heading", level=1).inner_text()


def go(page: Page, *links: str) -> None:
    for link in links:
        page.get_by_role("link", name=link).first.click()


def press(page: Page, button: str) -> None:
    page.get_by_role("button", name=button).first.click()


def taken(page: Page, link: str) -> Download:
    with page.expect_download() as waiting:
        page.get_by_role("link", name=link).first.click()
    return waiting.value


def test_an_operator_logs_a_step_from_the_scan_to_logged(page: Page):
    done = StepRecord.objects.get(unit__codes__code=worlds.HERE, operation__name="final")
    withdraw_step(done.entry.key, words="logged for another frame", said=worlds.by("marta"))
    enter(page, "operator")
    expect(page.get_by_role("heading", level=1)).to_have_text("Where are you?")
    go(page, "Bench")
    page.get_by_label("Code of the unit").fill(worlds.HERE.lower())
    press(page, "Take it")
    assert head(page) == worlds.HERE
    page.get_by_text("Final: log it").click()
    press(page, "Log final")
    expect(page.get_by_text("logged").first).to_be_visible()
    again = StepRecord.objects.standing().filter(unit__codes__code=worlds.HERE, operation__name="final")
    assert [step.entry.by.badge for step in again] == ["operator"]


def test_a_lead_holds_a_unit_and_sees_it_held(page: Page):
    enter(page, "lead")
    page.goto(f"/trace/unit/{worlds.HERE}/")
    go(page, "Hold it")
    page.get_by_label("A doubt about the record").check()
    page.get_by_label("What you saw").fill("label hard to read")
    page.get_by_label("No further work, no shipping").check()
    press(page, "Hold")
    expect(page.get_by_role("heading", level=1)).to_contain_text(worlds.HERE)
    expect(page.get_by_text("label hard to read").first).to_be_visible()
    assert Hold.objects.filter(item__codes__code=worlds.HERE, lift=None).count() == 1
    expect(page.get_by_role("link", name="Decide this hold")).to_have_count(0)


def test_stores_receives_a_lot_accepts_it_and_prints_its_label(page: Page):
    enter(page, "stores")
    go(page, "Receive a lot")
    page.get_by_label("What it is").select_option(label="RES-A")
    page.get_by_label("How much came").fill("20 kg")
    page.get_by_label("From whom").fill("Gillside Resins")
    page.get_by_label("Code (").fill("RB-77")
    press(page, "Put it in quarantine")
    assert head(page) == "RB-77 is in quarantine"
    go(page, "Print its label")
    page.get_by_label("203 dots an inch").check()
    with page.expect_download() as waiting:
        press(page, "Print it")
    assert "RB-77" in words_of(waiting.value.path().read_bytes())
    page.goto("/stores/lot/RB-77/")
    go(page, "Decide on it")
    page.get_by_label("Accept").first.check()
    press(page, "Decide")
    expect(page.get_by_text("Accepted").first).to_be_visible()
    assert LotDecision.objects.get(item__codes__code="RB-77").decision == LotDecision.Decision.ACCEPT


def test_stores_mixes_a_pot_a_question_a_screen(page: Page):
    enter(page, "stores")
    go(page, "Mix, charge, draw, send out", "Mixing", "Mix resin")
    press(page, "No scale: the ratio is not judged")
    for part, lot, grams in (("RES-A", "RB-1142", "100"), ("HRD-A", "HB-0310", "30")):
        weighed = ((f"How much of {lot}?", grams), ("Read the scale once more", grams))
        for asks, answer in ((f"Scan the {part}", lot), *weighed):
            expect(page.get_by_text(asks)).to_be_visible()
            page.locator("#answer").fill(answer)
            press(page, "Take")
    expect(page.get_by_role("button", name="Give it a number")).to_have_count(0)  # this works numbers no pots itself
    page.locator("#answer").fill("P-2290")
    press(page, "Take")
    expect(page.get_by_text("100 g").first).to_be_visible()
    press(page, "Start the pot clock")
    expect(page.get_by_text("is on file. Stick its label on").first).to_be_visible()
    pot = Item.objects.get(codes__code="P-2290")
    assert dict(Link.objects.filter(child=pot).values_list("parent__codes__code", "amount")) == {
        "RB-1142": 100_000_000,
        "HB-0310": 30_000_000,
    }  # micrograms


def test_review_works_its_bench_down(page: Page):
    worlds.matters_waiting()
    desks.all_of_it()
    enter(page, "review")
    assert "matters wait for a decision" in head(page)
    go(page, "Decide the run", "Decide this run")
    page.get_by_label("Fail").check()
    page.get_by_label("Why").fill("soak too short")
    press(page, "Decide this run")
    assert RunDecision.objects.get().choice == RunDecision.Choice.FAIL
    page.goto("/review/")
    go(page, "Countersign it", "Countersign")
    press(page, "Sign beside it")
    assert Countersign.objects.count() == 1
    page.goto("/review/")
    go(page, "Answer the signal")
    page.get_by_label("The cause was found").check()
    page.get_by_label("It is not removed").check()
    page.get_by_label("In words").fill("the insert is worn")
    press(page, "Answer the signal")
    assert SignalAnswer.objects.count() == 1
    page.goto("/review/")
    go(page, "Decide the departure", "Decide")
    page.get_by_label("Scrap").check()
    page.get_by_label("Why").fill("too deep to polish out")
    press(page, "Decide")
    assert Disposition.objects.count() == 2


def test_review_lifts_a_hold_only_with_the_password(page: Page):
    worlds.matters_waiting()
    enter(page, "review")
    go(page, "Decide the hold")
    page.get_by_label("Why you lift it").fill("read with a lamp")
    page.get_by_label("Your password").fill("a guess")
    press(page, "Lift this hold")
    expect(page.get_by_role("alert")).to_contain_text("not the password")
    expect(page.get_by_label("Why you lift it")).to_have_value("read with a lamp")
    page.get_by_label("Your password").fill(worlds.PASSWORD)
    press(page, "Lift this hold")
    assert Hold.objects.filter(item__codes__code=worlds.HERE, lift=None).count() == 0


def test_review_releases_a_frame_by_its_gate_and_ships_it(page: Page):
    enter(page, "review")
    page.goto("/review/going/")
    assert head(page) == "1 frame waits for release, 0 can be shipped"
    go(page, "See its gate")
    assert head(page) == f"All lines of the gate are met on {worlds.HERE}"
    page.get_by_label("Your password").fill(worlds.PASSWORD)
    press(page, f"Release {worlds.HERE}")
    released = Release.objects.get(unit__codes__code=worlds.HERE)
    assert released.entry.by.badge == "review"
    page.goto("/review/going/")
    page.get_by_label(worlds.HERE).check()
    page.get_by_label("To whom").fill("Dealer Larkmere")
    press(page, "Ship")
    expect(page.get_by_text("Dealer Larkmere").first).to_be_visible()
    assert ConsignmentLine.objects.filter(item__codes__code=worlds.HERE, consignment__direction="ship").count() == 1


def test_review_holds_a_shipped_frame_and_its_rider_reads_it_and_tells_of_damage(page: Page):
    enter(page, "review")
    page.goto(f"/trace/unit/{worlds.SHIPPED}/")
    go(page, "Page for its owner", "Look at the page")
    public = page.url
    expect(page.get_by_role("heading", name="No notice known")).to_be_visible()
    page.goto(f"/trace/unit/{worlds.SHIPPED}/")
    go(page, "Hold it")
    page.get_by_label("Named in a recall").check()
    press(page, f"Hold {worlds.SHIPPED}")
    page.context.clear_cookies()
    page.goto(public)
    expect(page.get_by_role("heading", name="Do not ride")).to_be_visible()
    go(page, "Report damage or a crash")
    page.get_by_label("What do you see").fill("A crack at the seat tube.")
    page.wait_for_timeout(2100)  # nobody writes a report in less than two seconds
    press(page, "Send the report")
    expect(page.get_by_role("heading", name="Your report is kept")).to_be_visible()
    enter(page, "review")
    page.goto("/review/")
    expect(page.get_by_text("A crack at the seat tube.")).to_be_visible()


def test_a_manager_adds_a_person_who_can_then_come_in(page: Page):
    enter(page, "manager")
    assert page.url.endswith("/plant/")
    page.goto("/rulebook/people/")
    go(page, "Add")
    page.get_by_label("Badge").fill("PB-77")
    page.get_by_label("Name").fill("Vera N.")
    page.get_by_label("stores").first.check()
    page.get_by_label("Password").first.fill(worlds.PASSWORD)
    press(page, "Add")
    assert Person.objects.get(badge="PB-77").roles == {Role.STORES}
    enter(page, "PB-77")
    assert page.url.endswith("/stores/")


def test_an_engineer_proposes_a_band_and_only_another_person_approves_it(page: Page):
    enter(page, "engineer")
    page.goto("/rulebook/")
    go(page, "Change")
    page.get_by_label("Lower limit (").fill("409.400")
    page.get_by_label("Upper limit (").fill("410.600")
    page.get_by_label("Why it changes").fill("the new bearing allows it")
    press(page, "Propose it")
    expect(page.get_by_text("waits for approval").first).to_be_visible()
    page.goto("/rulebook/")
    go(page, "Band of")
    expect(page.get_by_role("button", name="Approve it")).to_have_count(0)
    enter(page, "manager")
    page.goto("/rulebook/")
    go(page, "Band of")
    press(page, "Approve it")
    band = CharacteristicRevision.objects.filter(proposal__approval__entry__by__badge="manager").latest("pk")
    assert (band.characteristic.name, band.revision) == ("stay-length", "2")


def test_an_auditor_reads_takes_papers_and_finds_no_way_to_change(page: Page):
    enter(page, "auditor")
    for address in (f"/trace/unit/{worlds.HERE}/", "/stores/", "/review/", "/rulebook/", "/plant/", "/curves/"):
        page.goto(address)
        expect(page.get_by_text("You can read, not change.")).to_be_visible()
        assert page.locator("main form[method=post]").count() == 0
    page.goto(f"/trace/unit/{worlds.HERE}/")
    assert worlds.HERE in words_of(taken(page, "Dossier").path().read_bytes())


def test_the_phone_call_ends_with_a_list_on_paper_and_all_in_reach_held(page: Page):
    enter(page, "review")
    page.get_by_label("Find by code").fill(worlds.RESIN)
    page.keyboard.press("Enter")
    go(page, "Where it went")
    assert head(page) == f"2 frames have {worlds.RESIN}"
    listed = words_of(taken(page, "List as PDF").path().read_bytes())
    assert worlds.HERE in listed
    assert worlds.SHIPPED in listed
    assert worlds.HERE in taken(page, "CSV").path().read_text()
    page.get_by_role("link", name=re.compile("Hold the")).click()
    page.get_by_label("Material or its certificate").check()
    page.get_by_label("What you know").fill("viscosity out of its certificate")
    press(page, "Hold")
    assert Hold.objects.filter(item__codes__code=worlds.HERE, lift=None).count() == 1
