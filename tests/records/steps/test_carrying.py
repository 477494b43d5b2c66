"""What carries a unit's identity: one carrier at a time, from its first reading to that of the next one."""

from uuid import UUID

import pytest

from plant.catalogue import specs
from records.items.models import Hold
from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from records.ledger.models import Flag
from records.ledger.verifying import verify
from records.quality.actions import swap_labels
from records.release.actions import check_label, print_label
from records.steps.actions import (
    Made,
    Moulding,
    Work,
    log_step,
    mould,
    put_carrier,
    send_out,
    take_carrier_off,
    withdraw_carrier,
)
from records.steps.actions.withdrawing import withdraw_unit
from records.steps.actions.working import withdraw_step
from records.steps.carrying import carriers_of, on_now
from records.steps.models import UnitCarrier
from tests import builders, shelf
from tests.builders import moment, said
from tests.refusing import refuses

pytestmark = pytest.mark.django_db

STEP = specs.OperationSpec
ROUTE = [
    STEP("mould", tool_kind="mould", carrier="tool"),
    STEP("demould", makes_safe=True, carrier="tag"),
    STEP("trim", carrier="label"),
    STEP("polish", carrier="mark"),
]


@pytest.fixture(autouse=True)
@shelf.kept
def carried(db):
    builders.a_works()
    builders.agreed(specs.RouteSpec("OSIER-F", ROUTE))
    for n in (1, 2):
        builders.a_tube(f"T{n}")
        made = Made(["ML-1"], "MOULD-1")
        mould(f"F{n}", part="OSIER-F", moulding=Moulding([f"T{n}"], []), made=made, said=said(n / 100))


def step(name: str, carrier: str = "", *, unit: str = "F1", hours: float = 1, done: bool = False):
    return log_step(unit, step=name, work=Work(carrier=carrier), said=said(hours, done=done))


def row(unit: str = "F1") -> list[tuple]:
    return [(one.kind, one.code, one.is_on) for one in carriers_of([item_by_code(unit).pk])]


def symbol(code: str, copy: int) -> str:
    return f"[)>\x1e06\x1dS{code}\x1dZ{copy}\x1e\x04"


def test_each_stage_has_its_carrier_and_the_next_one_ends_it():
    step("demould", "F1", hours=1)
    step("trim", symbol("F1", 1), hours=2)
    step("polish", "F1", hours=3)
    rows = carriers_of([item_by_code("F1").pk])
    assert [one.kind for one in rows] == ["tool", "tag", "label", "mark"]
    assert [one.ended_at for one in rows] == [*(one.began_at for one in rows[1:]), None]
    assert [one.code for one in rows] == ["ML-1", "F1", "F1", "F1"]
    assert rows[2].copy == 1
    assert not Flag.objects.exists()


def test_what_was_read_on_it_is_in_the_book_with_its_step():
    made = step("demould", "F1")
    assert set(UnitCarrier.objects.filter(entry=made.entry).values_list("kind", flat=True)) == {"tool", "tag"}


def test_a_carrier_with_another_units_code_is_refused_and_kept_with_a_hold_where_it_is_done():
    with refuses("wrong-carrier", "That is the code of F2, and this is F1. Leave both as they are"):
        step("demould", "F2")
    assert row() == [("tool", "ML-1", True)]
    done = step("demould", "F2", done=True)
    assert set(flags_of(done.entry.key)) == {"wrong-carrier"}
    assert row()[-1] == ("tag", "F2", True)
    assert not on_now([item_by_code("F1").pk])[item_by_code("F1").pk].is_own
    assert set(Hold.objects.filter(item=item_by_code("F1")).values_list("reason", flat=True)) == {"wrong-carrier"}


def test_a_code_that_stands_on_another_unit_too_is_marked():
    step("demould", "F2", done=True)
    second = step("demould", "F2", unit="F2", hours=2)
    assert set(flags_of(second.entry.key)) == {"carried-twice"}


def test_a_step_without_its_carrier_is_kept_and_marked():
    done = step("demould")
    assert set(flags_of(done.entry.key)) == {"no-carrier"}
    assert row() == [("tool", "ML-1", False)]  # it is out of its mould, whatever hangs on it


def test_an_old_label_is_refused_once_a_newer_one_was_read():
    step("demould", symbol("F1", 2))
    with refuses("old-carrier", "That is label 1 of F1, an old one"):
        step("trim", symbol("F1", 1), hours=2)


def test_a_carrier_at_a_step_that_puts_none_on_is_not_understood():
    with refuses("wrong-kind", "mould puts nothing on F1"):
        log_step("F1", step="mould", work=Work(tools=["ML-2"], carrier="F1"), said=said(1))


def test_a_mould_closed_again_is_the_new_carrier():
    log_step("F1", step="mould", work=Work(tools=["ML-2"]), said=said(1))
    assert row() == [("tool", "ML-1", False), ("tool", "ML-2", True)]


def test_a_mis_tap_gives_back_what_it_took_off():
    logged = step("demould", "F1")
    withdraw_step(logged.entry.key, words="mis-tap", said=said(1.001))
    assert row() == [("tool", "ML-1", True)]


def test_what_is_told_late_ends_where_the_later_carrier_began():
    step("trim", "F1", hours=3, done=True)
    step("demould", "F1", hours=2, done=True)
    rows = carriers_of([item_by_code("F1").pk])
    assert [one.kind for one in rows] == ["tool", "tag", "label"]
    assert [one.is_on for one in rows] == [False, False, True]
    assert rows[1].ended_at == rows[2].began_at


def test_a_lost_tag_is_replaced_by_a_reprint_that_is_read_back():
    print_label("F1", said=said(0.5))
    step("demould", symbol("F1", 1))
    print_label("F1", reason="lost in the oven", said=said(2))
    check_label(symbol("F1", 2), of="F1", said=said(2.1))
    rows = carriers_of([item_by_code("F1").pk])
    assert [(one.kind, one.copy) for one in rows] == [("tool", None), ("tag", 1), ("tag", 2)]
    assert [one.reason for one in rows][1:] == ["lost in the oven"] * 2


def test_a_label_beside_a_mark_does_not_take_its_place():
    for n, name in enumerate(("demould", "trim", "polish")):
        step(name, "F1", hours=1 + n)
    print_label("F1", said=said(5))
    check_label(symbol("F1", 1), of="F1", said=said(5.1))
    assert row()[-1] == ("mark", "F1", True)


def test_a_preform_is_known_by_its_label_until_it_goes_into_a_triangle():
    builders.agreed(specs.RouteSpec("TUBE", [STEP("wind", tool_kind="mandrel", carrier="label")]), hours=-71)
    builders.a_tube("T3")
    assert row("T3") == [("label", "T3", True)]
    mould("F3", part="OSIER-F", moulding=Moulding(["T3"], []), made=Made(["ML-1"], "MOULD-1"), said=said(1))
    assert row("T3") == [("label", "T3", False)]
    assert carriers_of([item_by_code("T3").pk])[0].reason == "went-in"
    withdraw_unit(item_by_code("F3").entry.key, words="mis-tap", said=said(1.001))
    assert row("T3") == [("label", "T3", True)]
    assert row("F3") == []


def test_a_label_alone_does_not_go_to_the_painter():
    step("demould", "F1", hours=1)
    step("trim", "F1", hours=2)
    with refuses("passing-carrier", "F1 is known by its label alone, which does not outlive paint"):
        send_out(["F1"], to="Beck Painters", said=said(3))
    send_out(["F1"], to="Beck Painters", said=said(3, done=True))
    assert Flag.objects.filter(code="passing-carrier").count() == 1


def test_a_mark_goes_to_the_painter_and_so_does_a_tag():
    step("demould", "F2", unit="F2", hours=1)
    for n, name in enumerate(("demould", "trim", "polish")):
        step(name, "F1", hours=1 + n)
    send_out(["F1", "F2"], to="Beck Painters", said=said(5))
    assert not Flag.objects.exists()


def test_a_unit_without_any_carrier_goes_to_nobody():
    step("demould", hours=1)
    with refuses("passing-carrier", "Nothing is on file that carries the code of F1"):
        send_out(["F1"], to="Beck Painters", said=said(2))


def test_a_works_whose_routes_name_no_carrier_is_not_asked():
    builders.agreed(specs.RouteSpec("OSIER-F", [STEP("mould", tool_kind="mould")]), hours=-70)
    builders.a_tube("T8")
    mould("F8", part="OSIER-F", moulding=Moulding(["T8"], []), made=Made(["ML-1"], "MOULD-1"), said=said(1))
    send_out(["F8"], to="Beck Painters", said=said(2))
    assert not UnitCarrier.objects.filter(unit=item_by_code("F8")).exists()


def test_another_one_of_a_kind_says_why_and_one_taken_off_leaves_none():
    step("demould", "F1")
    with refuses("no-reason", "F1 has a tag already. Say why another one is put on."):
        put_carrier("F1", kind="tag", symbol="F1", said=said(2))
    put_carrier("F1", kind="tag", symbol="F1", reason="carrier-lost", said=said(2))
    assert row() == [("tool", "ML-1", False), ("tag", "F1", False), ("tag", "F1", True)]
    take_carrier_off("F1", reason="unreadable", said=said(3))
    assert not on_now([item_by_code("F1").pk])
    with refuses("unknown", "Nothing carries the code of F1 by the records"):
        take_carrier_off("F1", reason="unreadable", said=said(4))


@pytest.mark.parametrize(
    ("kind", "reason", "code"), [("tool", "", "wrong-kind"), ("tag", "bored", "no-reason")], ids=["tool", "reason"]
)
def test_what_is_not_on_the_list_is_refused(kind, reason, code):
    with refuses(code):
        put_carrier("F1", kind=kind, symbol="F1", reason=reason, said=said(2))


def test_one_taken_off_says_why():
    with refuses("no-reason", "Say why nothing carries the code of F1 any more"):
        take_carrier_off("F1", reason="", said=said(2))


def test_swapped_labels_carry_nothing_until_they_are_read_anew():
    step("demould", "F1", hours=1)
    step("demould", "F2", unit="F2", hours=1.1)
    swap_labels("F1", "F2", since=builders.moment(0.9), words="seen at the bench", said=said(2))
    assert not on_now([item_by_code(code).pk for code in ("F1", "F2")])


def spans(unit: str = "F1") -> list[tuple]:
    """From when to when each carrier was on, in hours after the beginning of the tests' day."""
    hours = {None: None} | {moment(n): n for n in range(9)}
    return [(one.kind, one.copy, hours.get(one.began_at), hours[one.ended_at], one.reason) for one in carriers(unit)]


def carriers(unit: str) -> list[UnitCarrier]:
    return carriers_of([item_by_code(unit).pk])[1:]  # after the mould


def put(kind: str, copy: int, hours: float, reason: str = "", *, done: bool = False) -> UUID:
    told = said(hours, done=done)
    put_carrier("F1", kind=kind, symbol=symbol("F1", copy), reason=reason, said=told)
    return told.key


def test_a_carrier_put_on_by_mistake_is_taken_back_and_the_one_before_was_never_off():
    step("demould", symbol("F1", 1), hours=1)
    told = put("label", 2, 3, "unreadable")
    assert spans() == [("tag", 1, 1, 3, "unreadable"), ("label", 2, 3, None, "unreadable")]
    back = said(4)
    for _ in range(2):  # a repeat changes nothing
        withdraw_carrier(told, words="the one of F2 was torn", said=back)
        assert spans() == [("tag", 1, 1, None, "")]
    assert {row.status for row in UnitCarrier.objects.newest().filter(kind="label")} == {UnitCarrier.Status.WITHDRAWN}
    assert verify().clean
    with refuses("unknown", "Nothing that this entry told of a carrier stands any more."):
        withdraw_carrier(told, words="once more", said=said(5))


def test_what_was_put_on_since_stays_and_the_one_before_was_on_until_then():
    step("demould", symbol("F1", 1), hours=1)
    told = put("label", 2, 2, "unreadable")
    put("mark", 3, 4, "burnt")
    withdraw_carrier(told, words="not this one", said=said(5))
    assert spans() == [("tag", 1, 1, 4, "burnt"), ("mark", 3, 4, None, "burnt")]


def test_what_was_told_late_before_it_is_on_again_as_well():
    step("demould", symbol("F1", 1), hours=1)
    told = put("label", 3, 4, "unreadable")
    put("traveller", 2, 2, "worn", done=True)
    assert [row[2:4] for row in spans()] == [(1, 2), (2, 4), (4, None)]
    withdraw_carrier(told, words="not this one", said=said(5))
    assert spans() == [("tag", 1, 1, 2, "worn"), ("traveller", 2, 2, None, "worn")]


def test_one_that_was_told_as_gone_is_on_again():
    step("demould", symbol("F1", 1), hours=1)
    gone = said(2)
    take_carrier_off("F1", reason="carrier-lost", said=gone)
    withdraw_carrier(gone.key, words="it hung behind", said=said(3))
    assert spans() == [("tag", 1, 1, None, "")]
    with refuses("unknown", "Nothing that this entry told of a carrier stands any more."):
        withdraw_carrier(gone.key, words="once more", said=said(4))


def test_a_step_taken_back_leaves_one_carrier_on_where_another_one_came_since():
    logged = step("demould", symbol("F1", 1), hours=1)
    put("tag", 2, 2, "worn")
    withdraw_step(logged.entry.key, words="mis-tap", said=said(3))
    assert row() == [("tool", "ML-1", False), ("tag", "F1", True)]


def test_why_a_carrier_is_taken_back_is_told_and_it_has_to_be_one():
    logged = step("demould", symbol("F1", 1), hours=1)
    told = put("label", 2, 2, "worn")
    with refuses("no-reason", "Write why this is taken back."):
        withdraw_carrier(told, words=" ", said=said(3))
    with refuses("unknown", "This entry told of no carrier by itself."):
        withdraw_carrier(logged.entry.key, words="not this one", said=said(3))
