"""Units come into being: what goes in, the first operation, tools, what failed."""

from datetime import timedelta

import pytest

from plant.catalogue import specs
from plant.people.actions import give_qualification
from records.items.models import Item
from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from records.ledger.verifying import verify
from records.steps.actions import Bonding, Made, Moulding, bond, mould, wind
from records.steps.models import StepRecord, ToolCycles
from records.trace.queries import made_from
from tests import builders
from tests.builders import moment, of, said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})


def direct(code):
    return {one.code for one in made_from(code).listed if len(one.way) == 2}


def test_a_tube_is_wound_from_two_spools_and_waits_for_nothing_more():
    builders.a_spool("SP1")
    builders.a_spool("SP2")
    tube = builders.a_tube("T1", spools=["SP1", "SP2"])
    record = StepRecord.objects.get()
    assert direct("T1") == {"SP1", "SP2"}
    assert (record.operation.name, record.attempt, record.place.code) == ("wind", 1, "WIND-1")
    assert (tube.waiting.operation, tube.state.place.code) == (None, "WIND-1")
    assert ToolCycles.objects.get().cycles == 1


def test_a_front_is_moulded_from_tubes_and_pots_and_waits_for_its_next_step():
    for tube in ("T1", "T2"):
        builders.a_tube(tube)
    for pot in ("P1", "P2"):
        builders.a_pot(pot)
    builders.a_lot("N1", "INS-BB", "10 pcs")
    moulding = Moulding(["T1", "T2"], [of("P1", "15 g"), of("P2", "15 g")], [of("N1", "1 pcs")])
    front = mould("F1", part="OSIER-F", moulding=moulding, made=Made(["ML-1"]), said=said(0.2))
    assert direct("F1") == {"T1", "T2", "P1", "P2", "N1"}
    assert front.waiting.operation.name == "vent"
    assert {item_by_code(t).state.inside.code for t in ("T1", "T2")} == {"F1"}


def test_a_frame_needs_the_whole_route_of_both_halves():
    builders.a_front("F1")
    builders.a_finished_rear("B1")
    builders.some_glue("G1", hours=5.5)
    bonding = Bonding("F1", "B1", [of("G1", "5 g")])
    with refuses_or_flags("out-of-order") as both:
        both(lambda s: bond("X1", part="OSIER", bonding=bonding, said=s))
    assert direct("X1") == {"F1", "B1", "G1"}


def test_inputs_of_an_attempt_that_failed_stay_in_the_part():
    builders.a_front("F1", made=Made(["ML-1"], "MOULD-1", outcome=StepRecord.Outcome.FAILED))
    assert direct("F1") == {"T-F1", "P1"}
    assert item_by_code("F1").waiting.operation.name == "mould"
    builders.a_step("F1", "mould", hours=0.5)
    record = StepRecord.objects.latest("pk")
    assert (record.attempt, item_by_code("F1").waiting.operation.name) == (2, "vent")
    assert verify().faults == ()


def test_the_house_makes_the_serial_when_none_is_told():
    builders.a_spool()
    tube = wind("", part="TUBE", spools=[of("SP1")], said=said())
    assert tube.code == "PF-26-000001-5"


FITTING = {"unit": "X9", "part": "OSIER", "front": "F1", "rear": "B1", "glue": "G1", "tools": ["JG-1"]}


@pytest.mark.parametrize(
    ("told", "code", "words"),
    [
        ({"unit": "F1"}, "code-taken", "F1"),
        ({"unit": "X" * 41}, "too-long", "40"),
        ({"part": "GHOST"}, "unknown", "GHOST"),
        ({"part": "OSIER-F"}, "wrong-kind", "frame"),
        ({"front": "GHOST"}, "unknown", "GHOST"),
        ({"front": "B1"}, "wrong-kind", "B1"),
        ({"rear": "F1"}, "wrong-kind", "F1"),
        ({"glue": "P1"}, "wrong-kind", "P1"),
        ({"glue": "GHOST"}, "unknown", "GHOST"),
        ({"tools": ["ML-1"]}, "wrong-kind", "bond needs a jig"),
        ({"tools": ["JG-9"]}, "unknown", "JG-9"),
        ({"station": "ATTIC"}, "unknown", "ATTIC"),
        ({"amount": "5 pcs"}, "wrong-kind", "ADH-M"),
        ({"amount": "-5 g"}, "not-a-number", "below nought"),
    ],
)
def test_what_does_not_make_a_frame_is_refused(told, code, words):
    builders.a_finished_front("F1")
    builders.a_finished_rear("B1")
    builders.some_glue("G1", hours=1.9)
    stated = FITTING | told
    bonding = Bonding(stated["front"], stated["rear"], [of(stated["glue"], stated.get("amount", "5 g"))])
    made = Made(stated["tools"], stated.get("station", "BOND-1"))
    with refuses(code, words):
        bond(stated["unit"], part=stated["part"], bonding=bonding, made=made, said=said(2))


def test_a_tube_goes_into_one_part_only():
    builders.a_front("F1", tube="T1")
    builders.a_pot("P9", hours=5.9)
    moulding = Moulding(["T1"], [of("P9", "15 g")])
    with refuses_or_flags("already-used") as both:
        both(lambda s: mould("F2", part="OSIER-F", moulding=moulding, said=s))
    with refuses("already-used", "scanned twice"):
        mould("F3", part="OSIER-F", moulding=Moulding(["T1", "t1"], []), said=said(6, done=True))


def test_a_look_alike_is_offered_for_a_code_that_is_not_there():
    builders.a_spool("SP-1O1")
    with refuses("unknown", "Did you mean SP-1O1?"):
        wind("T1", part="TUBE", spools=[of("SP-101")], said=said())


def test_a_part_without_a_route_is_not_made_yet():
    builders.a_part("NEW-TUBE", "preform")
    with refuses("unknown", "no route yet"):
        wind("T1", part="NEW-TUBE", spools=[], said=said())


def test_an_operation_that_asks_for_it_is_done_by_who_is_on_the_list():
    route = builders.a_route("TUBE", ["wind"], needs_qualification=True)
    assert route.in_force_from < moment(0)
    builders.a_spool()
    with refuses_or_flags("not-qualified") as both:
        both(lambda s: wind("T1", part="TUBE", spools=[of("SP1")], said=s))
    day = moment(0).date()
    give_qualification(builders.a_person(), what="wind", from_on=day, until_on=day, said=said())
    wind("T2", part="TUBE", spools=[of("SP1")], said=(told := said(7)))
    assert flags_of(told.key) == []
    with refuses("not-qualified"):
        wind("T3", part="TUBE", spools=[of("SP1")], said=said(24))
    assert Item.objects.filter(born_at__gte=moment(0) + timedelta(hours=6)).count() == 2


def test_a_triangle_is_joined_only_while_its_surfaces_are_fresh():
    last = specs.OperationSpec("prepare", good_for_min=60)
    for part, first in (("OSIER-F", "mould"), ("OSIER-R", "mould")):
        builders.agreed(specs.RouteSpec(part, [specs.OperationSpec(first), last]))
    for unit in (builders.a_front("F1"), builders.a_rear("B1")):
        builders.a_step(unit.code, "prepare", hours=1)
    builders.some_glue("G1", hours=2.4)
    with refuses("not-prepared"):
        builders.a_frame("X1", front="F1", rear="B1", hours=2.5)
    builders.a_step("F1", "prepare", hours=2.2)
    builders.a_step("B1", "prepare", hours=2.2)
    assert builders.a_frame("X1", front="F1", rear="B1", hours=2.5).code == "X1"
