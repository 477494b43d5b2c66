"""Change-over windows against every moment that each change can have had."""

from datetime import UTC, datetime, timedelta
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from records.items.changing_over import Mounted, fed_by

START = datetime(2026, 3, 2, 8, tzinfo=UTC)


def at(quarter):
    return START + timedelta(minutes=15 * quarter)


def found(changes, began, ended):
    mounted = [Mounted(n, n, at(a), at(b)) for n, (a, b) in enumerate(changes, start=1)]
    return {fed.mounted.lot: fed.confirmed for fed in fed_by(mounted, at(began), at(ended))}


def test_the_worked_tubes_of_a_change_between_ten_and_ten_forty():
    changes = [(0, 0), (8, 10)]
    assert found(changes, 7, 9) == {1: True, 2: False}
    assert found(changes, 8, 10) == {1: False, 2: False}
    assert found(changes, 9, 12) == {1: False, 2: True}


@st.composite
def windows(draw):
    ends = sorted(draw(st.lists(st.integers(0, 12), min_size=2, max_size=6, unique=True)))
    pairs = [(ends[n], ends[n + 1]) for n in range(0, len(ends) - 1, 2)]
    began = draw(st.integers(0, 11))
    return pairs, began, draw(st.integers(began + 1, 13))


@given(windows())
@settings(max_examples=200, deadline=None)
def test_it_equals_the_enumeration_of_all_moments(case):
    changes, began, ended = case
    always, ever = None, set()
    for moments in product(*[range(a, b + 1) for a, b in changes]):
        stops = [*moments[1:], 10**6]
        held = {n for n, (m, s) in enumerate(zip(moments, stops, strict=True), 1) if m < ended and began < s and m < s}
        always = held if always is None else always & held
        ever |= held
    got = found(changes, began, ended)
    assert {lot for lot, sure in got.items() if sure} == always
    assert ever <= set(got)


def test_a_unit_that_takes_no_time_is_a_wrong_call():
    with pytest.raises(ValueError, match="some time"):
        found([(0, 0)], 3, 3)
