"""What one person alone takes off a lot that is held, rejected or released at risk is marked; a page asks for two."""

import json
from dataclasses import replace

import pytest
from django.urls import reverse

from plant.catalogue import specs
from plant.people.actions import set_pin
from plant.people.queries import person_by_badge
from plant.quantities import read_quantity
from records.items.actions import (
    Correction,
    accept_lot,
    charge_tank,
    clean_tank,
    correct_link,
    draw_tank,
    place_hold,
    put_in,
    reject_lot,
    release_at_risk,
    take_out,
    withdraw,
)
from records.items.models import Link
from records.items.queries import holds_on, item_by_code
from records.ledger.acts import flags_of
from records.ledger.models import Entry, Flag
from records.ledger.verifying import verify
from records.trace.queries import where_used
from tests import builders
from tests.builders import of, said
from tests.records.floor.told import tablet
from tests.records.items.pages import press, text

pytestmark = pytest.mark.django_db
WHY = {"words": "the can beside it"}


def at_risk(lot):
    release_at_risk(lot, limit=read_quantity("5 kg"), until=builders.moment(900), words="waits", said=said(2))


BARRED = {
    "held": lambda lot: place_hold(lot, reason="doubt", said=said(2)),
    "rejected": lambda lot: reject_lot(lot, words="gels", said=said(2)),
    "at risk": at_risk,
}


@pytest.fixture(autouse=True)
def works(clock_at):
    clock_at(builders.moment(0))
    builders.a_works(holds={})
    for code in ("R1", "R2"):
        builders.a_lot(code)
    builders.a_lot("H1", "HRD-A")
    builders.a_pot("P1", hours=0)
    builders.a_front("F1")
    clock_at(builders.moment(5))


def of_pot():
    return Entry.objects.get(kind="pot mixed").key


def to_r2(told=None):
    return correct_link(of_pot(), Correction("R1", "R2"), words="the can beside it", said=told or said(5))


def holding(lot):
    found = where_used(lot)
    return {one.code for one in (*found.frames, *found.others, *found.below)}


def alone(told):
    """The lots for which an entry is marked as told by one alone."""
    flags = Flag.objects.filter(entry__key=told.key, code="told-alone")
    return [json.loads(flag.facts)["code"] for flag in flags]


def with_second(told, badge="second"):
    return replace(told, second=person_by_badge(badge))


@pytest.mark.parametrize("why", BARRED)
@pytest.mark.parametrize(
    "away", [to_r2, lambda told=None: withdraw(of_pot(), was="R1", words="not so", said=told or said(5))]
)
@pytest.mark.parametrize("beside", ["", builders.ALL_ROLES, "auditor"])
def test_what_one_alone_takes_off_a_barred_lot_is_marked(why, away, beside):
    BARRED[why]("R1")
    told = said(5)
    away(with_second(told, beside) if beside else told)  # a maker once more and an auditor are nobody beside
    assert alone(told) == ["R1"]
    assert "P1" not in holding("R1")
    assert verify().faults == ()


@pytest.mark.parametrize("why", BARRED)
def test_two_people_take_a_use_off_a_barred_lot(why):
    BARRED[why]("R1")
    to_r2(told := with_second(said(5)))
    assert alone(told) == []
    assert holding("R1") == set()


def test_by_the_settings_what_one_alone_took_off_a_held_lot_is_held_until_somebody_else_has_looked():
    builders.agreed(specs.RulebookSpec("", {"told-alone": 1}), hours=-1)
    BARRED["held"]("R1")
    to_r2()
    assert [hold.reason for hold in holds_on([item_by_code("P1").pk])] == ["told-alone"]


def test_a_lot_that_is_accepted_by_now_is_taken_off_by_one_alone():
    at_risk("R1")
    accept_lot("R1", said=said(3))
    to_r2(told := said(5))
    assert alone(told) == []
    assert holding("R1") == set()


def test_what_is_barred_further_up_counts_too_and_holds_stay():
    BARRED["held"]("R1")
    place_hold("F1", reason="recall", said=said(3))
    builders.a_pot("P2", resin="R2", hours=4)
    made = Link.objects.get(child=item_by_code("F1"), parent=item_by_code("P1")).entry
    correct_link(made.key, Correction("P1", "P2"), words="the other pot", said=(told := said(5)))
    assert alone(told) == ["R1"]
    assert "F1" not in holding("R1")
    assert [hold.reason for hold in holds_on([item_by_code("F1").pk])] == ["recall"]


def test_the_right_one_that_holds_the_barred_lot_as_well_takes_nothing_off_it():
    BARRED["held"]("R1")
    made = Link.objects.get(child=item_by_code("F1"), parent=item_by_code("P1")).entry
    builders.mix_pot("P2", mix="EPOXY", inputs=[of("R1", "100 g"), of("H1", "30 g")], said=said(4, done=True))
    correct_link(made.key, Correction("P1", "P2"), words="the other pot", said=(told := said(5)))
    assert alone(told) == []
    assert {"P2", "F1"} <= holding("R1")


@pytest.mark.parametrize(
    "away",
    [
        lambda of, told: correct_link(of, Correction("R1", "R2"), words="read", said=told),
        lambda of, told: withdraw(of, was="R1", words="read", said=told),
        lambda of, told: withdraw(of, words="read", said=told),
    ],
)
def test_a_charge_taken_off_a_held_lot_by_one_alone_is_marked(away, clock_at):
    charge_tank("TK-1", lot=of("R1", "500 g"), said=(charged := said(1)))
    draw_tank("TK-1", into="D1", quantity=of("R1", "100 g").quantity, said=said(1.5))
    BARRED["held"]("R1")
    clock_at(builders.moment(6))
    away(charged.key, told := said(6))
    assert alone(told) == ["R1"]
    assert "D1" not in holding("R1")


@pytest.mark.parametrize(("by", "marked"), [(builders.ALL_ROLES, []), ("lead", ["R1"])])
def test_a_mis_tap_of_ones_own_is_taken_back_by_one(by, marked):
    BARRED["held"]("R1")
    charge_tank("TK-1", lot=of("R1", "50 g"), said=(tapped := said(6, done=True)))
    withdraw(tapped.key, words="mis-tap", said=(told := said(6, by=by)))
    assert alone(told) == marked


def test_an_insert_of_a_held_lot_taken_out_by_one_alone_is_marked():
    builders.a_frame("X1")
    BARRED["held"]("G1")
    take_out("X1", item="G1", words="cracked", said=(told := said(5)))
    assert alone(told) == ["G1"]


def test_a_cleaning_told_late_by_one_alone_is_marked_where_it_cuts_draws_off_a_held_lot():
    charge_tank("TK-1", lot=of("R1", "500 g"), said=said(1))
    draw_tank("TK-1", into="D1", quantity=of("R1", "100 g").quantity, said=said(2))
    BARRED["held"]("R1")
    clean_tank("TK-1", said=(told := said(1.5, done=True)))
    assert alone(told) == ["R1"]
    clean_tank("TK-1", said=(later := said(4)))
    assert flags_of(later.key) == []


def page_of(**told):
    return press("input_correct", of_pot(), "R1", role="stores", **{"choice": "other", "right": "R2"} | WHY | told)


def test_the_page_asks_for_the_second_person_only_where_one_must_sign():
    address = reverse("items:input_correct", args=[of_pot(), "R1"])
    assert "second person" not in text(tablet("stores").get(address))
    BARRED["held"]("R1")
    page = text(tablet("stores").get(address))
    assert "Two people say this." in page
    assert "Badge of the second person" in page


def test_on_the_page_the_second_person_signs_by_badge_and_pin_and_is_named_beside_the_correction():
    BARRED["held"]("R1")
    set_pin(person_by_badge("second"), "4711", said=said(4))
    for told, words in (
        ({}, "You can’t say that alone"),
        ({"second": "stores", "pin": "4711"}, "That is your own badge."),
        ({"second": "second", "pin": "4712"}, "This is not the PIN of that badge."),
    ):
        assert words in text(page_of(**told))
        assert "P1" in holding("R1")
    assert page_of(second="second", pin="4711").status_code == 302
    assert holding("R1") == set()
    name = person_by_badge("second").name
    assert f"and {name}" in text(tablet("review").get(reverse("trace:unit", args=["P1"])))


def test_the_page_of_what_comes_out_asks_for_the_second_person_for_inserts_of_a_held_lot():
    builders.a_lot("I1", "INS-BB", "10 pcs")
    put_in("F1", lot=of("I1", "1 pcs"), said=said(2))
    address = reverse("items:unit_take_out", args=["F1"])
    assert "second person" not in text(tablet("lead").get(address))
    BARRED["held"]("I1")
    set_pin(person_by_badge("second"), "4711", said=said(4))
    told = {"item": "I1", "words": "cracked"}
    assert "You can’t say that alone" in text(press("unit_take_out", "F1", role="lead", **told))
    assert "F1" in holding("I1")
    assert press("unit_take_out", "F1", role="lead", **told, second="second", pin="4711").status_code == 302
    assert "F1" not in holding("I1")
