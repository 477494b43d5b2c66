"""Undo: what was logged a moment ago is withdrawn as a mis-tap, by whoever logged it; both stay in the book."""

import json

import pytest

from records.inspection.models import Measurement
from records.ledger.models import EntryBody
from records.ledger.verifying import verify
from records.steps.models import StepRecord
from tests import builders
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db
SECONDS = 1 / 3600


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_front("F1")
    clock_at(builders.moment(5))


def undone(first: dict, *, after: float = 5, role: str = builders.ALL_ROLES) -> dict:
    told = entry("undo", hours=4 + after * SECONDS, of=first["key"], done=True) | {"depends_on": [first["key"]]}
    return send(tablet(role), told)[0]


def a_step() -> dict:
    return entry("step", hours=4, unit="F1", operation="vent")


def test_a_step_is_withdrawn_as_a_mis_tap_and_waits_again():
    first = a_step()
    send(tablet(), first)
    assert undone(first)["outcome"] == "taken"
    newest = StepRecord.objects.newest().get(operation__name="vent")
    assert newest.status == StepRecord.Status.WITHDRAWN
    told = json.loads(EntryBody.objects.get(entry=newest.entry).payload)["told"]
    assert told["because"] == "mis-tap"
    assert newest.unit.waiting.operation.name == "vent"
    assert verify().clean


def test_both_may_come_together_from_an_outbox_and_again():
    first = a_step()
    second = entry("undo", hours=4 + 5 * SECONDS, of=first["key"], done=True) | {"depends_on": [first["key"]]}
    for _ in range(2):
        assert [one["outcome"] for one in send(tablet(), first, second)] == ["taken", "taken"]
    assert StepRecord.objects.filter(operation__name="vent").count() == 2


def test_a_sheet_is_withdrawn_whole():
    first = entry("measure", hours=4, unit="F1", lines=[{"characteristic": "bore", "readings": ["34.9"]}])
    send(tablet(), first)
    assert undone(first)["outcome"] == "taken"
    assert not Measurement.objects.standing().exists()


@pytest.mark.parametrize(("told", "code"), [({"after": 90}, "too-late"), ({"role": "operator"}, "other-person")])
def test_nobody_undoes_another_persons_or_what_is_older(told, code):
    first = a_step()
    send(tablet(), first)
    answer = undone(first, **told)
    assert (answer["outcome"], answer["code"]) == ("refused", code)


def test_what_has_no_withdrawal_is_not_undone():
    first = entry("move", hours=4, item="F1", station="TRIM-1")
    send(tablet(), first)
    assert undone(first)["code"] == "unknown"
