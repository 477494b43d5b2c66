"""Screens of the floor: one question after the other, and the press that logs, without any script."""

import json
from urllib.parse import urlencode

import pytest
from django.urls import reverse

from plant.catalogue.specs import RouteSpec
from plant.codes import house_code
from plant.people.middleware import BY_TABLET
from records.inspection.actions import Line, record_sheet
from records.items.actions import place_hold
from records.items.models import Hold, Link
from records.items.queries import holds_on, item_by_code
from records.steps.models import StepReading, StepRecord
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def text(response) -> str:
    return response.content.decode()


def screen(client, station: str, task: str, **told: str):
    """A screen with these answers given so far."""
    return client.get(f"{reverse('floor:log', args=[station, task])}?{urlencode(told)}")


def log(client, station: str, task: str, **told: str):
    """Press Log on the last screen; key and time are the ones that it was drawn with."""
    drawn = screen(client, station, task, **told)
    hidden = {name: drawn.context[name] for name in ("key", "made_at")}
    return client.post(reverse("floor:log", args=[station, task]), told | hidden), hidden


def asked(response) -> str:
    return response.context["question"].asks


def test_a_station_shows_the_units_that_wait_for_it_the_longest_first():
    builders.a_front("F1", hours=0)
    builders.a_front("F2", tube="T2", hours=0.25)
    page = tablet().get(reverse("floor:station", args=["MOULD-1"]))
    assert [row.unit.code for row in page.context["waiting"]] == ["F1", "F2"]
    assert "2 wait here" in text(page)


def test_a_scanned_unit_leads_to_its_next_step():
    builders.a_front("F1")
    page = tablet().get(reverse("floor:station", args=["MOULD-1"]), {"code": "f1"}, follow=True)
    assert "vent" in text(page).lower()
    assert "unit=F1&amp;operation=vent" in text(page)


def test_a_code_that_is_not_on_file_is_told():
    page = tablet().get(reverse("floor:station", args=["MOULD-1"]), {"code": "F9"})
    assert "No such code here: F9" in text(page)


def test_a_lot_is_no_unit_and_is_told_so():
    builders.a_lot("R1")
    page = tablet().get(reverse("floor:station", args=["MOULD-1"]), {"code": "R1"}, follow=True)
    assert "That is resin R1. A step needs a unit." in text(page)


def test_a_step_asks_its_reading_and_is_logged():
    builders.a_front("F1")
    builders.a_step("F1", "vent")
    client, step = tablet(), {"unit": "F1", "operation": "trim"}
    first = screen(client, "TRIM-1", "step", **step)
    assert (asked(first), first.context["question"].hint) == ("Edge", "1 to 3 mm")
    answer, _ = log(client, "TRIM-1", "step", **step, **{"reading-1": "2.5"})
    assert answer.status_code == 302
    assert (StepReading.objects.get().written, item_by_code("F1").state.place.code) == ("2.5", "TRIM-1")


def test_a_second_press_logs_nothing_twice():
    builders.a_front("F1")
    client, step = tablet(), {"unit": "F1", "operation": "vent"}
    _, hidden = log(client, "MOULD-1", "step", **step)
    again = client.post(reverse("floor:log", args=["MOULD-1", "step"]), step | hidden, follow=True)
    assert "Logged before: nothing changed" in text(again)
    assert StepRecord.objects.filter(operation__name="vent").count() == 1


def test_a_number_that_cannot_be_read_is_asked_again_with_what_was_typed():
    builders.a_front("F1")
    page = screen(tablet(), "TRIM-1", "step", unit="F1", operation="trim", **{"reading-1": "2..5"})
    assert "can&#x27;t be read as a number" in text(page)
    assert 'value="2..5"' in text(page)


def test_a_reading_outside_asks_what_is_to_be_done():
    builders.a_front("F1")
    builders.a_step("F1", "vent")
    step = {"unit": "F1", "operation": "trim", "reading-1": "3.4"}
    page = screen(tablet(), "TRIM-1", "step", **step)
    assert asked(page) == "3.4 mm is 0.4 mm above the band."
    again = screen(tablet(), "TRIM-1", "step", **step, **{"reading-1-outside": "again"})
    assert again.url.startswith(reverse("floor:log", args=["TRIM-1", "step"]) + "?unit=F1&operation=trim&key=")


def test_a_reading_kept_outside_holds_the_unit():
    builders.a_front("F1")
    builders.a_step("F1", "vent")
    step = {"unit": "F1", "operation": "trim", "reading-1": "3.4", "reading-1-outside": "keep"}
    log(tablet(), "TRIM-1", "step", **step)
    assert [hold.reason for hold in holds_on([item_by_code("F1").pk])] == ["reading-outside"]


def test_what_the_gate_refuses_can_be_told_as_done_and_is_marked():
    builders.a_front("F1")
    client, step = tablet(), {"unit": "F1", "operation": "trim", "reading-1": "2"}
    refused, hidden = log(client, "TRIM-1", "step", **step)
    assert "F1 has not been through vent" in text(refused)
    assert not StepRecord.objects.filter(operation__name="trim").exists()
    told = client.post(reverse("floor:log", args=["TRIM-1", "step"]), step | hidden | {"done": "yes"}, follow=True)
    assert "Kept, and F1 is held because vent of F1 is not on file." in text(told)


def test_a_preform_is_wound_question_by_question():
    builders.a_spool("SP1")
    client, told = tablet(), {"part": "TUBE"}
    for name, value, question in [
        ("tool", "MD-1", "Scan the mandrel"),
        ("spools-1-lot", "SP1", "Scan the spool"),
        ("spools-1-amount", "20", "How much of SP1?"),
    ]:
        page = screen(client, "WIND-1", "make", **told)
        assert asked(page) == question
        told[name] = value
    assert page.context["is_last"]
    log(client, "WIND-1", "make", **told)
    assert Link.objects.get(child=item_by_code("PF-26-000001-5")).amount == 20_000_000


def test_another_spool_is_asked_for_where_somebody_says_so_beside_the_amount():
    told = {"part": "TUBE", "tool": "MD-1", "spools-1-lot": builders.a_spool("SP1").code, "spools-1-amount": "20"}
    assert "Is this right?" in text(screen(tablet(), "WIND-1", "make", **told))
    more = screen(tablet(), "WIND-1", "make", **told, **{"spools-1-amount-more": "yes"})
    assert asked(more) == "Scan the spool"
    assert ("spools-1-amount-more", "yes") in more.context["hidden"]


def test_a_label_that_is_on_it_already_is_scanned_where_somebody_says_so():
    builders.a_spool("SP1")
    told = {"part": "TUBE", "tool": "MD-1", "spools-1-lot": "SP1", "spools-1-amount": "20"}
    page = screen(tablet(), "WIND-1", "make", **told)
    own = tablet().get(page.context["own"][0])
    assert asked(own) == "Scan its label, or let the house give a number"
    log(tablet(), "WIND-1", "make", **told, **{"unit-own": "yes", "unit": "T1"})
    assert Link.objects.get(child=item_by_code("T1")).amount == 20_000_000


def test_the_press_that_takes_the_last_number_logs():
    builders.a_front("F1")
    builders.a_step("F1", "vent")
    client, step = tablet(), {"unit": "F1", "operation": "trim"}
    page = screen(client, "TRIM-1", "step", **step)
    assert 'data-verb="Log"' in text(page)
    hidden = dict(page.context["hidden"]) | {"made_at": page.context["made_at"]}
    address = page.context["address"]
    outside = client.post(address, step | hidden | {"reading-1": "3.4"})
    assert asked(outside) == "3.4 mm is 0.4 mm above the band."
    assert client.post(address, step | hidden | {"reading-1": "2.5"}).status_code == 302
    assert StepReading.objects.get().written == "2.5"


def test_the_entry_of_the_last_press_is_told_to_the_outbox_unless_more_is_asked():
    builders.a_front("F1")
    builders.a_step("F1", "vent")
    told = {"unit": "F1", "operation": "trim", "key": "018f2c5e-7b1a-4c3d-9e2f-5a6b7c8d9e0f"}
    address = reverse("floor:log", args=["TRIM-1", "step"])

    def entry(value: str):
        asked_for = told | {"reading-1": value}
        return tablet().get(address, asked_for, headers={"Accept": "application/json"}).json()["entry"]

    assert entry("3.4") is None
    assert entry("2.5")["payload"]["readings"] == [{"name": "edge", "value": "2.5", "unit": "mm"}]


def test_scanning_the_next_one_goes_on_with_a_list_and_one_press_ends_and_logs_it():
    builders.a_front("F1")
    page = screen(tablet(), "STORE", "out", to="Painter", **{"units-1": "F1"})
    assert (asked(page), page.context["question"].ends) == ("Scan the next unit", "That is all: 1 scanned")
    assert json.loads(page.context["entry"])["payload"]["units"] == ["F1"]


def test_a_code_of_the_wrong_kind_is_told_at_the_scan():
    builders.a_lot("R1")
    page = screen(tablet(), "WIND-1", "make", part="TUBE", tool="MD-1", **{"spools-1-lot": "R1"})
    assert "That is resin R1. Due here: fibre or binder" in text(page)


def test_a_lot_not_on_file_may_be_stated_by_the_part_of_its_label():
    told = {"part": "TUBE", "tool": "MD-1", "spools-1-lot": "FB-NEW"}
    page = screen(tablet(), "WIND-1", "make", **told)
    assert "What does its label say?" in text(page)
    assert asked(screen(tablet(), "WIND-1", "make", **told, **{"spools-1-lot-part": "FIB-UD"})) == "How much of FB-NEW?"


def test_a_triangle_and_a_frame_are_made():
    builders.a_tube("T1")
    builders.a_pot("P1", hours=4.5)
    moulded = {"preforms-1": "T1", "preforms-2": "", "bladder-1": "", "inserts-1-lot": "", "unit": "F1"}
    fill = {"fill-1-lot": "P1", "fill-1-amount": "15"}
    log(tablet(), "MOULD-1", "make", part="OSIER-F", tool="ML-1", **moulded, **fill)
    builders.a_step("F1", "vent")
    builders.a_step("F1", "trim")
    builders.a_finished_rear("B1")
    builders.some_glue("G1", hours=4.8)
    glue = {"adhesive-1-lot": "G1", "adhesive-1-amount": "5", "unit": ""}
    log(tablet(), "BOND-1", "make", part="OSIER", tool="JG-1", front="F1", rear="B1", **glue)
    frame = Link.objects.get(parent=item_by_code("F1")).child
    assert frame.code.startswith("TW-26-")


def test_a_pot_is_mixed_and_carries_a_number_of_the_house():
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    told = {"mix": "EPOXY", "scale": "SCALE-1", "pot": ""}
    for n, (lot, amount) in enumerate((("R1", "100"), ("H1", "30")), start=1):
        told |= {f"component-{n}-1-{name}": value for name, value in (("lot", lot), ("amount", amount))}
        told |= {f"component-{n}-1-amount-again": amount}
    log(tablet(), "MOULD-1", "pot", **told)
    assert item_by_code(house_code("PT", 2026, 1)).part.kind == "resin-mix"


def test_tank_and_consignment_are_logged_from_a_station():
    builders.a_lot("R1")
    builders.a_front("F1")
    builders.a_step("F1", "vent")
    client = tablet()
    log(client, "STORE", "charge", tank="TK-1", lot="R1", amount="500")
    log(client, "STORE", "draw", tank="TK-1", amount="100", into="D1")
    log(client, "STORE", "clean", tank="TK-1", **{"tank-stop": "done"})
    log(client, "STORE", "out", to="Painter", **{"units-1": "F1", "units-2": ""})
    assert item_by_code("F1").state.where == "out"
    log(client, "STORE", "back", **{"units-1": "F1", "units-2": ""})
    log(client, "TRIM-1", "move", item="F1")
    assert (item_by_code("F1").state.where, item_by_code("F1").state.place.code) == ("here", "TRIM-1")
    assert item_by_code("D1").state.remaining == 100_000_000


@pytest.mark.parametrize("amount", ["0", "-5", "a lot"])
def test_an_amount_that_is_drawn_is_looked_at_where_it_is_told(amount):
    builders.a_lot("R1")
    builders.a_charge(quantity="500 g")
    page = screen(tablet(), "STORE", "draw", tank="TK-1", amount=amount)
    assert page.context["question"].name == "amount"
    assert "Read it again." in page.context["problem"]


def test_a_unit_that_is_in_a_list_already_is_not_taken_twice():
    builders.a_front("F1")
    page = screen(tablet(), "STORE", "out", to="Painter", **{"units-1": "F1", "units-2": "f1"})
    assert page.context["problem"] == "F1 is in the list already. Scan the other one."


def test_a_held_unit_shows_what_the_hold_stops_and_what_is_safe():
    builders.a_front("F1")
    place_hold("F1", reason="doubt", words="wet label", said=builders.said(1))
    page = text(tablet().get(reverse("floor:unit_here", args=["MOULD-1", "F1"])))
    assert "Finish the cure. Then put it on the red shelf." in page
    assert "wet label" in page
    assert "operation=vent" in page
    assert Hold.objects.count() == 1


def test_a_caution_stands_beside_what_can_hurt():
    page = text(screen(tablet(), "MOULD-1", "pot"))
    assert "a standing pot can boil, smoke and burn" in page
    assert "data sheet of the lot" in page


@pytest.mark.parametrize(
    ("station", "task", "told"),
    [
        ("NOWHERE", "pot", {}),
        ("MOULD-1", "paint", {}),
        ("MOULD-1", "step", {"unit": "F9", "operation": "vent"}),
        ("MOULD-1", "step", {"unit": "F1", "operation": "fly"}),
        ("MOULD-1", "make", {"part": "RES-A"}),
    ],
)
def test_what_does_not_exist_is_not_found(station, task, told):
    builders.a_front("F1")
    assert screen(tablet(), station, task, **told).status_code == 404


def test_who_may_not_log_is_shown_no_screen_to():
    assert screen(tablet("auditor"), "MOULD-1", "pot").status_code == 403
    assert "You can read here, not log" in text(tablet("auditor").get(reverse("floor:station", args=["MOULD-1"])))


def test_the_page_of_a_unit_says_where_what_was_logged_wrong_is_put_right_and_leads_there_who_may_go():
    builders.a_front("F1")
    address = reverse("floor:unit_here", args=["MOULD-1", "F1"])
    at_a_desk = tablet("operator")
    leads = f'<a href="{reverse("items:inputs", args=["F1"])}">Put right what went in</a>'
    assert leads in text(at_a_desk.get(address))
    assert at_a_desk.get(reverse("items:inputs", args=["F1"])).status_code == 200
    on_the_floor = tablet("operator")
    session = on_the_floor.session
    session.update({BY_TABLET: True})
    session.save()
    page = text(on_the_floor.get(address))
    assert leads not in page
    assert (
        "it is put right at a desk, on the page of the unit: by you with badge and password, or by your lead." in page
    )
    assert "put-right" not in text(tablet("auditor").get(address))


def test_a_step_that_asks_for_a_measure_says_that_it_is_not_on_file_yet():
    route = [builders.STEP("mould", tool_kind="mould"), builders.STEP("final", measures=["bore"])]
    builders.agreed(RouteSpec("OSIER-F", route))
    builders.a_front("F1")
    address = reverse("floor:unit_here", args=["MOULD-1", "F1"])
    words = "To be measured at final, and not on file yet: bore. Press “Measure it”."
    assert words in text(tablet().get(address))
    builders.a_step("F1", "final", hours=2)
    assert words in text(tablet().get(address))  # the step is past, and its measure is missing all the same
    record_sheet("F1", [Line("bore", ["34.9"], "")], said=builders.said(4))
    assert words not in text(tablet().get(address))


@pytest.mark.parametrize(("code", "kind"), [("JG-1", "jig"), ("SCALE-1", "scale")])
def test_a_tool_or_gauge_scanned_where_a_unit_is_due_is_named_for_what_it_is(code, kind):
    page = text(tablet().get(reverse("floor:station", args=["BOND-1"]), {"code": code}))
    assert f"That is the {kind} {code}. Due here: unit. Scan another code." in page
