"""Labels of a walk against the slow definition on random graphs, loops among them."""

from hypothesis import given, settings
from hypothesis import strategies as st

from records.trace.labelling import BILLION, CONFIRMED, ENDED, POSSIBLE, Edge, circles, label, way_to

EDGES = st.lists(
    st.tuples(
        st.integers(1, 7),
        st.integers(1, 7),
        st.sampled_from([CONFIRMED, CONFIRMED, POSSIBLE, ENDED]),
        st.sampled_from([BILLION, 500_000_000, 250_000_000, 90_909_091]),
    ),
    max_size=18,
)


def graph(rows):
    edges = {}
    for here, there, cls, share in rows:
        if here != there:
            edges.setdefault(here, []).append(Edge(there, cls, share))
    return edges


def slow_labels(edges, worst):
    """The best one-link extension of the labels before, found by settling the best label left, one at a time."""
    settled, waiting = {}, {1: (CONFIRMED, -BILLION, 0)}
    while waiting:
        item = min(waiting, key=lambda one: waiting[one])
        settled[item] = cls, share, links = waiting.pop(item)
        for edge in edges.get(item, ()):
            longer = (max(cls, edge.cls), -(-share * edge.share_ppb // BILLION), links + 1)
            if edge.to not in settled and longer[0] <= worst:
                waiting[edge.to] = min(waiting.get(edge.to, longer), longer)
    return settled


@given(EDGES, st.sampled_from([POSSIBLE, ENDED]))
@settings(max_examples=600, deadline=None)
def test_labels_equal_the_slow_definition(rows, worst):
    edges = graph(rows)
    got = label([1], edges, worst)
    assert {item: (one.cls, -one.share_ppb, one.links) for item, one in got.items()} == slow_labels(edges, worst)


@given(EDGES)
@settings(max_examples=200, deadline=None)
def test_the_way_that_is_shown_has_the_label_that_is_told(rows):
    edges = graph(rows)
    labels = label([1], edges, ENDED)
    for item, told in labels.items():
        way = way_to(item, labels)
        assert way[0] == 1
        assert way[-1] == item
        assert len(way) == told.links + 1


@given(EDGES)
@settings(max_examples=200, deadline=None)
def test_what_is_used_in_a_thing_is_what_the_thing_is_made_from(rows):
    down = graph(rows)
    up = graph([(there, here, cls, share) for here, there, cls, share in rows])
    for item in range(1, 8):
        for other, found in label([item], down, ENDED).items():
            assert label([other], up, ENDED)[item].cls == found.cls


def test_a_possible_pot_does_not_hide_a_confirmed_one():
    ways = {1: [Edge(2, POSSIBLE, 90_909_091), Edge(3)], 2: [Edge(4)], 3: [Edge(5)], 4: [Edge(6)], 5: [Edge(6)]}
    found = label([1], ways)
    assert (found[6].cls, found[4].cls, found[4].share_ppb) == (CONFIRMED, POSSIBLE, 90_909_091)


def test_circles_are_groups_that_are_made_from_each_other():
    assert circles({1: [2], 2: [3], 3: [1, 4], 4: []}, [1, 4]) == [frozenset({1, 2, 3})]
