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


WAYS_OF_A_CLOCK = {
    "it ran on": [(1, 0), (2, 1), (4, 60), (3, 60.5), (5, 62)],
    "it was put back an hour": [(1, 0), (2, 1), (4, 60), (3, 60.5), (5, 62), (6, 2)],
    "it ran ahead and was put right": [(1, 0), (2, 60), (3, 62), (4, 3), (5, 4), (6, 61), (7, 90)],
    "it was put right and the time has passed since": [(1, 0), (2, 60), (3, 3), (4, 62), (5, 200)],
    "it ran ahead twice": [(1, 0), (2, 30), (3, 1), (4, 31), (5, 80), (6, 32), (7, 81), (8, 300)],
    "one that was taken late": [(1, 0), (3, 60), (4, 3), (2, 3.5), (5, 100)],
}
MOMENTS = [-1, 0, 1, 2, 3, 3.6, 10, 30, 31, 31.5, 32, 59, 60, 60.7, 61, 61.5, 62, 79, 80, 81, 89, 90, 120, 300]


@pytest.mark.parametrize("sealed_after", [0, 1, 3, 5, 99])
@pytest.mark.parametrize("told", WAYS_OF_A_CLOCK.values(), ids=WAYS_OF_A_CLOCK)
def test_what_was_known_by_a_moment_is_exact_however_the_clock_was_set(told, sealed_after):
    """The slow way is the measure: whatever had been taken by then. Sealed all along, late or never."""
    for done, (number, minutes) in enumerate(told, 1):
        taken(number, 60 * minutes)
        if sealed_after and done % sealed_after == 0:
            seal_all()
    for minutes in MOMENTS:
        moment = NINE + timedelta(minutes=minutes)
        known = {entry.pk for entry in Entry.objects.all() if entry.taken_at <= moment}
        mark = mark_at(moment)
        assert (mark.upto, {n for n, _ in told if mark.knows(n)}) == (max(known, default=0), known), minutes


def test_a_head_says_which_times_were_lived_through_twice():
    for number, minutes in [(1, 0), (2, 60), (3, 3), (4, 4)]:
        taken(number, 60 * minutes)
        seal_all()
    spans = TreeHead.objects.order_by("size").values_list("back_from", "back_to")
    hour = NINE + timedelta(minutes=60)
    assert list(spans) == [(None, None)] * 2 + [(NINE + timedelta(minutes=n), hour) for n in (3, 4)]
