"""A shift lead puts aside and sends back along the route, and never lets anything go."""

import pytest

from plant.people.rights import RIGHTS, Role
from records.items.actions import lift_hold
from records.items.queries import holds_on, item_by_code
from records.ledger.refusals import Refused
from records.ledger.verifying import verify
from records.release.actions import release_units
from records.steps.actions import log_step, put_aside, send_to_rework
from records.steps.models import StepRecord, Waiting
from records.steps.queries import done_operations, way_of
from tests import builders
from tests.builders import said

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works():
    builders.a_works()
    builders.a_finished_front("F1")


def test_what_is_put_aside_lies_on_the_red_shelf_and_is_held():
    hold = put_aside("F1", words="dry patch", said=said(8, by="lead"))
    unit = item_by_code("F1")
    assert (unit.state.place.code, [one.pk for one in holds_on([unit.pk])]) == ("RED-SHELF", [hold.pk])
    put_aside("F1", words="and a scratch", said=said(9, by="lead"))
    assert verify().faults == ()


def test_a_unit_sent_to_rework_waits_for_that_step_again_and_what_was_done_stays_readable():
    unit = item_by_code("F1")
    before = way_of(unit)
    send_to_rework("F1", step="vent", words="edge is proud", said=said(8, by="lead"))
    assert Waiting.objects.get(unit=unit).operation.name == "vent"
    assert done_operations([unit.pk])[unit.pk] == {"mould"}
    assert sorted(way_of(unit)) == sorted(before)
    assert verify().faults == ()
    log_step("F1", step="vent", said=said(9))
    again = StepRecord.objects.filter(operation__name="vent", first=None).order_by("pk")
    assert [record.attempt for record in again] == [1, 2]
    assert Waiting.objects.get(unit=unit).operation.name == "trim"
    assert verify().faults == ()


@pytest.mark.parametrize(
    ("step", "words", "code"),
    [("mould", "x", "wrong-kind"), ("fly", "x", "wrong-kind"), ("trim", " ", "no-reason")],
)
def test_refusals(step, words, code):
    with pytest.raises(Refused) as refused:
        send_to_rework("F1", step=step, words=words, said=said(8, by="lead"))
    assert refused.value.code == code


def test_what_is_not_done_yet_cannot_be_done_again():
    builders.a_front("F2", tube="T2")
    with pytest.raises(Refused) as refused:
        send_to_rework("F2", step="trim", words="x", said=said(8, by="lead"))
    assert refused.value.code == "nothing-changed"


def test_a_lead_lifts_no_hold_and_releases_nothing():
    assert not [act for act in ("hold lifted", "unit released", "departure decided") if Role.LEAD in RIGHTS[act]]
    hold = put_aside("F1", words="dry patch", said=said(8, by="lead"))
    with pytest.raises(Refused) as refused:
        lift_hold(hold.entry.key, words="looks fine", said=said(9, by="lead"))
    assert refused.value.code == "not-allowed"
    with pytest.raises(Refused) as refused:
        release_units(["F1"], said=said(9, by="lead"))
    assert refused.value.code == "not-allowed"
