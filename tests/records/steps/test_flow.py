"""The way through the works: what waits, how long it waited, and what was right at once, counted from the records."""

from datetime import timedelta

import pytest

from records.steps.actions import Work
from records.steps.flow import ENOUGH, Flow, Passed, Stage, flows, span_of_steps
from records.steps.queries import queues
from tests import builders

pytestmark = pytest.mark.django_db


@pytest.fixture
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(40 * 24))


def stages(part: str) -> dict[str, Stage]:
    (flow,) = [flow for flow in flows(queues(), span_of_steps()) if flow.part.number == part]
    return {stage.name: stage for stage in flow.stages}


@pytest.mark.usefixtures("works")
def test_before_the_first_step_there_is_no_span_and_no_flow():
    assert (span_of_steps(), flows(queues(), None)) == (None, [])


@pytest.mark.usefixtures("works")
def test_a_failed_first_attempt_counts_once_and_the_second_does_not_mend_it():
    for unit in ("F1", "F2"):
        builders.a_front(unit)
    builders.a_step("F1", "vent", hours=3, work=Work(outcome="failed"))
    builders.a_step("F1", "vent", hours=4)
    builders.a_step("F2", "vent", hours=5)
    vent = stages("OSIER-F")["vent"]
    assert (vent.passed.tried, vent.passed.first_time, vent.percent) == (2, 1, None)


@pytest.mark.usefixtures("works")
def test_a_wait_runs_from_the_end_of_the_step_before():
    builders.a_front("F1")
    builders.a_step("F1", "vent", hours=3)
    builders.a_step("F1", "trim", hours=10)
    found = stages("OSIER-F")
    assert found["trim"].half_waited == timedelta(hours=7)
    assert (found["trim"].waiting, found["trim"].passed.tried) == ((), 1)


@pytest.mark.usefixtures("works")
def test_steps_before_the_span_are_left_out_but_a_wait_that_began_there_counts_whole():
    builders.a_front("F1")
    builders.a_step("F1", "vent", hours=3)
    builders.a_step("F1", "trim", hours=30 * 24)
    found = stages("OSIER-F")
    assert (found["vent"].passed.tried, found["trim"].passed.tried) == (0, 1)
    assert found["trim"].half_waited == timedelta(hours=30 * 24 - 3)


def test_a_share_in_percent_needs_enough_units():
    assert Stage("vent", (), Passed(ENOUGH - 1, 10)).percent is None
    assert Stage("vent", (), Passed(ENOUGH, 15)).percent == 75


def test_the_strand_has_a_row_for_each_stage():
    flow = Flow(None, (Stage("vent", (), Passed()), Stage("trim", (), Passed())))
    assert [middle for middle, _ in flow.rows] == [24, 72]
    assert flow.height == 96
