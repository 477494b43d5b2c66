"""The held screen: what to do by where the thing stands, which steps are keys, and what each scope stops."""

import json
import re
from datetime import timedelta

import pytest
from django.urls import reverse

from plant.catalogue.models import Operation
from plant.people.actions import add_person, name_deputy
from plant.people.models import Person
from records.floor.holding import Stands, stands_after
from records.floor.notices import telling
from records.floor.snapshot import snapshot_for
from records.items.actions import place_hold, scrap
from records.items.models import Hold
from records.release.actions import ship
from records.steps.actions import send_out
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def shown(code: str, station: str = "MOULD-1") -> str:
    return tablet().get(reverse("floor:unit_here", args=[station, code])).content.decode()


def place_in(page: str) -> str:
    return re.search(r"Where it is</dt><dd>([^<]*)<", page)[1]


def held(code: str, **told: object) -> str:
    place_hold(code, reason="doubt", said=builders.said(4), **told)
    return shown(code)


def step(n: int, name: str, tool: str = "", *, safe: bool = False) -> Operation:
    return Operation(pk=n, n=n, name=name, tool_kind=tool, makes_safe=safe)


def test_where_a_unit_stands_follows_from_its_route():
    route = [
        step(1, "close", "mould"),
        step(2, "leak test"),
        step(3, "fill"),
        step(4, "end cure", safe=True),
        step(5, "demould", safe=True),
        step(6, "drill", "cutter"),
    ]
    after = stands_after(route, {3})
    closed, hot = Stands.CLOSED_MOULD, Stands.HOT_MOULD
    assert list(after.values()) == [closed, closed, hot, hot, Stands.BENCH, Stands.BENCH]
    assert stands_after(route, ())["close"] == hot
    assert list(stands_after([step(1, "bond", "jig"), step(2, "polish")], ()).values()) == [Stands.JIG, Stands.BENCH]


def test_in_the_hot_mould_the_cure_is_finished_and_the_safe_steps_are_keys():
    builders.a_front("F1")
    page = held("F1")
    assert "Finish the cure. Then put it on the red shelf." in page
    assert place_in(page) == "MOULD-1, in its mould, filled"
    assert 'role="alertdialog"' in page
    assert "operation=vent" in page
    assert "operation=drill" not in page


def test_on_the_bench_no_step_is_a_key():
    builders.a_finished_front("F1")
    page = held("F1")
    assert "Do not work on it. Put it on the red shelf." in page
    assert place_in(page) == "MOULD-1"
    assert "operation=" not in page


def test_in_the_jig_it_stays_until_the_glue_has_set():
    builders.a_frame("X1")
    page = held("X1")
    assert "Leave it in the jig until the glue has set. Then the red shelf." in page
    assert place_in(page) == "BOND-1, in its jig"
    assert place_in(held("F-X1")) == "Built into X1"


def test_what_was_scrapped_is_told_as_such():
    builders.a_finished_front("F1")
    scrap("F1", words="cracked", said=builders.said(4))
    for page in (shown("F1"), held("F1")):
        assert "It is scrapped. Put it where scrap is kept, out of the way of work." in page
        assert "Measure it" not in page
    assert place_in(page) == "Scrapped"


def test_at_the_painter_nobody_touches_it():
    builders.a_finished_front("F1")
    send_out(["F1"], to="Painter", said=builders.said(3))
    page = held("F1")
    assert "Not ours to touch. Stores is told to call them." in page
    assert place_in(page) == "Painter, outside the works"
    told = tablet("stores").get("/floor/calls/waiting/").json()["calls"]
    words = "F1 is held and is at Painter. Call them: nothing more may be done to it. Why: a doubt about the record."
    assert [(row["kind"], row["words"]) for row in told] == [("hold", words)]
    assert "stores of the works has not seen it yet" not in shown("F1")
    seen("stores", told)
    assert "stores of the works saw it 13:00" in shown("F1")


def test_what_has_left_the_works_is_told_to_review_and_to_the_manager():
    builders.a_finished_front("F1")
    ship(["F1"], to="A dealer", said=builders.said(3, done=True))
    page = held("F1")
    assert "It has left the works. Review is told and decides who calls there." in page
    assert place_in(page) == "A dealer, gone from the works"
    words = "F1 is held and has left the works, to A dealer. Decide who calls there. Why: a doubt about the record."
    for role in ("review", "manager"):
        assert [row["words"] for row in waiting(role)] == [words]
    assert waiting("stores") == []


def test_whoever_may_lift_a_hold_is_told_of_it_and_the_held_screen_says_who_has_seen_it():
    builders.a_front("F1")
    assert "nobody has seen it yet, tell them by voice." in held("F1")
    assert [row["words"] for row in waiting("review")] == ["F1 is held: a doubt about the record."]
    assert (waiting("stores"), waiting("manager"), waiting("operator")) == ([], [], [])
    seen("review", waiting("review"))
    assert "review of the works saw it 13:00" in shown("F1")
    assert waiting("review") == []


def test_the_deputy_is_told_only_where_the_decider_has_not_seen_it(settings, clock_at):
    deputy = add_person("PB-9", name="Deputy", roles=["review"], said=builders.said(0, by="manager"))
    told = {"holder": Person.objects.get(badge="review"), "deputy": deputy, "from_on": builders.moment(0).date()}
    name_deputy("hold lifted", **told, said=builders.said(0, by="manager"))
    builders.a_front("F1")
    hold = place_hold("F1", reason="doubt", said=builders.said(5, by="operator"))
    assert (len(waiting("review")), waiting("PB-9"), waiting("second")) == (1, [], [])
    after = builders.moment(5) + timedelta(minutes=settings.HOLD_PASSES_ON_MIN)
    names = [row.person.name for row in telling([hold], after).told(hold, "here")]
    assert names == ["review of the works", "Deputy"]
    seen("review", waiting("review"))
    assert [row.person.name for row in telling([hold], after).told(hold, "here")] == ["review of the works"]


def waiting(badge):
    return tablet(badge).get("/floor/calls/waiting/").json()["calls"]


def seen(badge, rows):
    sent = json.dumps({"keys": [row["key"] for row in rows]})
    assert tablet(badge).post("/floor/calls/seen/", sent, content_type="application/json").status_code == 200


def test_no_more_is_taken_from_a_held_lot_and_none_filled_from_a_held_pot():
    builders.a_lot("R1")
    builders.a_pot("P1")
    page = held("R1")
    assert "Take no more from it. Put the red tag on." in page
    assert place_in(page) == "no place on file: look for it"
    assert "Do not fill from it. Marked place: it gets hot." in held("P1")


def test_a_hold_of_shipping_alone_stops_no_step_and_is_told():
    builders.a_front("F1")
    page = held("F1", scope=Hold.Scope.SHIP)
    assert "alertdialog" not in page
    assert "No shipping. Why: a doubt about the record." in page


def test_a_hold_after_an_operation_lets_that_one_end():
    builders.a_front("F1")
    page = held("F1", scope=Hold.Scope.AFTER, operation=Operation.objects.filter(name="vent").latest("pk"))
    assert "Nothing after vent, no shipping" in page
    assert "alertdialog" not in page
    builders.a_step("F1", "vent", hours=4.2)
    assert "alertdialog" in shown("F1")


def test_a_tablet_takes_along_where_things_stand_and_what_holds_lots():
    builders.a_front("F1")
    place_hold("R1", reason="material", said=builders.said(4))
    told = snapshot_for(builders.said(4).by, "")
    unit = next(one for one in told["units"] if one["code"] == "F1")
    stands = {one["operation"]: one["stands"] for one in told["routes"][str(unit["route"])]}
    assert stands[unit["done"][0]] == "hot-mould"
    assert [hold["reason"] for hold in told["lots_held"]["R1"]] == ["material or its certificate"]
