"""What acts have looked up: read once, never older than the act that changed the set-up, gone with a failure."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from plant.catalogue import specs
from plant.equipment.models import Station
from plant.equipment.queries import station_by_code
from records.inspection.actions import Line, record_sheet
from records.inspection.judging import Verdict, judge
from records.items.making import place_named
from records.items.models import Place
from records.ledger.acts import act
from records.ledger.memory import (
    forget,
    keep_from_act_to_act,
    keep_no_longer,
    only_writer,
    remembered,
    remembering,
    stand_on,
)
from records.ledger.refusals import Refused
from records.steps.actions.working import Work
from tests import builders
from tests.builders import said


def counting():
    """A look-up, and how often it was asked."""
    asked = []
    return lambda: asked.append(1) or len(asked)


def test_outside_an_act_nothing_is_remembered():
    look_up = counting()
    assert [remembered("a", look_up), remembered("a", look_up)] == [1, 2]


def test_an_act_looks_up_once_and_the_next_one_again():
    look_up = counting()
    for due in (1, 2):
        with remembering():
            assert [remembered("a", look_up), remembered("a", look_up)] == [due, due]


def test_the_one_writer_looks_up_once_until_the_end_of_the_block():
    look_up = counting()
    with only_writer():
        for _ in range(2):
            with remembering():
                assert remembered("a", look_up) == 1
        assert remembered("a", look_up) == 1
    assert remembered("a", look_up) == 2


def test_what_a_failed_act_looked_up_is_forgotten():
    look_up = counting()

    def fail():
        with remembering():
            remembered("a", look_up)
            raise ZeroDivisionError

    with only_writer():
        with pytest.raises(ZeroDivisionError):
            fail()
        assert remembered("a", look_up) == 2


@pytest.mark.django_db
def test_an_act_that_writes_set_up_makes_the_one_writer_look_again():
    builders.a_works()
    look_up = counting()
    with only_writer():
        with act("equipment added", said(1, by="engineer")) as a:
            remembered("a", look_up)
            a.write(Station(code="NEW-1"))
        assert remembered("a", look_up) == 2
        assert station_by_code("new-1").code == "NEW-1"


@pytest.mark.django_db
def test_a_place_of_a_refused_act_is_not_taken_for_one_on_file():
    builders.a_works()

    def be_refused():
        with act("item moved", said(1)) as a:
            assert place_named(a, "STORE") == place_named(a, "STORE")
            raise Refused("held", "No.")

    with only_writer():
        with pytest.raises(Refused, match="No"):
            be_refused()
        with act("item moved", said(2)) as a:
            place = place_named(a, "STORE")
        assert Place.objects.filter(pk=place.pk).exists()


@pytest.fixture
def kept_from_act_to_act():
    """As in a process that serves the plant."""
    keep_from_act_to_act()
    yield
    keep_no_longer()


def in_an_act(look_up, approvals):
    with remembering():
        stand_on(approvals)
        return remembered("a", look_up)


def test_a_serving_process_looks_up_once_until_a_change_is_approved(kept_from_act_to_act):
    look_up = counting()
    assert [in_an_act(look_up, approvals) for approvals in (4, 4, 5, 5)] == [1, 1, 2, 2]


def test_an_act_begun_before_the_newest_approval_tells_the_later_ones_nothing(kept_from_act_to_act):
    look_up = counting()
    with remembering():
        stand_on(4)
        assert remembered("a", look_up) == 1
        assert in_an_act(look_up, 5) == 2  # another one, meanwhile
    assert in_an_act(look_up, 5) == 2


def test_an_act_that_changes_the_set_up_tells_nobody_what_it_saw(kept_from_act_to_act):
    look_up = counting()
    with remembering():
        stand_on(4)
        forget()
        remembered("a", look_up)
    assert in_an_act(look_up, 4) == 2


def test_a_failed_act_tells_nobody_what_it_saw(kept_from_act_to_act):
    look_up = counting()

    def fail():
        with remembering():
            stand_on(4)
            remembered("a", look_up)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    assert in_an_act(look_up, 4) == 2


@pytest.mark.django_db
def test_a_band_approved_between_two_acts_counts_in_the_second(kept_from_act_to_act):
    builders.a_works()
    builders.a_front("F1")
    verdicts = []
    for lower, upper in (("34", "36"), ("30", "31")):
        builders.agreed(specs.CharacteristicSpec("bore", "OSIER-F", "mm", lower=lower, upper=upper))
        (row,) = record_sheet("F1", [Line("bore", ["34.9"], "")], said=said(9))
        (again,) = record_sheet("F1", [Line("bore", ["34.9"], "")], said=said(9))
        assert row.characteristic_revision == again.characteristic_revision
        band = row.characteristic_revision
        verdicts.append(judge(row.value, band.lower, band.upper))
    assert verdicts == [Verdict.WITHIN, Verdict.HIGH]


@pytest.mark.django_db
def test_a_second_act_asks_the_database_for_no_set_up(kept_from_act_to_act):
    builders.a_works()
    for unit in ("F1", "F2"):
        builders.a_front(unit)
    builders.a_step("F1", "vent", work=Work(station="MOULD-1"))
    with CaptureQueriesContext(connection) as asked:
        builders.a_step("F2", "vent", work=Work(station="MOULD-1"))
    told = [query["sql"] for query in asked if query["sql"].startswith("SELECT")]
    assert [sql for sql in told if "catalogue_routerevision" in sql or "equipment_" in sql] == []
