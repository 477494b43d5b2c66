"""What was waited for comes due: where somebody looks, at its own time, and no longer once it was done."""

from datetime import timedelta

import pytest

from plant.quantities import read_quantity
from records.floor.snapshot import snapshot_for
from records.items.actions import release_at_risk
from records.steps.actions import Outside, measure_again
from records.steps.due import due_ahead, due_now
from tests import builders
from tests.builders import a_person, moment, said
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db
AGAIN = "F1: read edge again now. It was 4 mm at first."


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_front("F1")
    clock_at(moment(5))


def put_off(minutes: int = 20) -> None:
    send(tablet(), entry("step", hours=1, unit="F1", operation="vent"))
    measure_again("F1", read=Outside("edge", "4", "mm", "trim"), minutes=minutes, said=said(5))


def words(now, station=""):
    return [one.words(now) for one in due_now(now, station)]


def test_a_number_comes_due_at_its_time_and_at_the_station_where_its_unit_stands(clock_at):
    put_off()
    assert words(moment(5)) == []
    due = moment(5) + timedelta(minutes=20)
    clock_at(due)
    assert words(due) == words(due, "MOULD-1") == [AGAIN]
    assert words(due, "TRIM-1") == []
    for address, role in (("/floor/", "operator"), ("/floor/at/MOULD-1/", "operator"), ("/review/", "review")):
        assert AGAIN in tablet(role).get(address).content.decode(), address
    assert AGAIN not in tablet().get("/floor/at/TRIM-1/").content.decode()


def test_it_is_due_no_more_once_the_step_was_logged(clock_at):
    put_off(minutes=1)
    clock_at(moment(6))
    readings = [{"name": "edge", "value": "2", "unit": "mm"}]
    (answer,) = send(tablet(), entry("step", hours=5.5, done=True, unit="F1", operation="trim", readings=readings))
    assert answer["outcome"] in ("taken", "flagged")
    assert words(moment(6)) == []


def test_a_tablet_takes_along_what_comes_due_within_a_day():
    put_off()
    (due,) = snapshot_for(a_person(), "")["due"]
    assert (due["what"], due["code"], due["station"], due["name"]) == ("again", "F1", "MOULD-1", "edge")
    assert due["at"] == "2026-03-02T13:20:00.000000Z"


def test_a_release_at_risk_that_ends_is_told_an_hour_before():
    builders.a_delivery("R9")
    until = moment(8)
    release_at_risk("R9", words="needed", limit=read_quantity("5 kg"), until=until, said=said(5, by="review"))
    assert words(moment(5)) == []
    told = [one for one in due_ahead(moment(5)) if one.what == "risk"]
    assert [(one.code, one.at, one.ends) for one in told] == [("R9", moment(7), until)]
    assert words(moment(7)) == ["R9: its release at risk ends 2 Mar 16:00 and it is not accepted yet. Ask Review."]
