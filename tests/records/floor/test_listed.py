"""An operation for people on a list: somebody else is told so before anything is asked, and what is done is marked."""

import pytest

from plant.people.actions import give_qualification
from records.ledger.models import Flag
from records.steps.models import StepRecord
from tests import builders
from tests.builders import a_person, moment, said
from tests.records.floor.test_views import asked, log, screen
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db
STEP = {"unit": "F1", "operation": "trim"}


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(moment(5))
    builders.a_route("OSIER-F", ["mould"], tool_kind="mould")
    builders.a_route("OSIER-F", ["mould", "trim"], needs_qualification=True)
    give_qualification(a_person(), what="mould", from_on=moment(-48).date(), said=said(-2))
    builders.a_front("F1", hours=0.5)


def test_somebody_who_is_not_on_the_list_is_told_before_anything_is_asked():
    page = screen(tablet("operator"), "TRIM-1", "step", **STEP)
    assert asked(page) == "You are not on the list for trim."
    assert [choice.code for choice in page.context["question"].choices] == ["done"]


def test_whoever_is_on_the_list_logs_it():
    give_qualification(a_person("operator"), what="trim", from_on=moment(0).date(), said=said(1))
    log(tablet("operator"), "TRIM-1", "step", **STEP)
    assert StepRecord.objects.filter(operation__name="trim").count() == 1
    assert not Flag.objects.exists()


def test_what_has_been_done_by_somebody_else_is_kept_and_marked_with_the_reason():
    answer, _ = log(tablet("operator"), "TRIM-1", "step", **STEP, **{"list-stop": "done"})
    page = tablet("operator").get(answer.url)
    assert page.status_code == 200
    assert Flag.objects.get().code == "not-qualified"
    assert StepRecord.objects.filter(operation__name="trim").count() == 1


def test_a_tablet_takes_along_which_tasks_are_for_a_list():
    snapshot = tablet().get("/floor/snapshot/?device=TB-1").json()
    (unit,) = [unit for unit in snapshot["units"] if unit["code"] == "F1"]
    needs = {step["operation"]: step.get("needs_list", False) for step in snapshot["routes"][str(unit["route"])]}
    assert needs == {"mould": True, "trim": True}
    assert snapshot["choices"]["listed"][0][0] == "done"
