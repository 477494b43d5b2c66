"""The held screen: what to do by where the thing stands, which steps are keys, and what each scope stops."""

import pytest
from django.urls import reverse

from plant.catalogue.models import Operation
from records.floor.holding import Stands, stands_after
from records.floor.snapshot import snapshot_for
from records.items.actions import place_hold
from records.items.models import Hold
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
    assert 'role="alertdialog"' in page
    assert "operation=vent" in page
    assert "operation=drill" not in page


def test_on_the_bench_no_step_is_a_key():
    builders.a_finished_front("F1")
    page = held("F1")
    assert "Do not work on it. Put it on the red shelf." in page
    assert "operation=" not in page


def test_in_the_jig_it_stays_until_the_glue_has_set():
    builders.a_frame("X1")
    assert "Leave it in the jig until the glue has set. Then the red shelf." in held("X1")


def test_at_the_painter_nobody_touches_it():
    builders.a_finished_front("F1")
    send_out(["F1"], to="Painter", said=builders.said(3))
    assert "Not ours to touch. Ask Stores to call them." in held("F1")


def test_no_more_is_taken_from_a_held_lot_and_none_filled_from_a_held_pot():
    builders.a_lot("R1")
    builders.a_pot("P1")
    assert "Take no more from it. Put the red tag on." in held("R1")
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
