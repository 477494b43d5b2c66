"""A mould on the floor: closed by scans and one press, checked before any resin, filled by two scans and one press."""

import json

import pytest
from django.urls import reverse

from plant.catalogue import specs
from plant.equipment.actions import add_equipment
from records.items.models import Hold, Link
from records.items.queries import item_by_code
from records.steps.models import StepRecord, StepTool
from tests import builders
from tests.records.floor.test_views import asked, log, screen, text
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db
FILL = {"unit": "F1", "operation": "fill"}


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_pot("P1", hours=0.2)
    builders.a_mould_to_fill("F1")
    clock_at(builders.moment(0.5))


def scan(code: str, station: str = "MOULD-1"):
    return tablet().get(reverse("floor:station", args=[station]), {"code": code}, follow=True)


def test_a_mould_is_closed_over_whatever_is_scanned_and_one_press_logs_it():
    builders.a_tube("T8")
    builders.a_tube("T9")
    builders.the_lot("NS1", "INS-BB", "10 pcs")
    add_equipment("tool", "BL-1", kind="bladder", said=builders.said(0.1))
    told = {"part": "OSIER-F", "tool": "ML-2", "in-1": "T8", "in-2": "BL-1", "in-3": "NS1"}
    amount = screen(tablet(), "MOULD-1", "make", **told)
    assert asked(amount) == "How much of NS1?"
    told |= {"in-3-amount": "2", "in-4": "t9"}
    page = screen(tablet(), "MOULD-1", "make", **told)
    assert asked(page) == "Scan the next one, or close the mould"
    assert "The mould is closed" in text(page)
    payload = json.loads(page.context["entry"])["payload"]
    assert (payload["preforms"], payload["bladders"]) == (["T8", "T9"], ["BL-1"])
    log(tablet(), "MOULD-1", "make", **told, **{"in-5": ""})
    front = Link.objects.get(parent=item_by_code("T9")).child
    assert Link.objects.get(child=front, parent=item_by_code("NS1")).amount == 2
    assert {use.tool.code for use in StepTool.objects.filter(step__unit=front)} == {"ML-2", "BL-1"}
    assert not Link.objects.filter(child=front, parent=item_by_code("P1")).exists()


def test_an_insert_needs_no_digits_where_the_route_says_how_many():
    inputs = [specs.InputSpec("insert", "INS-BB", "1 pcs")]
    first = specs.OperationSpec("mould", tool_kind="mould", inputs=inputs)
    builders.agreed(specs.RouteSpec("OSIER-F", [first, *builders.CLOSED_MOULD[1:]]), hours=-60)
    builders.the_lot("NS1", "INS-BB", "10 pcs")
    page = screen(tablet(), "MOULD-1", "make", part="OSIER-F", tool="ML-2", **{"in-1": "NS1"})
    assert json.loads(page.context["entry"])["payload"]["inserts"] == [{"lot": "NS1", "amount": "1 pcs", "part": ""}]


def test_the_same_preform_twice_is_told_at_the_scan():
    builders.a_tube("T8")
    page = screen(tablet(), "MOULD-1", "make", part="OSIER-F", tool="ML-2", **{"in-1": "T8", "in-2": "t8"})
    assert "T8 is in the list already. Scan the other one." in text(page)


def test_a_scan_of_the_unit_or_its_mould_leads_to_the_pot_at_once():
    builders.a_leak_test(hours=0.3)
    for code in ("F1", "ML-1"):
        page = scan(code)
        assert asked(page) == "Scan the pot"
    page = screen(tablet(), "MOULD-1", "step", **FILL, **{"pot-1": "P1"})
    assert "Filling. Press once when the mould is full." in text(page)
    assert "The mould is full" in text(page)
    log(tablet(), "MOULD-1", "step", **FILL, **{"pot-1": "P1"})
    assert Link.objects.get(child=item_by_code("F1"), parent=item_by_code("P1")).amount == 15_000_000


def test_without_a_leak_test_a_scan_leads_to_it_and_no_pot_is_asked_for():
    page = text(scan("F1"))
    assert "Next: leak-test" in page
    assert "Scan the pot" not in page


def test_before_the_pot_is_scanned_a_test_that_lapsed_comes_first(clock_at):
    builders.a_leak_test(hours=0.3)
    clock_at(builders.moment(1.1))
    builders.a_pot("P2", hours=1)
    page = text(scan("F1"))
    assert "The leak-test was good until 09:03. Test again before you weigh a pot." in page
    stopped = screen(tablet(), "MOULD-1", "step", **FILL)
    assert asked(stopped) == "Do not fill F1 yet"
    again = screen(tablet(), "MOULD-1", "step", **FILL, **{"check-2-stop": "again"})
    assert "operation=leak-test" in again.url
    log(tablet(), "MOULD-1", "step", **FILL, **{"check-2-stop": "done", "pot-1": "P2"})
    assert [hold.reason for hold in Hold.objects.filter(item=item_by_code("F1"))] == ["leak-test-lapsed"]


def test_a_pot_that_has_ended_is_told_at_the_scan_and_where_it_goes(clock_at):
    builders.a_leak_test(hours=0.9)
    clock_at(builders.moment(1.05))
    page = text(screen(tablet(), "MOULD-1", "step", **FILL, **{"pot-1": "P1"}))
    assert "This pot ended 6 min ago. Do not use it, do not cover it" in page


def test_of_a_pot_that_ended_long_ago_hours_are_told(clock_at):
    builders.a_leak_test(hours=0.9)
    clock_at(builders.moment(30.5))
    page = text(screen(tablet(), "MOULD-1", "step", **FILL, **{"pot-1": "P1", "check-2-stop": "done"}))
    assert "This pot ended 29 h ago. Do not use it: it goes with the set resin." in page


@pytest.mark.parametrize(
    ("told", "shots", "outcome"),
    [
        ({"wrong": "amount", "pot-1-amount": "12"}, [{"lot": "P1", "amount": "12 g", "part": ""}], ""),
        ({"wrong": "stopped"}, [{"lot": "P1", "amount": "", "part": ""}], "interrupted"),
        (
            {"wrong": "more", "pot-2": "P2", "pot-2-amount": "3"},
            [{"lot": "P1", "amount": "", "part": ""}, {"lot": "P2", "amount": "3 g", "part": ""}],
            "",
        ),
    ],
)
def test_what_did_not_go_as_usual_is_told_behind_one_key(told, shots, outcome):
    builders.a_leak_test(hours=0.3)
    builders.a_pot("P2", hours=0.3)
    plain = screen(tablet(), "MOULD-1", "step", **FILL, **{"pot-1": "P1"})
    assert plain.context["own"][1] == "Something is wrong"
    page = screen(tablet(), "MOULD-1", "step", **FILL, **{"pot-1": "P1", "wrong-own": "yes"}, **told)
    payload = json.loads(page.context["entry"])["payload"]
    assert (payload["shots"], payload.get("outcome", "")) == (shots, outcome)


def test_a_pot_that_nobody_can_scan_is_told_as_done_and_held():
    builders.a_leak_test(hours=0.3)
    page = screen(tablet(), "MOULD-1", "step", **FILL, **{"pot-1": ""})
    assert asked(page) == "Nobody knows which pot it is"
    log(tablet(), "MOULD-1", "step", **FILL, **{"pot-1": "", "pot-stop": "done"})
    assert Link.objects.get(child=item_by_code("F1"), parent=item_by_code("P1")).share_ppb == 10**9
    assert [hold.reason for hold in Hold.objects.filter(item=item_by_code("F1"))] == ["no-pot"]


def test_another_mould_than_the_unit_stood_in_is_asked_about_and_the_first_one_stands_for_it_no_more():
    add_equipment("tool", "ML-9", kind="mould", said=builders.said(0.1))
    again = {"unit": "F1", "operation": "mould", "tools-1": "ML-9"}
    page = screen(tablet(), "MOULD-1", "step", **again)
    assert asked(page) == "F1 stands in ML-1"
    assert "You scanned ML-9. Which one is in front of you?" in text(page)
    assert "tools-1" not in screen(tablet(), "MOULD-1", "step", **again, **{"mould-stop": "again"}).url
    log(tablet(), "MOULD-1", "step", **again, **{"mould-stop": "moved", "tools-2": ""})
    assert "/unit/F1/" in scan("ML-9").redirect_chain[-1][0]
    assert "Nothing is in mould ML-1 by the records. Scan the unit." in text(scan("ML-1"))


def test_a_mould_that_was_opened_is_closed_again_with_its_bladders():
    add_equipment("tool", "BL-1", kind="bladder", said=builders.said(0.1))
    builders.a_leak_test(hours=0.3)
    assert "It is closed again; its tests count no more." in text(
        tablet().get(reverse("floor:unit_here", args=["MOULD-1", "F1"]))
    )
    told = {"unit": "F1", "operation": "mould", "tools-1": "ML-1", "tools-2": "BL-1", "tools-3": ""}
    log(tablet(), "MOULD-1", "step", **told)
    again = StepRecord.objects.get(unit=item_by_code("F1"), operation__name="mould", attempt=2)
    assert {use.tool.code for use in again.tools.all()} == {"ML-1", "BL-1"}
    assert "No leak-test since this mould was closed. That comes first." in text(scan("F1"))


def test_a_tablet_tells_a_fill_by_the_mould_and_leaves_the_amount_to_the_route():
    builders.a_leak_test(hours=0.3)
    (answer,) = send(
        tablet(), entry("step", hours=0.5, unit="ML-1", operation="fill", shots=[{"lot": "P1"}], station="MOULD-1")
    )
    assert answer["outcome"] == "taken"
    assert Link.objects.get(child=item_by_code("F1"), parent=item_by_code("P1")).amount == 15_000_000
