"""The gate before a frame leaves: steps, runs, measures, holds, lots at risk, a named person; and labels."""

import pytest
from django.urls import reverse

from plant.people.actions import give_qualification
from plant.quantities import read_quantity
from records.inspection.actions import Line, Right, correct_measurement, record_sheet, withdraw_measurement
from records.items.actions import accept_lot, place_hold, reject_lot, release_at_risk, scrap
from records.items.models import Consignment, Evidence, Hold
from records.items.queries import item_by_code
from records.ledger.acts import act, flags_of
from records.ledger.clock import clock
from records.ledger.verifying import verify
from records.quality.actions import countersign_departure, decide_departure, note_departure, swap_labels
from records.release.actions import print_label, release_units, ship, standing_release
from records.release.gate import gate_of
from records.release.models import LabelPrint, Release, ReleaseLine
from records.steps.actions import send_out
from tests import builders, shelf
from tests.builders import moment, said
from tests.records.floor.told import tablet
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})


def a_sedge(code="X1"):
    """A frame whose route asks for a cure judged and a length measured, with all its steps done."""
    builders.a_frame(code, part="SEDGE")
    builders.a_step(code, "finish", hours=3)


@pytest.fixture
@shelf.kept
def sedge(works):
    day = moment(0).date()
    give_qualification(builders.a_person(), what="finish", from_on=day, said=said(-1))
    a_sedge()


def judge_run(verdict="within", code="X1", hours=4.0):
    """The verdict on a run, as the room of runs tells it to the gates."""
    with act("run assessed", said(hours), unit=code, verdict=verdict) as a:
        a.write(Evidence(item=item_by_code(code), what="run", name="cure", verdict=verdict, at=a.at))


def measure(mm="401", code="X1", hours=4.0):
    record_sheet(code, [Line("length", [mm] if mm else [], "GA-1")], said=(told := said(hours)))
    return told.key


def allow(defect="dimension", *, by="second"):
    departure = note_departure("X1", defect=defect, words="a little long", said=said(4.5)).code
    decide_departure(departure, choice="as-is", words="fits the jig", said=said(4.6))
    if by:
        countersign_departure(departure, said=said(4.7, by=by))


def open_lines(code="X1"):
    return {(line.what, line.name, line.verdict) for line in gate_of(item_by_code(code)) if line.is_open}


def release(code="X1", hours=5.0):
    return release_units([code], said=said(hours))


def test_with_everything_on_file_a_named_person_lets_it_go(sedge):
    judge_run()
    measure("402")
    assert open_lines() == set()
    done = release()[0]
    assert (done.entry.by.badge, standing_release(item_by_code("X1"))) == ("everybody", done)
    assert set(ReleaseLine.objects.values_list("what", "name", "verdict")) == {
        ("step", "bond", "within"), ("step", "finish", "within"),
        ("run", "cure", "within"), ("measure", "length", "within"),
    }  # fmt: skip


GATES = {
    "run missing": (lambda: measure(), {("run", "cure", "missing")}),
    "run not shown": (lambda: (measure(), judge_run("not-shown")), {("run", "cure", "missing")}),
    "run outside": (lambda: (measure(), judge_run("outside")), {("run", "cure", "outside")}),
    "measure missing": (lambda: judge_run(), {("measure", "length", "missing")}),
    "measure not read": (lambda: (judge_run(), measure("")), {("measure", "length", "missing")}),
    "measure outside": (lambda: (judge_run(), measure("402.001")), {("measure", "length", "outside")}),
    "allowed by one only": (
        lambda: (judge_run(), measure("402.001"), allow(by="")), {("measure", "length", "outside")}
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", GATES)
def test_what_is_missing_or_outside_keeps_the_gate_shut_unless_it_is_gone_already(sedge, case):
    ready, due = GATES[case]
    ready()
    assert open_lines() == due
    with refuses_or_flags("gate-open") as both:
        both(lambda s: release_units(["X1"], said=s))


OUTSIDE = {
    "dimension": lambda: (judge_run(), measure("402.001")),
    "cure": lambda: (judge_run("outside"), measure()),
}


@pytest.mark.parametrize("defect", OUTSIDE)
def test_a_departure_allowed_by_two_opens_the_gate(sedge, defect):
    OUTSIDE[defect]()
    allow(defect)
    assert open_lines() == set()
    release()


@pytest.mark.parametrize("outside", OUTSIDE)
def test_a_departure_of_another_kind_opens_nothing(sedge, outside):
    OUTSIDE[outside]()
    for defect in {"surface", "void", *OUTSIDE} - {outside}:
        allow(defect)
    with refuses("gate-open"):
        release()


def test_the_latest_measure_as_it_stands_now_counts(sedge):
    judge_run()
    good, bad = measure("401", hours=4), measure("403", hours=4.2)
    assert open_lines() == {("measure", "length", "outside")}
    withdraw_measurement(bad, words="other frame", said=said(4.3))
    assert open_lines() == set()
    correct_measurement(good, Right("403"), words="misread", said=said(4.4))
    assert open_lines() == {("measure", "length", "outside")}


def test_a_measure_that_went_over_with_a_swapped_label_is_not_left_behind(sedge):
    a_sedge("X2")
    judge_run()
    measure("401", hours=4)
    swap_labels("X1", "X2", since=moment(3.9), words="both off", said=said(5))
    assert ("measure", "length", "missing") in open_lines("X1")
    assert ("measure", "length", "missing") not in open_lines("X2")


def test_a_lot_at_risk_anywhere_in_it_keeps_the_gate_shut_till_it_is_accepted(works):
    builders.a_delivery("R1", quantity="1 kg")
    limits = {"limit": read_quantity("1 kg"), "until": moment(90)}
    release_at_risk("R1", words="certificate late", **limits, said=said(-40))
    builders.a_finished_frame("X1")
    assert open_lines() == {("lot", "R1", "at-risk")}
    with refuses("gate-open", "R1 is released at risk and not accepted."):
        release()
    accept_lot("R1", said=said(4))
    release()


def test_a_lot_at_risk_that_is_rejected_keeps_the_gate_shut_as_one_that_was_accepted_and_is_rejected_does(works):
    builders.a_delivery("R1", quantity="1 kg")
    limits = {"limit": read_quantity("1 kg"), "until": moment(90)}
    release_at_risk("R1", words="certificate late", **limits, said=said(-40))
    builders.a_finished_frame("X1")
    reject_lot("R1", words="gel time outside", said=said(4))
    assert open_lines() == {("lot", "R1", "reject")}
    with refuses("gate-open", "R1 is rejected."):
        release()
    page = tablet().get(reverse("trace:unit", args=["X1"])).content.decode()
    assert "It can’t be released so: hold it, and let Review decide." in page
    lot = tablet().get(reverse("items:lot", args=["R1"])).content.decode()
    assert "No unit that holds it can be released." in lot
    assert reverse("trace:hold_all", args=["R1"]) in lot
    assert reverse("items:lot_split", args=["R1"]) not in lot
    assert reverse("items:lot_decide", args=["R1"]) in lot
    accept_lot("R1", words="tested again", said=said(5))
    assert open_lines() == set()
    reject_lot("R1", words="recalled by its maker", said=said(6))
    with refuses("gate-open", "R1"):
        release()


def test_steps_holds_and_whereabouts_are_asked(works):
    builders.a_frame("X1")
    builders.a_step("X1", "finish", hours=3)
    with refuses("out-of-order", "paint"):
        release()
    builders.a_step("X1", "paint", hours=4)
    place_hold("X1", reason="surface", scope=3, said=said(4.5))
    with refuses("held", "X1"):
        release()
    assert open_lines() == {("hold", "surface", "held")}


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        (lambda: send_out(["X1"], to="Beck Painters", said=said(4.5)), "not-here"),
        (lambda: scrap("X1", words="cracked", said=said(4.5)), "scrapped"),
    ],
)
def test_what_is_gone_is_neither_released_nor_shipped(works, spoil, code):
    builders.a_finished_frame("X1")
    spoil()
    for leave in (lambda s: release_units(["X1"], said=s), lambda s: ship(["X1"], to="Lienz", said=s)):
        with refuses_or_flags(code) as both:
            both(leave)


def test_a_release_is_asked_for_and_serves_one_shipment(works):
    builders.a_finished_frame("X1")
    with refuses("not-released", "X1"):
        ship(["X1"], to="Lienz Cycles", said=said(5))
    release()
    ship(["X1"], to="Lienz Cycles", said=(told := said(6)))
    assert flags_of(told.key) == []
    assert item_by_code("X1").state.where == "shipped"
    assert standing_release(item_by_code("X1")) is None
    assert verify().faults == ()


def test_what_was_shipped_without_a_release_is_taken_and_flagged(works):
    builders.a_finished_frame("X1")
    ship(["X1"], to="Lienz Cycles", said=(told := said(6, done=True)))
    assert flags_of(told.key) == ["not-released"]


def test_all_go_or_none(works):
    builders.a_finished_frame("X1")
    builders.a_finished_frame("X2")
    place_hold("X2", reason="surface", said=said(4.5))
    with refuses("held", "X2"):
        release_units(["X1", "X2"], said=said(5))
    release("X1")
    with refuses("held", "X2"):
        ship(["X1", "X2"], to="Lienz Cycles", said=said(6))
    assert (Release.objects.count(), Consignment.objects.count()) == (1, 0)


@pytest.mark.parametrize(
    ("units", "to", "code"),
    [
        ([], "Lienz", "unknown"),
        (["GHOST"], "Lienz", "unknown"),
        (["X1"], " ", "unknown"),
        (["R1"], "Lienz", "wrong-kind"),
    ],
)
def test_a_shipment_that_can_not_be_is_refused(works, units, to, code):
    builders.a_finished_frame("X1")
    release()
    with refuses(code):
        ship(units, to=to, said=said(6))


def test_copies_of_a_label_are_numbered_and_a_reprint_says_why(works):
    builders.a_front("F1")
    assert print_label("f1", said=said(1)).copy == 1
    with refuses("no-reason", "printed again"):
        print_label("F1", reason=" ", said=said(2))
    again = print_label("F1", reason="torn", said=said(2))
    assert (again.copy, again.reason, LabelPrint.objects.count()) == (2, "torn", 2)
    with refuses("unknown", "GHOST"):
        print_label("GHOST", said=said(1))


def test_what_holds_a_lot_at_risk_carries_a_watch_tag_and_one_press_holds_it_all(works):
    builders.a_delivery("R1", quantity="1 kg")
    limits = {"limit": read_quantity("900 g"), "until": moment(90)}
    release_at_risk("R1", words="certificate late", **limits, said=said(-40))
    builders.a_finished_frame("X1")

    def page() -> str:
        return tablet().get(reverse("trace:unit", args=["X1"])).content.decode()

    assert "It holds what was released at risk: put the watch tag on." in page()
    lot = tablet().get(reverse("items:lot", args=["R1"])).content.decode()
    address = reverse("trace:hold_all", args=["R1"])
    assert address in lot
    form = tablet().get(address).context["form"]
    told = {name: str(form.initial[name]) for name in ("key", "drawn_at")}
    codes = [value for value, _ in form.fields["codes"].choices]
    with clock.at(moment(5)):
        tablet().post(address, told | {"codes": codes, "reason": "material", "words": "no certificate came"})
    assert {hold.item.code for hold in Hold.objects.all()} >= {"R1", "P1", "X1"}
    accept_lot("R1", said=said(6))
    assert "put the watch tag on" not in page()
