"""What was waited for comes due: where somebody looks, at its own time, and no longer once it was done."""

from datetime import timedelta

import pytest

from plant.quantities import read_quantity
from records.floor.snapshot import snapshot_for
from records.items.actions import mix_pot, move_item, receive_lot, release_at_risk, split_lot
from records.items.actions.receiving import Delivery
from records.items.queries import item_by_code
from records.items.risks import risk_of
from records.steps.actions import Outside, measure_again
from records.steps.due import due_ahead, due_now
from tests import builders
from tests.builders import a_person, moment, of, said
from tests.records.floor.test_views import screen, text
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


def at_risk(limit: str = "5 kg") -> None:
    """R9 came in two packages, one of which lies at a station; all of it is released at risk until four."""
    packages = [of("R9-1", "10 kg"), of("R9-2", "10 kg")]
    receive_lot("R9", Delivery("RES-A", read_quantity("20 kg"), "Fell Supply", station="STORE", packages=packages),
                said=said(-48))  # fmt: skip
    release_at_risk("R9", words="needed", limit=read_quantity(limit), until=moment(8), said=said(5, by="review"))
    move_item("R9-1", station="MOULD-1", said=said(5))


def test_the_end_of_a_release_at_risk_is_told_where_the_lot_lies_and_where_its_packages_do():
    at_risk()
    ends = "its release at risk ends 2 Mar 16:00 and it is not accepted yet. Ask Review."
    assert words(moment(7), "MOULD-1") == [f"R9-1: {ends}"]
    assert words(moment(7), "STORE") == [f"R9: {ends}"]
    assert words(moment(7), "TRIM-1") == []


def test_so_is_the_end_of_its_amount_as_long_as_something_of_it_lies_there():
    at_risk("110 g")
    assert words(moment(6), "MOULD-1") == []
    builders.a_lot("HRD-9", "HRD-A")
    mix_pot("P9", mix="EPOXY", inputs=[of("R9-1", "100 g"), of("HRD-9", "30 g")], said=said(5.5))
    told = "R9-1: 10 g is left of its release at risk, and it is not accepted yet. Ask Review."
    assert words(moment(6), "MOULD-1") == words(moment(6.9), "MOULD-1") == [told]


def test_whoever_takes_some_of_it_reads_its_end_beside_the_amount(clock_at):
    at_risk()
    clock_at(moment(6))
    told = "R9-1 is released at risk until 2 Mar 16:00, for 5 kg more."
    page = screen(tablet(), "MOULD-1", "pot", mix="EPOXY", scale="SCALE-1", **{"component-1-1-lot": "R9-1"})
    assert told in text(page)
    assert told in tablet().get("/floor/at/MOULD-1/unit/R9-1/", follow=True).content.decode()
    lots = {lot["code"]: lot for lot in snapshot_for(a_person(), "")["lots"]}
    assert lots["R9-1"]["risk"] == {"until": "2026-03-02T16:00:00.000000Z", "left": "5 kg", "free": "5000"}


def test_what_was_split_off_is_used_as_long_but_counts_no_more():
    at_risk()
    split_lot("R9-2", [of("R9-9", "1 kg")], said=said(5.2))
    assert risk_of(item_by_code("R9-9")).words() == "R9-9 is released at risk until 2 Mar 16:00."
    assert risk_of(builders.a_lot("R8")) is None
