"""Holds: what each scope stops, several at once, by themselves where the settings say so."""

import pytest

from plant.catalogue import specs
from plant.catalogue.models import Operation
from records.inspection.actions import Line, record_sheet
from records.items.actions import (
    Correction,
    correct_link,
    cut_coupon,
    lift_hold,
    lift_holds,
    mix_pot,
    place_hold,
    place_holds,
    put_in,
    reject_lot,
    renumber,
    scrap,
    split_lot,
    take_out,
)
from records.items.models import Hold
from records.items.queries import holds_on, item_by_code
from records.ledger.acts import flags_of
from records.ledger.models import Entry
from records.quality.actions import swap_labels
from records.release.actions import release_units, ship
from records.steps.actions import Bonding, bond, log_step, send_out
from tests import builders
from tests.builders import of, said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})


def hold(code, scope=1, after="", hours=0.5):
    told = said(hours)
    unit = item_by_code(code)
    operation = Operation.objects.get(route_revision__part=unit.part, name=after) if after else None
    place_hold(code, reason="dry-patch", words="left side", scope=scope, operation=operation, said=told)
    return told.key


ACTS = {
    "use": lambda s: bond("X9", part="OSIER", bonding=Bonding("F1", "B1", [of("G1", "1 g")]), said=s),
    "earlier step": lambda s: log_step("F1", step="mould", said=s),
    "later step": lambda s: log_step("F1", step="trim", said=s),
    "making safe": lambda s: log_step("F1", step="vent", said=s),
    "send-out": lambda s: send_out(["F1"], to="Beck Painters", said=s),
    "release": lambda s: release_units(["F1"], said=s),
    "ship": lambda s: ship(["F1"], to="Lienz Cycles", said=s),
    "measure": lambda s: record_sheet("F1", [Line("bore", ["34.9"], "GA-1")], said=s),
    "rework": lambda s: put_in("F1", lot=of("P2", "1 g"), said=s),
    "coupon": lambda s: cut_coupon("CU1", unit="F1", part="CPN", said=s),
    "renumber": lambda s: renumber("F1", to="F100", words="label lost", said=s),
    "scrap": lambda s: scrap("F1", words="cracked", said=s),
}
ALWAYS = {"making safe", "measure", "rework", "coupon", "renumber", "scrap"}
STOPS = {
    (1, ""): ACTS.keys() - ALWAYS,
    (2, "mould"): ACTS.keys() - ALWAYS - {"earlier step"},
    (2, "trim"): ACTS.keys() - ALWAYS - {"earlier step", "later step"},
    (3, ""): {"release", "ship"},
}


@pytest.fixture
def a_front_to_go():
    builders.a_finished_front("F1", hours=0.2)
    builders.a_finished_rear("B1", hours=0.2)
    builders.a_pot("P2", hours=5.9)
    builders.some_glue("G1", hours=5.5)
    release_units(["F1"], said=said(2))


@pytest.mark.parametrize(("scope", "after"), STOPS)
@pytest.mark.parametrize("act", ACTS)
def test_each_scope_stops_what_it_says_and_nothing_else(a_front_to_go, scope, after, act):
    hold("F1", scope, after)
    if act in STOPS[scope, after]:
        with refuses_or_flags("held") as both:
            both(ACTS[act])
    else:
        ACTS[act](told := said(6))
        assert flags_of(told.key) == []


def test_a_lot_that_is_held_is_not_used():
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    key = hold("R1")
    with refuses("held", "ask Review"):
        mix_pot("P1", mix="EPOXY", inputs=[of("R1", "100 g"), of("H1", "30 g")], said=said(6))
    lift_hold(key, words="tested again", said=said(7))
    mix_pot("P1", mix="EPOXY", inputs=[of("R1", "100 g"), of("H1", "30 g")], said=said(8))


def test_a_hold_does_not_run_down_the_tree():
    builders.a_front("F1")
    hold("P1")
    log_step("F1", step="vent", said=said(1))
    log_step("F1", step="trim", said=(told := said(1)))
    assert flags_of(told.key) == []


def test_a_use_before_a_hold_told_later_is_plainly_taken():
    builders.a_lot("R1")
    hold("R1", hours=2)
    split_lot("R1", [of("S1")], said=(told := said(1.9)))
    assert flags_of(told.key) == []
    with refuses("held"):
        split_lot("R1", [of("S2")], said=said(2))


def test_several_holds_bind_until_each_is_lifted():
    builders.a_lot("R1")
    one, other = hold("R1"), hold("R1")
    lift_hold(one, words="tested", said=said(1))
    with refuses("held"):
        split_lot("R1", [of("S1")], said=said(2))
    with refuses("unknown", "lifted already"):
        lift_hold(one, words="tested", said=said(2))
    lift_hold(other, words="tested", said=said(3))
    split_lot("R1", [of("S1")], said=said(4))
    assert holds_on([item_by_code("R1").pk]) == []


def test_a_hold_asks_for_what_why_and_after_what():
    builders.a_lot("R1")
    with refuses("unknown", "GHOST"):
        place_hold("GHOST", reason="dry-patch", said=said())
    with refuses("no-reason"):
        place_hold("R1", reason=" ", said=said())
    with refuses("unknown", "after which operation"):
        place_hold("R1", reason="dry-patch", scope=2, said=said())
    key = hold("R1")
    with refuses("no-reason"):
        lift_hold(key, words="  ", said=said(1))
    with refuses("unknown"):
        lift_hold(said().key, words="tested", said=said(1))


# What comes up when something done is told, and what is held for it.
CAUSES = {
    "held": (lambda: hold("F1"), lambda s: log_step("F1", step="trim", said=s), "F1"),
    "out-of-order": (lambda: None, lambda s: release_units(["F1"], said=s), None),
    "scrapped": (
        lambda: scrap("F1", words="cracked", said=said(1)), lambda s: log_step("F1", step="trim", said=s), "F1"
    ),
    "not-here": (
        lambda: send_out(["F1"], to="B", said=said(1, done=True)), lambda s: send_out(["F1"], to="B", said=s), "F1"
    ),
    "not-cleared": (
        lambda: reject_lot("R1", words="frozen", said=said(1)), lambda s: split_lot("R1", [of("S1")], said=s), "S1"
    ),
    "expired": (lambda: None, lambda s: split_lot("P1", [of("S1", "1 g")], said=s), "S1"),
    "already-used": (
        lambda: builders.a_front("F2", tube="T9"),
        lambda s: builders.mould("F3", part="OSIER-F", moulding=builders.Moulding(["T9"], [of("P5", "1 g")]), said=s),
        "F3",
    ),
}  # fmt: skip


@pytest.mark.parametrize("cause", CAUSES)
def test_what_was_done_against_a_rule_holds_by_the_default_settings(cause):
    ready, act, held = CAUSES[cause]
    open_anew(None)
    ready()
    before = set(Hold.objects.values_list("pk", flat=True))
    act(told := said(6, done=True))
    assert cause in flags_of(told.key)
    found = {(h.item.code, h.reason, h.scope) for h in Hold.objects.exclude(pk__in=before)}
    assert not held or (held, cause, specs.HOLDS_BY_DEFAULT[cause]) in found


@pytest.mark.parametrize(("holds", "held"), [(None, True), ({}, False)])
def test_a_lot_that_might_not_be_used_and_was_in_after_all_holds_what_holds_it_as_its_use_would(holds, held):
    open_anew(holds)
    builders.a_delivery("R9")
    reject_lot("R9", words="gels", said=said(-2))
    of_pot = Entry.objects.filter(kind="pot mixed").latest("pk").key
    correct_link(of_pot, Correction("R1", "R9"), words="the can beside it", said=(told := said(7)))
    assert flags_of(told.key) == ["right-one-barred"]
    found = [(h.item.code, h.reason) for h in Hold.objects.filter(entry__key=told.key)]
    assert found == ([("P5", "not-cleared")] if held else [])


def open_anew(holds):
    """A front to work on, under other settings: those of the opening are superseded by a proposal and its approval."""
    builders.agreed(specs.RulebookSpec() if holds is None else specs.RulebookSpec("", holds), hours=-90)
    builders.a_front("F1")
    builders.a_pot("P5", hours=5.9)


def test_a_value_outside_stops_the_unit_after_the_operation_it_has_come_to():
    open_anew(None)
    record_sheet("F1", [Line("bore", ["35"], "GA-1")], said=said(1))
    placed = Hold.objects.get()
    assert (placed.item.code, placed.reason, placed.scope) == ("F1", "measured-outside", 2)
    assert placed.operation.name == "mould"
    log_step("F1", step="vent", said=said(2))
    with refuses("held"):
        log_step("F1", step="trim", said=said(2))


def test_what_does_not_hold_by_default_is_flagged_only():
    open_anew(None)
    split_lot("R1", [of("S1", "90 kg")], said=(told := said()))
    assert flags_of(told.key) == ["over-drawn"]
    assert not Hold.objects.exists()


def test_the_works_may_set_what_holds():
    open_anew({"over-drawn": 1, "measured-outside": 0})
    record_sheet("F1", [Line("bore", ["35"], "GA-1")], said=said(1))
    assert not Hold.objects.exists()
    split_lot("R1", [of("S1", "90 kg")], said=said(2))
    assert builders.codes(Hold.objects.all()) == {"S1"}


def test_taking_out_is_never_stopped():
    builders.a_frame("X1", hours=1.5)
    hold("X1", hours=2)
    hold("F-X1", hours=2)
    take_out("X1", item="F-X1", words="cracked", station="STORE", said=(told := said(3)))
    assert flags_of(told.key) == []


@pytest.fixture
def three_held():
    for code in ("F1", "F2", "F3"):
        builders.a_front(code)
    placed = said()
    place_holds(["F1", "F2", "F3"], reason="recall", said=placed)
    return placed.key


def test_holds_of_one_entry_are_lifted_together_all_or_none(three_held):
    lift_hold(three_held, item="F3", words="not this batch", said=said(1))
    with refuses("unknown", "F3 is not held by this any more"):
        lift_holds(three_held, ["F1", "F3"], words="tested", said=said(2))
    again = said(3)
    for _ in range(2):
        assert len(lift_holds(three_held, ["F1", "f2"], words="tested", said=again)) == 2
    assert not holds_on([item_by_code(code).pk for code in ("F1", "F2", "F3")])


def test_holds_of_another_entry_stay_when_those_of_one_are_lifted(three_held):
    place_hold("F1", reason="surface", said=said(1))
    lift_holds(three_held, ["F1"], words="tested", said=said(2))
    assert [hold.reason for hold in holds_on([item_by_code("F1").pk])] == ["surface"]


def test_several_holds_want_a_reason_and_something_chosen(three_held):
    with refuses("no-reason", "auditor"):
        lift_holds(three_held, ["F1"], words=" ", said=said(1))
    with refuses("unknown", "at least one"):
        lift_holds(three_held, [], words="tested", said=said(1))


def test_holds_of_swapped_labels_are_not_lifted_together_either():
    for code in ("F1", "F2"):
        builders.a_front(code)
    swapped = said(1)
    swap_labels("F1", "F2", since=swapped.at, words="laid side by side", said=swapped)
    with refuses("second-person", "Two people"):
        lift_holds(swapped.key, ["F1", "F2"], words="tested", said=said(2))
