"""A unit's way: order, gates, what makes safe, readings, what is taken back."""

from uuid import uuid4

import pytest

from records.items.actions import place_hold, scrap
from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from records.ledger.models import Flag
from records.ledger.verifying import verify
from records.steps.actions import Work, log_step, send_out, withdraw_step
from records.steps.models import StepReading, StepRecord, ToolCycles
from records.steps.queries import way_of
from records.steps.recording import Read
from tests import builders
from tests.builders import said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def front(db):
    builders.a_works(holds={})
    return builders.a_front("F1")


def waits_for(code):
    operation = item_by_code(code).waiting.operation
    return operation and operation.name


def test_a_unit_goes_along_its_route():
    assert waits_for("F1") == "vent"
    builders.a_step("F1", "vent")
    assert waits_for("F1") == "trim"
    record = builders.a_step("F1", "trim", work=Work("TRIM-1", ["ML-2"], rules_seen="route 1"))
    assert (waits_for("F1"), record.rules_seen, item_by_code("F1").state.place.code) == (None, "route 1", "TRIM-1")
    assert [name for _, name in way_of(item_by_code("F1"))] == ["mould", "vent", "trim"]


def test_a_step_before_its_turn_is_out_of_order_by_what_is_on_file_not_by_clocks():
    with refuses_or_flags("out-of-order") as both:
        both(lambda s: log_step("F1", step="trim", said=s))
    builders.a_step("F1", "vent", hours=7)
    log_step("F1", step="trim", said=(told := said(2)))
    assert flags_of(told.key) == []


@pytest.mark.parametrize(
    ("unit", "step", "work", "code", "words"),
    [
        ("GHOST", "vent", None, "unknown", "GHOST"),
        ("P1", "vent", None, "wrong-kind", "P1"),
        ("F1", "paint", None, "wrong-kind", "not on the route of OSIER-F"),
        ("F1", "vent", Work("ATTIC"), "unknown", "ATTIC"),
        ("F1", "vent", Work(tools=["ML-9"]), "unknown", "ML-9"),
        ("F1", "mould", Work(tools=["JG-1"]), "wrong-kind", "mould needs a mould"),
        ("F1", "vent", Work(readings=[Read("edge", "two", "mm")]), "not-a-number", "two"),
        ("F1", "vent", Work(readings=[Read("edge", "2", "stone")]), "wrong-kind", "stone"),
        ("F1", "vent", Work(readings=[Read("edge", "2.0000001", "mm")]), "too-fine", "2.0000001 mm"),
        ("F1", "vent", Work(readings=[Read("edge", "9e9", "mm")]), "not-a-number", "9e9"),
        ("F1", "vent", Work(readings=[Read("edge", "99999999999", "m")]), "too-large", "more than can be true"),
    ],
)
def test_a_step_that_can_not_be_is_refused(unit, step, work, code, words):
    with refuses(code, words):
        log_step(unit, step=step, work=work, said=said(1))


def test_a_reading_is_kept_as_written_and_flagged_outside_its_band():
    builders.a_step("F1", "vent")
    log_step("F1", step="trim", work=Work(readings=[Read("edge", "3,00", "mm")]), said=(on_it := said(2)))
    log_step("F1", step="trim", work=Work(readings=[Read("edge", "3.01", "mm")]), said=(above := said(3)))
    assert (flags_of(on_it.key), flags_of(above.key)) == ([], ["reading-outside"])
    assert [(r.written, r.value) for r in StepReading.objects.order_by("pk")] == [
        ("3,00", 3_000_000), ("3.01", 3_010_000)
    ]  # fmt: skip


@pytest.mark.parametrize("state", ["held", "scrapped", "not-here", "already-used"])
def test_what_makes_a_thing_safe_is_always_logged_and_anything_else_is_stopped(state):
    if state == "already-used":
        builders.a_step("F1", "vent")
        builders.a_step("F1", "trim")
        builders.a_frame("X1", front="F1", hours=2)
    else:
        ready = {
            "held": lambda: place_hold("F1", reason="dry-patch", said=said(1)),
            "scrapped": lambda: scrap("F1", words="cracked", said=said(1)),
            "not-here": lambda: send_out(["F1"], to="Beck Painters", said=said(1, done=True)),
        }
        ready[state]()
    log_step("F1", step="vent", said=(told := said(5)))
    assert flags_of(told.key) == []
    with refuses_or_flags(state) as both:
        both(lambda s: log_step("F1", step="trim", said=s))


def test_attempts_are_counted_and_one_that_failed_is_not_done():
    builders.a_step("F1", "vent", work=Work(outcome="failed"))
    assert waits_for("F1") == "vent"
    builders.a_step("F1", "vent", work=Work(outcome="interrupted"))
    record = builders.a_step("F1", "vent")
    assert (record.attempt, waits_for("F1")) == (3, "trim")


def test_a_step_taken_back_is_waited_for_again_and_its_tool_counts_one_less():
    builders.a_step("F1", "vent")
    log_step("F1", step="trim", work=Work(tools=["ML-2"]), said=(told := said(2)))
    assert (waits_for("F1"), ToolCycles.objects.get(tool__code="ML-2").cycles) == (None, 1)
    withdraw_step(told.key, words="other front", said=said(3))
    assert (waits_for("F1"), ToolCycles.objects.get(tool__code="ML-2").cycles) == ("trim", 0)
    assert [name for _, name in way_of(item_by_code("F1"))] == ["mould", "vent"]
    assert StepRecord.objects.filter(operation__name="trim").count() == 2
    with refuses("unknown", "stands any more"):
        withdraw_step(told.key, words="other front", said=said(4))
    with refuses("unknown"):
        withdraw_step(uuid4(), words="other front", said=said(4))
    assert verify().faults == ()


def test_a_flag_says_what_was_broken_by_which_thing():
    log_step("F1", step="trim", said=said(2, done=True))
    assert Flag.objects.get().facts == '{"step":"vent","unit":"F1"}'
