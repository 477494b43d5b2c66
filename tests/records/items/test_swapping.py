"""Two units that lie in each other's carton: both lists, the places and every trace are right after one act."""

import pytest
from django.core.management import call_command
from django.urls import reverse

from records.items.actions import return_frame, swap_consigned
from records.items.lots import consignment_page, consignment_rows
from records.items.models import Consignment, ConsignmentLine
from records.items.queries import item_by_code, places_named, standing_of, whereabouts
from records.ledger.position import mark_of_now
from records.ledger.sealing import seal_all
from records.release.actions import release_units, ship
from records.release.queries import lines_shipped
from records.steps.actions import send_out
from records.trace.queries import Asked, where_used
from tests import builders, shelf, worlds
from tests.builders import said
from tests.records.floor.told import tablet
from tests.refusing import refuses

pytestmark = pytest.mark.django_db
FOUND = "the dealer read the other number"


@pytest.fixture(autouse=True)
def shipped(clock_at):
    two_shipped()
    clock_at(builders.moment(20))


@shelf.kept
def two_shipped():
    """Two frames, each shipped to a dealer of its own; the second left an hour later."""
    builders.a_works()
    for n, hours in ((1, 6), (2, 7)):
        builders.a_front(f"F{n}", tube=f"T{n}", pots=[f"P{n}"])
        builders.a_step(f"F{n}", "vent")
        builders.a_step(f"F{n}", "trim")
        builders.a_rear(f"B{n}", tube=f"U{n}", pots=[f"Q{n}"])
        builders.a_step(f"B{n}", "trim")
        builders.a_finished_frame(f"X{n}", front=f"F{n}", rear=f"B{n}")
        release_units([f"X{n}"], said=said(5))
        ship([f"X{n}"], to=f"Dealer {n}", said=said(hours))


def at(code: str, mark=None) -> str:
    item = item_by_code(code)
    place = whereabouts([item.pk], mark)[item.pk].place
    return places_named([place])[place]


def listed() -> dict[str, list[str]]:
    rows = Consignment.objects.order_by("pk").select_related("place__party")
    return {str(row.place): [unit.code for unit in consignment_page(row).units] for row in rows}


def swap(hours: float = 9, **more):
    return swap_consigned("X1", "X2", words=FOUND, said=said(hours, **more))


def test_both_are_where_they_lie_and_each_list_holds_one():
    swap()
    assert (at("X1"), at("X2")) == ("Dealer 2", "Dealer 1")
    assert listed() == {"Dealer 1": ["X2"], "Dealer 2": ["X1"]}
    assert {row.units for row in consignment_rows()} == {1}
    assert {(line.item.code, str(line.consignment.place)) for line in lines_shipped()} == {
        ("X1", "Dealer 2"),
        ("X2", "Dealer 1"),
    }
    assert str(item_by_code("X1").state.place) == "Dealer 2"


def test_a_recall_names_who_has_it_now_and_as_known_before_who_was_told_to_have_it():
    before = mark_of_now()
    swap()
    (now,) = where_used("P1").frames
    (then,) = where_used("P1", Asked(before)).frames
    assert now.at == "Dealer 2"
    assert then.at == "Dealer 1"
    assert (at("X1", before), at("X2", before)) == ("Dealer 1", "Dealer 2")


def test_swapped_back_they_are_as_they_were():
    swap()
    swap(hours=10)
    assert (at("X1"), at("X2")) == ("Dealer 1", "Dealer 2")
    assert ConsignmentLine.objects.count() == 6


def test_a_repeat_changes_nothing():
    one = said(9)
    first = swap_consigned("X1", "X2", words=FOUND, said=one)
    assert swap_consigned("X1", "X2", words=FOUND, said=one) == first
    assert ConsignmentLine.objects.count() == 4


def test_a_frame_that_comes_home_afterwards_comes_from_who_had_it():
    swap()
    returned = return_frame("X1", station="STORE", words="scratched", said=said(12))
    assert str(returned.line.consignment.place) == "Dealer 2"


def test_what_is_not_away_or_left_together_or_for_another_end_is_refused():
    builders.a_vented_front("F3", tube="T3", pots=["P3"])
    with refuses("not-out", "F3 is not away. Only what is out or shipped is swapped."):
        swap_consigned("X1", "F3", words=FOUND, said=said(9))
    builders.a_vented_front("F4", tube="T4", pots=["P3"])
    send_out(["F3", "F4"], to="Beck Painters", said=said(8))
    with refuses("nothing-changed", "there is nothing to swap"):
        swap_consigned("F3", "F4", words=FOUND, said=said(9))
    with refuses("nothing-changed", "book the one back in first"):
        swap_consigned("X1", "F3", words=FOUND, said=said(9))
    with refuses("itself"):
        swap_consigned("X1", "X1", words=FOUND, said=said(9))
    with refuses("no-reason", "Write how it was found"):
        swap_consigned("X1", "X2", words=" ", said=said(9))


def test_the_page_swaps_them_and_the_units_page_says_so():
    code = Consignment.objects.order_by("pk").first().code
    page = tablet().get(reverse("items:consignment", args=[code])).content.decode()
    assert "Two lie in each other’s carton" in page
    sent = worlds.press(tablet(), reverse("items:consignment_swap", args=[code]), one="X1", other="x2", words=FOUND)
    assert sent.status_code == 302
    page = tablet().get(reverse("items:consignment", args=[code])).content.decode()
    assert "X2" in page
    assert "Put right" in page
    other = Consignment.objects.order_by("pk").last().code
    assert f"as in {other}, not in {code}" in tablet().get(reverse("trace:unit", args=["X1"])).content.decode()


def test_the_book_and_the_states_agree_afterwards(capsys):
    swap()
    seal_all()
    call_command("verify")
    assert standing_of(item_by_code("X1")).where.state == "shipped"
