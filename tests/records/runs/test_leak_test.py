"""A leak test that a recorder has watched counts for the closing in which it was begun, as one logged by hand does."""

from datetime import timedelta

import pytest

from plant.catalogue import specs
from plant.catalogue.queries import route_of
from records.items.queries import item_by_code
from records.ledger.verifying import verify
from records.runs.actions import LogFile, Pass, assess_run, decide_run, read_log_file, record_run
from records.steps.actions import Made, Shot, Work, log_step
from records.steps.checks import checks_of
from records.steps.models import StepRecord
from tests import builders
from tests.builders import moment, said
from tests.records.runs.files import stamps, written
from tests.records.runs.test_assessing_vacuum import pumped
from tests.refusing import refuses

pytestmark = pytest.mark.django_db
RULES = [specs.RuleSpec("leak-rate", "mbar", upper="0.5")]


@pytest.fixture(autouse=True)
def closed(db):
    builders.a_works(holds={})
    builders.agreed(specs.RecipeSpec("LEAK-A", "leak-test", RULES))
    builders.a_pot("P1", hours=1.5)
    builders.a_mould_to_fill("F1")


def leak_test(*, leak: float = 0.2, began: float = 1.0, hold_min: int = 10):
    """The recorder's curve of a test that began so many hours after Monday at eight, judged."""
    curve = pumped(leak=leak, hold_min=hold_min)
    start = moment(began).replace(tzinfo=None)
    times = [str((start + timedelta(seconds=10 * n)).isoformat()) for n in range(len(curve))]
    assert times[0] == stamps(1, day="2026-03-02", hour=start.hour)[0]
    file = LogFile("leak.csv", written("Time,Vacuum (mbar abs)", times, curve).encode())
    run = record_run(Pass("leak-test", ["F1"], moment(began), moment(began + 0.6)), said=said(began + 0.6))
    read_log_file(run.code, file, said=said(began + 0.6))
    assess_run(run.code, recipe="LEAK-A", said=said(began + 0.6))
    return run


def fill(hours: float):
    return log_step("F1", step="fill", work=Work("MOULD-1", shots=[Shot("P1")]), said=said(hours))


def check(hours: float):
    unit = item_by_code("F1")
    (found,) = checks_of(unit, route_of(unit.part, unit.born_at), moment(hours))
    return found


def test_a_curve_within_satisfies_the_gate_and_the_unit_waits_for_what_comes_next():
    leak_test()
    assert check(1.7).until == moment(1.6 + 0.75)
    assert item_by_code("F1").waiting.operation.name == "fill"
    assert fill(1.7).outcome == "done"
    assert verify().faults == ()


def test_it_lapses_after_the_same_time_as_one_logged_by_hand():
    leak_test()
    with refuses("leak-test-lapsed", "was good until 10:21"):
        fill(2.4)


def test_a_curve_that_leaks_is_a_test_that_did_not_come_out():
    leak_test(leak=0.9)
    with refuses("leak-test-missing", "did not come out"):
        fill(1.7)


def test_a_curve_that_shows_nothing_is_no_test():
    leak_test(hold_min=1)
    assert not StepRecord.objects.filter(operation__name="leak-test").exists()
    with refuses("leak-test-missing", "No leak-test since this mould was closed"):
        fill(1.7)


def test_a_curve_of_an_earlier_closing_is_no_test_of_this_one():
    log_step("F1", step="mould", work=Work("MOULD-1", tools=Made(["ML-1"]).tools), said=said(1.3))
    leak_test()
    with refuses("leak-test-missing", "No leak-test since this mould was closed"):
        fill(1.7)


def test_one_logged_by_hand_meanwhile_is_the_same_test():
    builders.a_leak_test(hours=1.5)
    leak_test()
    assert StepRecord.objects.filter(operation__name="leak-test").count() == 1


def test_what_is_decided_of_the_curve_counts_from_its_end_and_not_from_the_decision():
    run = leak_test(leak=0.9)
    decide_run(run.code, choice="accept", words="the seal of the gauge leaked", said=said(1.65))
    assert check(1.7).holds(moment(1.7))
    assert check(1.7).until == moment(1.6 + 0.75)
    assert fill(1.7).outcome == "done"


def test_judged_once_more_the_same_way_writes_no_second_step():
    run = leak_test()
    assess_run(run.code, recipe="LEAK-A", said=said(1.7))
    assert StepRecord.objects.filter(operation__name="leak-test").count() == 1
