"""Corrections: a wrong scan, an entry taken back, a use forgotten; both states stay readable."""

from uuid import uuid4

import pytest

from records.items.actions import Correction, correct_link, place_hold, tell_use_late, withdraw
from records.items.models import Link
from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from records.ledger.marks import Mark
from records.ledger.models import Entry
from records.ledger.verifying import verify
from records.steps.actions import Bonding, Moulding, bond, mould
from records.trace.queries import Asked, made_from, where_used
from tests import builders
from tests.builders import of, said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db
G = 10**6


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})
    for lot in ("R1", "R2"):
        builders.a_lot(lot, quantity="1 kg")
    builders.a_lot("H1", "HRD-A")


@pytest.fixture
def key(works):
    """Key of a pot from R1, possible 0.4, and H1."""
    told = said()
    builders.mix_pot("P1", mix="EPOXY", inputs=[of("R1", "100 g", possible=0.4), of("H1", "30 g")], said=told)
    return told.key


def correct(key, was, right, hours=5, part=""):
    told = said(hours)
    correct_link(key, Correction(was, right, part), words="other can", said=told)
    return told.key


def left(*codes):
    return [item_by_code(code).state.remaining // G for code in codes]


def used(code, **asked):
    return {one.code for one in where_used(code, Asked(**asked)).listed}


def test_the_right_lot_stands_with_quantity_time_and_share_and_the_wrong_one_gets_its_amount_back(key):
    before = Mark(Entry.objects.latest("pk").pk)
    correct(key, "r1 ", "R2")
    assert left("R1", "R2", "P1") == [1000, 900, 130]
    right = Link.objects.get(parent=item_by_code("R2"))
    assert (right.share_ppb, right.at, right.amount) == (400_000_000, builders.MONDAY, 100 * G)
    assert (used("R1"), used("R2")) == (set(), {"P1"})
    assert (used("R1", mark=before), used("R2", mark=before)) == ({"P1"}, set())
    assert verify().faults == ()


def test_a_correction_may_itself_be_corrected_and_taken_back(key):
    second = correct(key, "R1", "R2")
    with refuses("unknown", "R1"):
        correct(key, "R1", "R2")
    third = correct(second, "R2", "R1")
    withdraw(third, was="R1", words="not so", said=said(6))
    assert (used("R1"), used("R2"), left("R1", "R2", "P1")) == (set(), set(), [1000, 1000, 30])
    with refuses("unknown"):
        withdraw(third, was="R1", words="not so", said=said(7))


def test_hold_and_expiry_of_the_right_lot_do_not_matter_and_one_not_on_file_is_stated(key):
    place_hold("R2", reason="dry-patch", said=said(1))
    assert flags_of(correct(key, "R1", "R2")) == []
    told = correct(key, "H1", "H7", part="HRD-A")
    assert flags_of(told) == ["not-booked-in"]
    assert used("H7") == {"P1"}


def test_a_correction_that_leaves_the_right_lot_below_nothing_is_flagged(key):
    builders.split_lot("R2", [of("S1", "950 g")], said=said())
    assert flags_of(correct(key, "R1", "R2")) == ["over-drawn"]


@pytest.mark.parametrize(
    ("was", "right", "code", "words"),
    [
        ("R1", "GHOST", "unknown", "GHOST"),
        ("GHOST", "R2", "unknown", "GHOST"),
        ("R2", "R1", "unknown", "R2"),
        ("R1", "H1", "wrong-kind", "H1"),
        ("R1", "P1", "wrong-kind", "P1"),
        ("R1", "FB1", "wrong-kind", "FB1"),
    ],
)
def test_a_correction_that_can_not_be_is_refused(key, was, right, code, words):
    builders.fibre()
    with refuses(code, words):
        correct(key, was, right)


def test_no_thing_is_corrected_into_itself():
    builders.split_lot("R1", [of("S1", "500 g")], said=(told := said()))
    with refuses("itself"):
        correct(told.key, "R1", "S1")


def test_an_entry_that_does_not_stand_is_not_corrected():
    for act in (lambda: correct(uuid4(), "R1", "R2"), lambda: withdraw(uuid4(), was="R1", words="no", said=said())):
        with refuses("unknown"):
            act()


def test_the_wrong_front_is_free_again_and_the_right_one_is_in():
    for code in ("F1", "F2"):
        builders.a_finished_front(code)
    builders.a_finished_rear("B1")
    builders.some_glue("G1", hours=2)
    bond("X1", part="OSIER", bonding=Bonding("F1", "B1", [of("G1", "5 g")]), said=(told := said(2)))
    correct(told.key, "F1", "F2")
    assert (item_by_code("F1").state.where, item_by_code("F2").state.inside.code) == ("here", "X1")
    with refuses_or_flags("already-used") as both:
        both(lambda s: correct_link(told.key, Correction("B1", "B1"), words="same", said=s))
    assert verify().faults == ()


def test_a_link_taken_back_gives_the_amounts_back_on_both_sides(key):
    withdraw(key, was="R1", words="not so", said=said(1))
    assert left("R1", "P1") == [1000, 30]
    assert {one.code for one in made_from("P1").listed} == {"H1"}
    assert used("R1", ended=True) == set()


def test_a_link_may_be_named_by_what_it_went_into():
    builders.split_lot("R1", [of("S1", "100 g"), of("S2", "100 g")], said=(told := said()))
    withdraw(told.key, was="S2", words="not so", said=said(1))
    assert used("R1") == {"S1"}
    assert left("R1", "S1", "S2") == [900, 100, 0]


def test_a_pot_emptied_by_a_withdrawal_is_flagged_when_it_was_used(key):
    mould("F1", part="OSIER-F", moulding=Moulding([], [of("P1", "100 g")]), said=said(0.2))
    withdraw(key, was="R1", words="not so", said=(told := said(1)))
    assert flags_of(told.key) == ["over-drawn"]


def test_a_withdrawal_names_what_it_takes_back(key):
    for was in ("", "R2"):
        with refuses("unknown"):
            withdraw(key, was=was, words="not so", said=said(1))


def test_a_forgotten_use_counts_from_when_it_was_with_its_share(key):
    tell_use_late("P1", lot=of("R2", "50 g", possible=0.3), words="forgotten", said=(told := said(0.1)))
    assert (flags_of(told.key), left("R2", "P1")) == ([], [950, 180])
    found = {one.code: (one.sure, one.share_ppb) for one in made_from("P1").listed}
    assert found["R2"] == ("possible", 300_000_000)


@pytest.mark.parametrize(
    ("item", "lot", "code"),
    [("GHOST", of("R1"), "unknown"), ("P1", of("GHOST"), "unknown"), ("R1", of("R1"), "itself"),
     ("P1", of("R1", "2 pcs"), "wrong-kind"), ("P1", of("NEW", part="GHOST"), "unknown")],
)  # fmt: skip
def test_a_use_that_can_not_be_is_refused(key, item, lot, code):
    with refuses(code):
        tell_use_late(item, lot=lot, words="forgotten", said=said())


def test_a_forgotten_use_that_closes_a_loop_is_taken_and_flagged(key):
    tell_use_late("R1", lot=of("P1", "1 g"), words="poured back", said=(told := said(0.1)))
    assert flags_of(told.key) == ["loop"]
    assert used("R1") == {"P1"}
    assert where_used("R1").loops == [["P1", "R1"]]


def test_a_use_against_a_rule_is_refused_late_too_unless_it_is_done(key):
    place_hold("R2", reason="dry-patch", said=said(-1))
    with refuses_or_flags("held") as both:
        both(lambda s: tell_use_late("P1", lot=of("R2", "1 g"), words="forgotten", said=s))
