"""A cure, a bond or paint has its least time before the next step: told while it runs, marked where cut short."""

import pytest

from plant.catalogue import specs
from plant.catalogue.models import RouteRevision
from plant.catalogue.writing_back import route_lines
from records.items.models import Hold
from records.items.queries import item_by_code
from records.ledger.models import Flag
from records.steps.actions import Work, log_step, withdraw_step
from records.steps.due import due_now
from records.steps.models import StepRecord, Waiting
from records.steps.resting import rests_of
from tests import builders
from tests.builders import STEP, moment, said
from tests.refusing import refuses

pytestmark = pytest.mark.django_db
MIN = 1 / 60
RESTING = [STEP("mould", tool_kind="mould"), STEP("start", makes_safe=True, rest_min=45),
           STEP("end", makes_safe=True), STEP("trim")]  # fmt: skip


@pytest.fixture(autouse=True)
def cure(clock_at):
    """F1 is in its mould, its cure begun at nine by the route."""
    builders.a_works()
    builders.agreed(specs.RouteSpec("OSIER-F", RESTING))
    builders.a_front("F1", hours=0.5)
    clock_at(moment(2))
    begin(1)


def begin(hours: float) -> StepRecord:
    return log_step("F1", step="start", work=Work("MOULD-1"), said=said(hours))


def end(hours: float, *, done: bool = False, **told: object) -> StepRecord:
    return log_step("F1", step="end", work=Work("MOULD-1", **told), said=said(hours, done=done))


def test_a_step_that_comes_before_its_unit_has_rested_is_refused_and_taken_from_that_minute_on():
    with refuses("too-early", "F1 rests after start until 09:45. Go on with end then."):
        end(1 + 44 * MIN)
    assert end(1.75).operation.name == "end"


def test_what_was_cut_short_is_kept_marked_and_holds_its_unit():
    end(1.5, done=True)
    assert list(Flag.objects.values_list("code", flat=True)) == ["too-early"]
    assert list(Hold.objects.values_list("reason", flat=True)) == ["too-early"]


def test_the_rest_counts_from_the_last_time_and_not_from_one_that_was_withdrawn():
    again = begin(1.5)
    with refuses("too-early", "until 10:15"):
        end(1.9)
    withdraw_step(again.entry.key, words="slip", said=said(1.55))
    assert end(1.9).operation.name == "end"


def test_a_cure_that_is_broken_off_is_no_end_of_it():
    assert end(1.2, outcome=StepRecord.Outcome.INTERRUPTED).outcome == "interrupted"


def test_a_unit_keeps_the_rest_of_the_route_that_it_began_with():
    shorter = [*RESTING[:1], STEP("start", makes_safe=True, rest_min=10), *RESTING[2:]]
    builders.agreed(specs.RouteSpec("OSIER-F", shorter), hours=1.1)
    with refuses("too-early"):
        end(1.5)


def words(hours: float, station: str = "") -> list[str]:
    return [one.words(moment(hours)) for one in due_now(moment(hours), station)]


def test_the_end_of_a_rest_comes_due_where_the_unit_stands_until_the_next_step_is_logged():
    told = ["F1: end may be logged from 2 Mar 09:45 on."]
    assert words(1.7) == []
    assert words(1.75) == words(1.75, "MOULD-1") == told
    assert words(1.75, "TRIM-1") == []
    end(1.8)
    assert words(1.9) == []


def test_any_number_of_units_costs_two_queries(django_assert_num_queries):
    rows = list(Waiting.objects.select_related("operation", "unit__state"))
    with django_assert_num_queries(2):
        (rest,) = rests_of(rows).values()
    assert (rest.unit, rest.until) == (item_by_code("F1"), moment(1.75))


def test_a_rest_after_the_last_step_is_refused_since_nobody_would_ask_for_it():
    with refuses("wrong-kind", "Nothing comes after trim on this route"):
        builders.agreed(specs.RouteSpec("OSIER-R", [STEP("mould"), STEP("trim", rest_min=5)]))


def test_whoever_approves_a_route_reads_its_rests():
    lines = dict(route_lines(RouteRevision.objects.latest("pk")))
    assert lines["2"] == "start; makes safe; then rests 45 min at least"
