"""A step that comes before its unit has rested is asked about on the floor; a tablet knows the rest without a link."""

import pytest

from plant.catalogue import specs
from records.ledger.models import Flag
from records.steps.actions import Work, log_step
from records.steps.models import StepRecord
from tests import builders
from tests.builders import STEP, moment, said
from tests.records.floor.test_views import asked, log, screen, text
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db
ROUTE = [STEP("mould", tool_kind="mould"), STEP("set", rest_min=60), STEP("trim")]
TRIM = {"unit": "F1", "operation": "trim"}
TELLS = "F1 rests after set until 10:00. Go on with trim then."


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.agreed(specs.RouteSpec("OSIER-F", ROUTE))
    builders.a_front("F1", hours=0.5)
    log_step("F1", step="set", work=Work("MOULD-1"), said=said(1))
    clock_at(moment(1.5))


def test_it_is_asked_before_anything_else_and_leads_back_to_the_station():
    page = screen(tablet(), "MOULD-1", "step", **TRIM)
    assert asked(page) == "F1 rests until 10:00"
    assert "Its route asks for that time between set and trim." in text(page)
    assert [choice.code for choice in page.context["question"].choices] == ["again", "done"]
    assert screen(tablet(), "MOULD-1", "step", **TRIM, **{"rest-stop": "again"}).url.endswith("/MOULD-1/log/../")


def test_what_has_been_done_is_kept_and_marked():
    log(tablet(), "MOULD-1", "step", **TRIM, **{"rest-stop": "done"})
    assert list(Flag.objects.values_list("code", flat=True)) == ["too-early"]
    assert StepRecord.objects.filter(operation__name="trim").exists()


def test_it_is_not_asked_once_it_is_over(clock_at):
    clock_at(moment(2))
    log(tablet(), "MOULD-1", "step", **TRIM)
    assert not Flag.objects.exists()


def test_the_screen_of_the_unit_says_until_when_it_rests():
    assert TELLS in tablet().get("/floor/at/MOULD-1/unit/F1/").content.decode()


def test_a_tablet_takes_the_rest_along_with_its_unit_and_its_route():
    snapshot = tablet().get("/floor/snapshot/?device=TB-1").json()
    (unit,) = [unit for unit in snapshot["units"] if unit["code"] == "F1"]
    assert unit["rests"] == {"set": "2026-03-02T10:00:00.000000Z"}
    rests = {step["operation"]: step["rest_ms"] for step in snapshot["routes"][str(unit["route"])]}
    assert rests == {"mould": 0, "set": 3_600_000, "trim": 0}
    assert [code for code, *_ in snapshot["choices"]["rested"]] == ["again", "done"]
    assert snapshot["due"] == []
