"""One person alone takes nothing off a lot that is held, rejected or released at risk: a second one signs beside."""

from dataclasses import replace

import pytest
from django.urls import reverse

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
    reject_lot,
    release_at_risk,
    take_out,
    withdraw,
)
from records.items.models import Link
from records.items.queries import holds_on, item_by_code
from records.ledger.acts import flags_of
from records.ledger.models import Entry
from records.ledger.verifying import verify
from records.trace.queries import where_used
from tests import builders
from tests.builders import of, said
from tests.records.floor.told import tablet
from tests.records.items.pages import press, text
from tests.refusing import refuses

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


def with_second(told, badge="second"):
    return replace(told, second=person_by_badge(badge))


@pytest.mark.parametrize("why", BARRED)
@pytest.mark.parametrize(
    "away", [to_r2, lambda told=None: withdraw(of_pot(), was="R1", words="not so", said=told or said(5))]
)
def test_nobody_alone_takes_a_use_off_a_barred_lot(why, away):
    BARRED[why]("R1")
    with refuses("second-person", "R1 is held, rejected or released at risk"):
        away()
    with refuses("second-person"):
        away(with_second(said(5), builders.ALL_ROLES))  # it is the maker once more
    assert "P1" in holding("R1")
    away(with_second(said(5)))
    assert "P1" not in holding("R1")
    assert verify().faults == ()


def test_an_auditor_signs_nothing_beside():
    BARRED["held"]("R1")
    with refuses("second-person"):
        to_r2(with_second(said(5), "auditor"))


def test_a_lot_that_is_accepted_by_now_is_taken_off_by_one_alone():
    at_risk("R1")
    accept_lot("R1", said=said(3))
    to_r2()
    assert holding("R1") == set()


def test_what_is_barred_further_up_counts_too_and_holds_stay():
    BARRED["held"]("R1")
    place_hold("F1", reason="recall", said=said(3))
    builders.a_pot("P2", resin="R2", hours=4)
    made = Link.objects.get(child=item_by_code("F1"), parent=item_by_code("P1")).entry
    change = Correction("P1", "P2")
    with refuses("second-person", "R1"):
        correct_link(made.key, change, words="the other pot", said=said(5))
    correct_link(made.key, change, words="the other pot", said=with_second(said(5)))
    assert "F1" not in holding("R1")
    assert [hold.reason for hold in holds_on([item_by_code("F1").pk])] == ["recall"]


def test_the_right_one_that_holds_the_barred_lot_as_well_takes_nothing_off_it():
    BARRED["held"]("R1")
    made = Link.objects.get(child=item_by_code("F1"), parent=item_by_code("P1")).entry
    builders.mix_pot("P2", mix="EPOXY", inputs=[of("R1", "100 g"), of("H1", "30 g")], said=said(4, done=True))
    correct_link(made.key, Correction("P1", "P2"), words="the other pot", said=said(5))
    assert {"P2", "F1"} <= holding("R1")


def test_a_charge_is_taken_off_a_held_lot_by_two_and_a_mis_tap_of_ones_own_by_one(clock_at):
    charge_tank("TK-1", lot=of("R1", "500 g"), said=(told := said(1)))
    draw_tank("TK-1", into="D1", quantity=of("R1", "100 g").quantity, said=said(1.5))
    BARRED["held"]("R1")
    clock_at(builders.moment(6))
    for away in (
        lambda s: correct_link(told.key, Correction("R1", "R2"), words="read", said=s),
        lambda s: withdraw(told.key, was="R1", words="read", said=s),
        lambda s: withdraw(told.key, words="read", said=s),
    ):
        with refuses("second-person"):
            away(said(6))
    assert "D1" in holding("R1")
    charge_tank("TK-1", lot=of("R1", "50 g"), said=(tapped := said(6, done=True)))
    with refuses("second-person"):
        withdraw(tapped.key, words="mis-tap", said=said(6, by="lead"))
    withdraw(tapped.key, words="mis-tap", said=said(6))


def test_an_insert_of_a_held_lot_is_taken_out_by_two_or_marked_where_it_is_out_already():
    builders.a_frame("X1")
    BARRED["held"]("G1")
    with refuses("second-person", "G1"):
        take_out("X1", item="G1", words="cracked", said=said(5))
    take_out("X1", item="G1", words="cracked", said=(told := said(5, done=True)))
    assert "second-person" in flags_of(told.key)


def test_a_cleaning_told_late_by_one_alone_is_marked_where_it_cuts_draws_off_a_held_lot():
    charge_tank("TK-1", lot=of("R1", "500 g"), said=said(1))
    draw_tank("TK-1", into="D1", quantity=of("R1", "100 g").quantity, said=said(2))
    BARRED["held"]("R1")
    clean_tank("TK-1", said=(told := said(1.5, done=True)))
    assert "second-person" in flags_of(told.key)
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
