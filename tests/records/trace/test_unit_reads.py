"""What the page of an item is made of: its way, what went in, where it is, in words and in order."""

import pytest

from records.items.actions import lift_hold, place_hold, put_in, renumber, scrap, take_out
from records.items.queries import item_by_code, standing_of
from records.steps.actions import send_out
from records.trace.content import content_of
from records.trace.facts import lot_facts, next_step, state_of, whereabouts_words
from records.trace.history import measured_on
from records.trace.listing import lists_of
from records.trace.living import life_of
from records.trace.queries import where_used
from records.trace.way import way_of_item
from tests import builders, worlds
from tests.builders import moment, said
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db


@pytest.fixture
def frame():
    builders.a_works()
    return builders.a_frame()


def words(item) -> list[str]:
    return [happening.what for happening in way_of_item(item_by_code(item.code))]


def test_the_way_tells_steps_holds_numbers_and_sending_out_in_order(frame):
    hold = place_hold("X1", reason="doubt", words="label torn", said=said(3))
    lift_hold(hold.entry.key, words="printed again", said=said(4))
    renumber("X1", to="X9", words="wrong year", said=said(5))
    send_out(["X9"], to="Painter Quarry Row", said=said(6))
    assert words(frame) == [
        "bond",
        "held: a doubt about the record",
        "hold lifted",
        "renumbered X9",
        "sent out to Painter Quarry Row",
    ]


def test_rework_is_told_at_the_frame_and_at_what_was_taken_out_and_put_in(frame):
    rear = next(row.found.code for row in content_of(frame) if row.found.kind == "rear")
    builders.a_finished_rear("B9")
    take_out("X1", item=rear, words="gap in the bond line", said=said(5))
    put_in("X1", item="B9", said=said(6))
    assert words(frame) == ["bond", f"taken out {rear}", "put in B9"]
    assert words(item_by_code(rear))[-1] == "taken out of X1"
    assert words(item_by_code("B9"))[-1] == "put into X1"
    life = life_of(frame, standing_of(frame), way_of_item(frame))
    assert len(life.loops) == 1
    first, second = life.joined
    assert [word for _, word in first.lines][-1] == "and 1 more"  # front, rear and adhesive: the rear at its own time
    assert [word for _, word in second.lines] == ["B9"]


def test_the_way_of_a_lot_begins_with_its_booking_in_and_ends_with_what_was_written_off():
    builders.a_works()
    builders.a_lot("R1")
    scrap("R1", words="spilt", quantity=builders.read_quantity("1 kg"), said=said(2))
    assert words(item_by_code("R1")) == ["booked in", "accepted", "1 kg written off"]
    assert ("Written off", "1 kg") in lot_facts(item_by_code("R1"))


def test_what_was_put_in_itself_stands_before_what_is_in_that(frame):
    near = [row.is_near for row in content_of(frame)]
    assert near == sorted(near, reverse=True)
    assert {row.found.kind for row in content_of(frame) if row.is_near} == {"front", "rear", "adhesive-mix"}


def test_a_held_lot_is_told_as_held_among_what_went_in(frame):
    place_hold("R1", reason="material", said=said(3))
    assert {row.found.code: row.state for row in content_of(frame)}["R1"] == "held"


def test_a_unit_says_where_it_is_and_what_comes_next(frame):
    front = item_by_code(next(row.found.code for row in content_of(frame) if row.found.kind == "front"))
    assert whereabouts_words(standing_of(front)) == "in X1"
    assert next_step(front, standing_of(front)) == ""
    assert next_step(frame, standing_of(frame)) == "finish"
    scrap("X1", words="dropped", said=said(4))
    standing = standing_of(item_by_code("X1"))
    assert (state_of(frame, standing), next_step(frame, standing)) == ("scrapped", "")


def test_an_entry_whose_time_is_unsure_stands_where_it_was_received_and_says_so(clock_at):
    builders.a_works()
    front = builders.a_front("F7")
    clock_at(moment(9))
    unsure = entry("step", hours=4.5, done=True, unit="F7", operation="vent") | {"time_unsure": True}
    send(tablet(), entry("move", hours=8, item="F7", station="TRIM-1"), unsure)
    way = way_of_item(front)
    assert [one.what for one in way] == ["mould", "put to TRIM-1", "vent"]
    assert way[-1].short == "Vent, unsure"
    assert way[-1].told[-1] == (
        "time unsure, the tablet’s clock was off: it stands where it was received, 2026-03-02 17:00"
    )
    life = life_of(front, standing_of(front), way)
    assert [spot.word for spot in life.spots] == ["Mould", "To trim-1", "Vent, unsure"]
    page = tablet("review").get("/trace/unit/F7/").content.decode()
    assert "2 Mar 12:30?" in page


def test_a_lot_is_in_quarantine_until_somebody_decides():
    builders.a_works()
    lot = builders.a_delivery("R1")
    assert state_of(lot, standing_of(lot)) == "quarantine"


def test_a_corrected_measurement_shows_what_it_said_before():
    worlds.a_straight_week()
    told = [(m.got, m.before, m.verdict) for m in measured_on([item_by_code(worlds.HERE).pk])]
    assert ("34.85", (), "near-edge") in told
    assert ("34.951", (), "outside-high") in told


def test_what_is_inside_a_frame_that_is_listed_stands_apart(frame):
    lists = lists_of(where_used("R1"))
    assert [found.code for found in lists.frames] == ["X1"]
    assert {found.kind for found in lists.inside} == {"front", "rear"}
    assert not {found.kind for found in lists.loose} & {"front", "rear", "preform"}
    assert lists.where == ["1 in the works"]
