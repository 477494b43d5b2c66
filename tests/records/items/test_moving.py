"""Out to the painter and back, to a customer and back: all of them or none, and where things are by their own time."""

import pytest

from records.items.actions import bring_back, move_item, place_hold, return_frame, scrap
from records.items.models import Consignment
from records.items.queries import item_by_code, whereabouts
from records.ledger.acts import flags_of
from records.ledger.models import EntryBody
from records.ledger.verifying import verify
from records.release.actions import release_units, ship
from records.steps.actions import send_out
from tests import builders
from tests.builders import moment, said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})


@pytest.fixture
def two_fronts(works):
    builders.a_vented_front("F1")
    builders.a_vented_front("F2")


def where(code, until=None):
    item = item_by_code(code)
    if until is not None:
        return whereabouts([item.pk], until=moment(until))[item.pk].state
    return item.state.where, str(item.state.place) if item.state.place else None


def test_units_go_out_and_come_back_together(two_fronts):
    out = send_out(["F1", "F2", "f1 "], to="Beck Painters", said=said(1))
    assert (out.lines.count(), where("F1"), where("F2")) == (2, ("out", "Beck Painters"), ("out", "Beck Painters"))
    back = bring_back(["F1"], station="STORE", said=said(5))
    assert (back.back_of, where("F1"), where("F2")[0]) == (out, ("here", "STORE"), "out")
    assert verify().faults == ()


def test_where_a_thing_was_goes_by_its_own_time_not_by_arrival(two_fronts):
    bring_late = said(6)
    send_out(["F1"], to="Beck Painters", said=said(1))
    bring_back(["F1"], station="STORE", said=bring_late)
    move_item("F1", station="TRIM-1", said=said(7))
    move_item("F1", station="BOND-1", said=said(6.5))
    assert where("F1") == ("here", "TRIM-1")
    assert [where("F1", at) for at in (0.5, 1, 5, 6)] == ["here", "out", "out", "here"]
    assert verify().faults == ()


def test_none_goes_when_one_may_not(two_fronts):
    place_hold("F2", reason="dry-patch", said=said(0.5))
    with refuses("held", "F2"):
        send_out(["F1", "F2"], to="Beck Painters", said=said(1))
    send_out(["F1"], to="Beck Painters", said=said(1))
    with refuses("not-out", "F2"):
        bring_back(["F1", "F2"], station="STORE", said=said(2))
    assert not Consignment.objects.filter(direction="back").exists()


@pytest.mark.parametrize("act", ["send_out", "move_item"])
def test_what_is_out_or_scrapped_is_not_here(two_fronts, act):
    acts = {
        "send_out": lambda code, s: send_out([code], to="Beck Painters", said=s),
        "move_item": lambda code, s: move_item(code, station="STORE", said=s),
    }
    send_out(["F1"], to="Beck Painters", said=said(1))
    with refuses_or_flags("not-here") as both:
        both(lambda s: acts[act]("F1", s))
    scrap("F2", words="cracked", said=said(1))
    with refuses_or_flags("scrapped") as both:
        both(lambda s: acts[act]("F2", s))


def test_what_is_inside_another_is_not_sent_alone():
    builders.a_frame("X1", hours=1.5)
    with refuses_or_flags("already-used") as both:
        both(lambda s: send_out(["F-X1"], to="Beck Painters", said=s))


@pytest.mark.parametrize(
    ("units", "to", "code"),
    [([], "Beck Painters", "unknown"), (["GHOST"], "Beck Painters", "unknown"), (["F1"], "  ", "unknown"),
     (["P1"], "Beck Painters", "wrong-kind")],
)  # fmt: skip
def test_a_sending_that_can_not_be_is_refused(two_fronts, units, to, code):
    with refuses(code):
        send_out(units, to=to, said=said(1))


def test_coming_back_asks_where_to_and_what_was_out(two_fronts):
    with refuses("not-out", "F1"):
        bring_back(["F1"], station="STORE", said=said(1))
    send_out(["F1"], to="Beck Painters", said=said(2))
    with refuses("not-out", "F1"):
        bring_back(["F1"], station="STORE", said=said(1.5))
    with refuses("unknown", "to which station"):
        bring_back(["F1"], station=" ", said=said(3))
    with refuses("unknown", "ATTIC"):
        bring_back(["F1"], station="ATTIC", said=said(3))


def test_a_move_asks_where_to(two_fronts):
    for station, code in ((" ", "unknown"), ("ATTIC", "unknown")):
        with refuses(code):
            move_item("F1", station=station, said=said(1))


@pytest.fixture
def shipped(works):
    builders.a_finished_frame("X1")
    release_units(["X1"], said=said(5))
    ship(["X1"], to="Lienz Cycles", said=said(5))


def test_a_frame_comes_back_from_its_customer_with_what_they_say(shipped):
    returned = return_frame("X1", station="STORE", words="creaks", said=said(9))
    assert (str(returned.reason), returned.line.consignment.direction) == ("creaks", "ship")
    assert where("X1") == ("here", "STORE")
    with refuses("not-out", "X1"):
        return_frame("X1", station="STORE", words="creaks", said=said(10))
    assert verify().faults == ()


def test_only_what_was_shipped_is_returned(two_fronts):
    send_out(["F1"], to="Beck Painters", said=said(1))
    for code in ("F1", "F2"):
        with refuses("not-out", code):
            return_frame(code, station="STORE", words="creaks", said=said(2))
    with refuses("unknown"):
        return_frame("F1", station=" ", words="creaks", said=said(2))


def test_who_is_told_of_is_kept_apart_from_the_record(shipped):
    told = said(11)
    return_frame("X1", station="STORE", words="Anna rides it", said=told)
    assert "Anna" not in EntryBody.objects.get(entry__key=told.key).payload
    assert flags_of(told.key) == []
