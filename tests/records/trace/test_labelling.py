"""Labels of a walk equal the slow definition, on graphs with weights, many ways and circles."""

from collections import defaultdict
from itertools import pairwise
from typing import NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from records.trace.labelling import BILLION, CONFIRMED, ENDED, POSSIBLE, circles, label, way_to
from tests.records.trace.slow_walk import slow_labels


class Edge(NamedTuple):
    """A way of one link, with what is usual left out."""

    to: int
    cls: int = CONFIRMED
    share_ppb: int = BILLION


SHARES = st.sampled_from([0, 1, 45_454_545, 90_909_091, 333_333_333, 500_000_000, 999_999_999, BILLION])
WAYS = st.lists(
    st.tuples(
        st.integers(1, 8),
        st.integers(1, 8),
        st.sampled_from([CONFIRMED, CONFIRMED, POSSIBLE, POSSIBLE, ENDED]),
        SHARES | st.integers(0, BILLION),
    ).filter(lambda way: way[0] != way[1]),
    max_size=24,
)
GRAPHS = settings(max_examples=10 * settings().max_examples, suppress_health_check=list(HealthCheck))


def edges_of(ways):
    edges = defaultdict(list)
    for near, far, cls, share in ways:
        edges[near].append(Edge(far, cls, share))
    return edges


def best_link(ways, near, far, cls, share_before):
    """The best share that a link between two items, not worse than a class, makes of the share before it."""
    return max(share_before * s // BILLION for n, f, c, s in ways if (n, f) == (near, far) and c <= cls)


@GRAPHS
@given(WAYS, st.sets(st.integers(1, 8), min_size=1, max_size=2), st.sampled_from([POSSIBLE, ENDED]))
def test_class_and_share_equal_the_slow_definition_and_the_way_shown_has_them(ways, roots, worst):
    found = label(roots, edges_of(ways), worst)
    assert {item: (one.cls, one.share_ppb) for item, one in found.items()} == slow_labels(roots, ways, worst)
    for item, one in found.items():
        way = way_to(item, found)
        assert way[0] in roots
        assert len(set(way)) == len(way)
        share = BILLION
        for near, far in pairwise(way):
            share = best_link(ways, near, far, found[far].cls, share)
        assert share == one.share_ppb


@GRAPHS
@given(WAYS)
def test_the_order_in_which_links_are_read_changes_nothing(ways):
    assert label([1], edges_of(ways), ENDED) == label([1], edges_of(reversed(ways)), ENDED)


@GRAPHS
@given(WAYS, st.sampled_from([POSSIBLE, ENDED]))
def test_used_in_and_made_from_are_inverse_in_item_and_class(ways, worst):
    back = edges_of((far, near, cls, share) for near, far, cls, share in ways)
    down = {root: label([root], edges_of(ways), worst) for root in range(1, 9)}
    up = {root: label([root], back, worst) for root in range(1, 9)}
    for one in range(1, 9):
        for other in range(1, 9):
            if one != other:
                there, here = down[one].get(other), up[other].get(one)
                assert (there and there.cls) == (here and here.cls)


def test_a_circle_that_does_not_hold_the_start_is_walked_once():
    ways = {1: [Edge(2)], 2: [Edge(3, POSSIBLE, 500_000_000)], 3: [Edge(4)], 4: [Edge(2), Edge(5)]}
    found = label([1], ways)
    assert {item: (one.cls, one.share_ppb) for item, one in found.items()} == {
        1: (0, BILLION),
        2: (0, BILLION),
        3: (1, 500_000_000),
        4: (1, 500_000_000),
        5: (1, 500_000_000),
    }
    assert way_to(5, found) == [1, 2, 3, 4, 5]


def test_a_way_back_into_the_start_leaves_the_start_as_it_is():
    found = label([1], {1: [Edge(2, POSSIBLE, 7)], 2: [Edge(1, POSSIBLE, 7)]})
    assert (found[1].cls, found[1].share_ppb, found[1].links) == (0, BILLION, 0)


def test_a_confirmed_link_with_a_share_brings_it_into_a_possible_way():
    found = label([1], {1: [Edge(2, CONFIRMED, 900_000_000)], 2: [Edge(3, POSSIBLE, 500_000_000)]})
    assert (found[2].cls, found[3].cls, found[3].share_ppb) == (0, 1, 450_000_000)


def test_the_two_ends_may_see_another_share_but_never_another_class():
    """Tank with R1 4 and R2 6 kg, 8 kg drawn as D; M from D and, possible 0.9, from R2; F possible 0.5 from M."""
    ways = [(2, 4, CONFIRMED, 600_000_000), (4, 5, CONFIRMED, BILLION)]
    ways += [(2, 5, POSSIBLE, 900_000_000), (5, 6, POSSIBLE, 500_000_000)]
    down = label([2], edges_of(ways))
    up = label([6], edges_of((far, near, cls, share) for near, far, cls, share in ways))
    assert (down[5].cls, down[6].cls, down[6].share_ppb) == (0, 1, 300_000_000)
    assert (up[2].cls, up[2].share_ppb) == (1, 450_000_000)


def test_a_rise_of_share_is_passed_on_to_all_behind():
    ways = {1: [Edge(2, POSSIBLE, 1), Edge(3, POSSIBLE, 10**8)], 2: [Edge(4)], 3: [Edge(5)], 5: [Edge(2)], 4: [Edge(6)]}
    found = label([1], ways)
    assert [found[item].share_ppb for item in (2, 4, 6)] == [10**8, 10**8, 10**8]


def test_nothing_worse_than_asked_for_is_followed():
    ways = {1: [Edge(2, ENDED), Edge(3, POSSIBLE)], 3: [Edge(4, ENDED)]}
    assert set(label([1], ways)) == {1, 3}
    assert {item: one.cls for item, one in label([1], ways, ENDED).items()} == {1: 0, 2: 2, 3: 1, 4: 2}


def _joined(start, ways):
    seen, stack = set(), [start]
    while stack:
        for near, far in ways:
            if near == stack[-1] and far not in seen:
                seen.add(far)
                stack.append(far)
                break
        else:
            stack.pop()
    return seen


@GRAPHS
@given(st.sets(st.tuples(st.integers(1, 6), st.integers(1, 6)).filter(lambda way: way[0] != way[1]), max_size=14))
def test_circles_are_the_items_that_reach_each_other(ways):
    edges = defaultdict(list)
    for near, far in ways:
        edges[near].append(far)
    reached = {item: _joined(item, ways) for item in range(1, 7)}
    due = {
        frozenset(other for other in range(1, 7) if other in reached[item] and item in reached[other]) | {item}
        for item in range(1, 7)
    }
    assert set(circles(edges, range(1, 7))) == {group for group in due if len(group) > 1}


@pytest.mark.parametrize("root", [1, 2])
def test_a_start_without_links_is_alone(root):
    assert list(label([root], {})) == [root]
