"""What was known on a past moment."""

from datetime import timedelta

import pytest

from records.ledger.clock import clock
from records.ledger.marks import Mark, low_water, mark_at, mark_of_tree
from records.ledger.models import Entry, TreeHead
from records.ledger.sealing import seal_all
from tests.records.ledger.book import NINE, taken

pytestmark = pytest.mark.django_db


@pytest.fixture
def late_entries():
    """The worked example: entry 102 is numbered before 103 and taken after it."""
    for number, seconds in [(101, 0), (102, 7), (103, 5)]:
        taken(number, seconds)


def test_a_mark_leaves_out_the_entry_that_was_numbered_earlier_and_taken_later(late_entries, clock_at):
    clock_at(NINE + timedelta(hours=1))
    assert mark_at(NINE + timedelta(seconds=6)) == Mark(103, (102,), may_grow=False)


@pytest.mark.parametrize(("seconds", "known"), [(-1, []), (0, [101]), (5, [101, 103]), (7, [101, 102, 103])])
def test_the_moment_itself_is_included(late_entries, seconds, known):
    mark = mark_at(NINE + timedelta(seconds=seconds))
    assert list(Entry.objects.filter(mark.known("pk")).order_by("pk").values_list("pk", flat=True)) == known
    assert [number for number in (101, 102, 103) if mark.knows(number)] == known


@pytest.mark.parametrize(("minutes", "may_grow"), [(1.9, True), (2.1, False)])
def test_an_answer_for_a_moment_younger_than_two_minutes_may_grow(late_entries, clock_at, minutes, may_grow):
    clock_at(NINE + timedelta(minutes=minutes))
    assert mark_at(NINE).may_grow is may_grow


def test_the_mark_of_a_tree_knows_what_its_leaves_hold(late_entries):
    seal_all()
    taken(104, 10)
    seal_all()
    assert mark_of_tree(3) == Mark(103)
    assert mark_of_tree(4) == Mark(104)


def test_an_entry_that_comes_late_is_late_to_the_tree_before_and_after_it_is_sealed():
    taken(101, 0)
    taken(103, 5)
    seal_all()
    taken(102, 7)
    before = mark_of_tree(2)
    seal_all()
    assert before == mark_of_tree(2) == Mark(103, (102,))


def test_nothing_waits_below_a_head_two_minutes_older_than_the_last():
    for number, minutes in [(1, 0), (2, 1), (3, 2), (4, 3.5)]:
        taken(number, 60 * minutes)
        with clock.at(NINE + timedelta(minutes=minutes)):
            seal_all()
    assert TreeHead.objects.count() == 4
    assert low_water() == 2


def test_a_head_signed_under_a_clock_set_to_another_year_hides_no_waiting_entry():
    """A works filled by the simulator may be dated in a year to come."""
    for number, year in [(1, 2031), (2, 2026)]:
        taken(number, 0)
        with clock.at(NINE.replace(year=year)):
            seal_all()
    assert low_water() == 0


@pytest.mark.parametrize("minutes", [0, 1, 3, 59, 61, 63, 120])
def test_a_mark_goes_up_to_the_highest_number_taken_by_then_whether_or_not_a_clock_was_put_back(minutes):
    """The slow way is the measure: the highest of all numbers taken by then."""
    moment = NINE + timedelta(minutes=minutes)
    for number, after in [(1, 0), (2, 1), (4, 60), (3, 60.5), (5, 62)]:
        taken(number, 60 * after)
    assert mark_at(moment).upto == highest_by(moment)
    taken(6, 60 * 2)  # the clock was an hour behind
    assert mark_at(moment).upto == highest_by(moment)
    assert mark_at(NINE - timedelta(seconds=1)) == Mark(0)


def highest_by(moment):
    return max((entry.pk for entry in Entry.objects.all() if entry.taken_at <= moment), default=0)
