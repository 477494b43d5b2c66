"""Numbers and labels: renumbered, swapped, confirmed by two."""

import pytest

from records.inspection.actions import Line, record_sheet
from records.inspection.queries import latest_of
from records.items.actions import confirm_swap, lift_hold, mount_lot, move_item, renumber, take_out
from records.items.models import Hold, ItemCode, LabelSwap
from records.items.queries import holds_on, item_by_code
from records.ledger.acts import flags_of
from records.ledger.marks import Mark
from records.ledger.models import Entry
from records.ledger.verifying import verify
from records.quality.actions import swap_labels
from records.steps.actions import Made, wind
from records.steps.models import ToolCycles
from records.steps.queries import way_of
from records.trace.queries import Asked, made_from, where_used
from tests import builders
from tests.builders import moment, said
from tests.refusing import refuses

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})


def inside(code, mark=None):
    return {one.code for one in made_from(code, Asked(mark=mark)).listed if len(one.way) == 2}


def test_a_thing_keeps_every_number_it_had_and_is_named_by_the_newest():
    builders.a_front("F1")
    before = Mark(Entry.objects.latest("pk").pk)
    renumber("f1", to="F100", words="label lost", said=said(1))
    renumber("F1", to="F200", words="label lost again", said=said(2))
    unit = item_by_code("F1")
    assert [item_by_code(code) for code in ("F100", "F200")] == [unit, unit]
    found = {one.code: one.names.once for one in where_used("P1").listed if one.kind == "front"}
    assert found == {"F200": ("F1", "F100")}
    assert [one.code for one in where_used("P1", Asked(mark=before)).listed] == ["F1"]
    assert ItemCode.objects.filter(item=unit).count() == 3


@pytest.mark.parametrize(
    ("unit", "to", "code"),
    [("GHOST", "F9", "unknown"), ("F1", "R1", "code-taken"), ("F1", "f1", "code-taken"), ("F1", " ", "unknown"),
     ("R1", "R9", "wrong-kind")],
)  # fmt: skip
def test_a_number_that_can_not_be_given_is_refused(unit, to, code):
    builders.a_front("F1")
    with refuses(code):
        renumber(unit, to=to, words="label lost", said=said())


@pytest.fixture
def two_fronts(works):
    """Their labels were put on crosswise after the moulding: all from hour two on belongs to the other."""
    for n in "12":
        builders.a_front(f"F{n}", pots=[f"P{n}"])
    for n, mm in (("1", "34.91"), ("2", "35.2")):
        builders.a_step(f"F{n}", "vent", hours=2.5 if n == "1" else 1)
        record_sheet(f"F{n}", [Line("bore", [mm], "GA-1")], said=said(3))
        builders.tell_late(f"F{n}", f"Q{n}", hours=3)


def swap(since=2, hours=5, by="second"):
    return swap_labels("F1", "F2", since=moment(since), words="both off", said=said(hours, by=by))


def test_everything_since_goes_over_and_everything_before_stays(two_fronts):
    before = Mark(Entry.objects.latest("pk").pk)
    swap()
    assert (inside("F1"), inside("F2")) == ({"T-F1", "P1", "Q2"}, {"T-F2", "P2", "Q1"})
    assert (inside("F1", before), inside("F2", before)) == ({"T-F1", "P1", "Q1"}, {"T-F2", "P2", "Q2"})
    assert [name for _, name in way_of(item_by_code("F1"))] == ["mould"]
    assert [name for _, name in way_of(item_by_code("F2"))] == ["mould", "vent", "vent"]
    assert [latest_of(item_by_code(f), "bore").measurement.written for f in ("F1", "F2")] == ["35.2", "34.91"]
    assert verify().faults == ()


def test_swapped_twice_all_is_as_it_was(two_fronts):
    ways = {f: way_of(item_by_code(f)) for f in ("F1", "F2")}
    for _ in range(2):
        swap()
    assert (inside("F1"), inside("F2")) == ({"T-F1", "P1", "Q1"}, {"T-F2", "P2", "Q2"})
    assert {f: way_of(item_by_code(f)) for f in ("F1", "F2")} == ways
    assert verify().faults == ()


def test_tools_are_not_used_twice_by_a_swap(two_fronts):
    before = dict(ToolCycles.objects.values_list("tool__code", "cycles"))
    swap(since=-1)
    assert dict(ToolCycles.objects.values_list("tool__code", "cycles")) == before
    assert verify().faults == ()


def test_what_is_in_swapped_frames_is_in_the_other_one(works):
    for n in "12":
        builders.a_frame(f"X{n}")
    swap_labels("X1", "X2", since=moment(1.9), words="both off", said=said(5))
    assert item_by_code("F-X1").state.inside.code == "X2"
    assert verify().faults == ()
    take_out("X2", item="F-X1", words="cracked", station="STORE", said=said(6))


def test_places_since_go_over(two_fronts):
    move_item("F1", station="STORE", said=said(4))
    move_item("F2", station="TRIM-1", said=said(4))
    swap()
    assert [item_by_code(f).state.place.code for f in ("F1", "F2")] == ["TRIM-1", "STORE"]


def test_what_was_mounted_while_one_was_wound_is_in_the_other(works):
    builders.a_spool("SP1")
    builders.a_spool("SP2")
    for head, lot in (("left", "SP1"), ("right", "SP2")):
        window = {"not_before": moment(0), "not_after": moment(0)}
        mount_lot("WIND-1", head=head, lot=lot, **window, said=said(3))
    for code, head in (("T1", "left"), ("T2", "right")):
        made = Made(["MD-1"], "WIND-1", head=head, began_at=moment(1))
        wind(code, part="TUBE", spools=[], made=made, said=said(2))
    swap_labels("T1", "T2", since=moment(0), words="both off", said=said(4))
    assert (inside("T1"), inside("T2")) == ({"SP2"}, {"SP1"})
    builders.a_spool("SP3")
    mount_lot("WIND-1", head="left", lot="SP3", not_before=moment(1.2), not_after=moment(1.4), said=said(5))
    assert (inside("T1"), inside("T2")) == ({"SP2"}, {"SP1", "SP3"})
    assert verify().faults == ()


def test_both_are_held_until_two_people_have_confirmed(two_fronts):
    swap()
    label_swap = LabelSwap.objects.get()
    units = [label_swap.one_id, label_swap.other_id]
    assert {h.item_id for h in holds_on(units)} == set(units)
    with refuses("no-reason"):
        confirm_swap(label_swap, words=" ", said=said(6))
    confirm_swap(label_swap, words="by weight", said=said(6))
    assert len(holds_on(units)) == 2
    with refuses("second-person"):
        confirm_swap(label_swap, words="sure", said=said(7))
    confirm_swap(label_swap, words="by the mould mark", said=said(7, by="second"))
    assert holds_on(units) == []


def test_one_person_does_not_lift_the_hold_of_a_swap(two_fronts):
    swap_labels("F1", "F2", since=moment(2), words="both off", said=(told := said(5)))
    with refuses("second-person", "Two people"):
        lift_hold(told.key, words="sure", said=said(6))
    assert Hold.objects.filter(lift=None).count() == 2


@pytest.mark.parametrize(
    ("one", "other", "code"),
    [("F1", "F100", "itself"), ("F1", "T-F1", "wrong-kind"), ("F1", "GHOST", "unknown"), ("P1", "F1", "wrong-kind")],
)
def test_a_swap_that_can_not_be_is_refused(one, other, code):
    builders.a_front("F1")
    renumber("F1", to="F100", words="label lost", said=said(1))
    with refuses(code):
        swap_labels(one, other, since=moment(0), words="both off", said=said(2))


def test_a_swap_flags_nothing_of_its_own(two_fronts):
    swap_labels("F1", "F2", since=moment(2), words="both off", said=(told := said(5)))
    assert flags_of(told.key) == []
