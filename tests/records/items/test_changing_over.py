"""What was mounted while a unit was worked: equal to trying every possible moment of every change."""

from datetime import UTC, datetime, timedelta
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.items.changing_over import Mounted, fed_by

DAY = datetime(2026, 3, 2, tzinfo=UTC)


def clock(text):
    hours, minutes = text.split(":")
    return DAY + timedelta(hours=int(hours), minutes=int(minutes))


def tick(n):
    return DAY + timedelta(minutes=n)


def certainties(changes, began, ended):
    return {fed.mounted.lot: "confirmed" if fed.confirmed else "possible" for fed in fed_by(changes, began, ended)}


FINE = 4  # parts of a tick: as many lots as a course may mount within one


@st.composite
def windows_in_turn(draw):
    """Windows one after the other: each begins when the one before has ended, or later; they may touch."""
    edges = sorted(draw(st.lists(st.integers(0, 9), min_size=2, max_size=6).filter(lambda e: len(e) % 2 == 0)))
    return list(zip(edges[::2], edges[1::2], strict=True))


WINDOWS_ANYHOW = st.lists(
    st.tuples(st.integers(0, 6), st.integers(0, 3)).map(lambda w: (w[0], sum(w))), min_size=1, max_size=3
)


def by_trying(spans, began, ended):
    """Lots in the unit in some, and in every, possible course of things.

    Ticks are cut finer, so that changes may fall between two whole ones. Of lots mounted at one moment the one whose
    window stands last stays on.
    """
    some, every = set(), set(range(len(spans)))
    for course in product(*(range(FINE * a, FINE * b + 1) for a, b in spans)):
        turns = sorted(range(len(spans)), key=lambda n: (course[n], spans[n], n))
        ends = dict(zip(turns, [*(course[n] for n in turns[1:]), 10**6], strict=True))
        inside = {n for n in turns if max(course[n], began) < min(ends[n], ended)}
        some |= inside
        every &= inside
    return some, every


def both_ways(spans, began, length):
    changes = [Mounted(n, n, tick(FINE * a), tick(FINE * b)) for n, (a, b) in enumerate(spans)]
    began, ended = FINE * began, FINE * (began + length)
    some, every = by_trying(spans, began, ended)
    due = {n: "confirmed" if n in every else "possible" for n in some}
    return certainties(changes, tick(began), tick(ended)), due


@given(windows_in_turn(), st.integers(0, 10), st.integers(1, 6))
def test_it_equals_trying_every_possible_moment(spans, began, length):
    found, due = both_ways(spans, began, length)
    assert found == due


@given(WINDOWS_ANYHOW, st.integers(0, 10), st.integers(1, 6))
def test_where_windows_overlap_no_lot_is_lost_and_none_is_sure_that_is_not(spans, began, length):
    found, due = both_ways(spans, began, length)
    assert found.keys() == due.keys()
    assert {n for n in found if found[n] == "confirmed"} <= {n for n in due if due[n] == "confirmed"}


def test_a_wide_window_around_a_narrow_one_may_have_come_after_it():
    wide, narrow = Mounted(1, 1, clock("10:00"), clock("12:00")), Mounted(2, 2, clock("10:30"), clock("10:40"))
    assert certainties([wide, narrow], clock("13:00"), clock("13:10")) == {1: "possible", 2: "possible"}


S1 = Mounted(1, 1, clock("8:00"), clock("8:00"))
S2 = Mounted(2, 2, clock("10:00"), clock("10:40"))


@pytest.mark.parametrize(
    ("began", "ended", "due"),
    [
        ("9:50", "10:10", {1: "confirmed", 2: "possible"}),
        ("10:15", "10:35", {1: "possible", 2: "possible"}),
        ("10:30", "10:50", {1: "possible", 2: "confirmed"}),
        ("10:40", "10:50", {2: "confirmed"}),
        ("9:00", "10:00", {1: "confirmed"}),
        ("7:00", "8:00", {}),
        ("7:00", "8:01", {1: "confirmed"}),
    ],
)
def test_worked_example_of_two_spools(began, ended, due):
    """Spool 1 from eight, spool 2 mounted between ten and twenty to eleven."""
    assert certainties([S2, S1], clock(began), clock(ended)) == due


def test_a_unit_that_takes_no_time_is_a_mistake():
    with pytest.raises(ValueError, match="for some time"):
        fed_by([S1], clock("9:00"), clock("9:00"))
