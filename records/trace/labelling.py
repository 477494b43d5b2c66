"""The label of everything that a walk reaches: class, share and the way there; no Django.

Class of a link: confirmed 0, possible 1, ended 2. Class of a way is its worst link, its share the product along it in
parts per billion, floored at each link. The label of an item is the best that one more link makes of the labels of
the items before it: class first, then the greatest share, then the fewest links, then the lower item number.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping, Sequence
from heapq import heapify, heappop, heappush
from typing import NamedTuple

CONFIRMED, POSSIBLE, ENDED = 0, 1, 2
BILLION = 10**9


# A way of one link: to which item, of which class, with which share (a link without one counts as whole). A plain
# tuple, as a walk makes thousands of them.
Way = tuple[int, int, int]


class Label(NamedTuple):
    """How an item is reached: ``before`` is the item before it, 0 for a root. [share: parts per billion]"""

    cls: int
    share_ppb: int
    links: int
    before: int


# Of labels of one class the better is the lower: share with a minus, links, the item before.
Rank = tuple[int, int, int]


def label(roots: Iterable[int], edges: Mapping[int, Sequence[Way]], worst: int = POSSIBLE) -> dict[int, Label]:
    """Labels of all items reached from the roots, in classes up to ``worst``; the roots themselves included.

    Parameters
    ----------
    roots : iterable of int
        Items that the walk starts from.
    edges : mapping of int to ways
        Links out of each item, in the direction of the walk.
    worst : int
        The last class that is followed.

    Examples
    --------
    >>> sure = {3: 5, 2: 4, 4: 6, 5: 6}
    >>> ways = {item: [(to, CONFIRMED, BILLION)] for item, to in sure.items()}
    >>> ways[1] = [(2, POSSIBLE, 90_909_091), (3, CONFIRMED, BILLION)]
    >>> found = label([1], ways)
    >>> found[6].cls, found[4].share_ppb
    (0, 90909091)
    """
    labels: dict[int, Label] = {}
    seeds: dict[int, Rank] = dict.fromkeys(sorted(roots), (-BILLION, 0, 0))
    for cls in range(worst + 1):
        _spread(labels, seeds, edges, cls)
        if cls < worst:
            seeds = _seeds(labels, edges, cls + 1)
    return labels


def _spread(labels: dict[int, Label], seeds: Mapping[int, Rank], edges: Mapping[int, Sequence[Way]], cls: int) -> None:
    """Carry labels of one class along links of that class or better, the best label first.

    A link never makes a label better, so a label is final when its turn comes, in whatever order links were read.
    """
    best = dict(seeds)
    turns = [(*rank, item) for item, rank in seeds.items()]
    heapify(turns)
    while turns:
        less, links, before, item = heappop(turns)
        if item in labels:
            continue  # its turn came with a better label
        labels[item] = Label(cls, -less, links, before)
        links += 1
        for to, worse, share in edges.get(item, ()):
            if worse > cls or to in labels:
                continue
            rank = (less if share == BILLION else -(-less * share // BILLION), links, item)
            there = best.get(to)
            if there is None or rank < there:
                best[to] = rank
                heappush(turns, (*rank, to))


def _seeds(labels: Mapping[int, Label], edges: Mapping[int, Sequence[Way]], cls: int) -> dict[int, Rank]:
    """Items first reached in a class: by a link of it from anything labelled before."""
    best: dict[int, Rank] = {}
    for item, here in labels.items():
        for to, worse, share in edges.get(item, ()):
            if worse != cls or to in labels:
                continue
            rank = (-(here.share_ppb * share // BILLION), here.links + 1, item)
            if to not in best or rank < best[to]:
                best[to] = rank
    return best


def way_to(item: int, labels: Mapping[int, Label]) -> list[int]:
    """Items from a root to ``item``, both included."""
    way = [item]
    while before := labels[way[-1]].before:
        way.append(before)
    return way[::-1]


def circles(edges: Mapping[int, Sequence[int]], among: Iterable[int]) -> list[frozenset[int]]:
    """Groups of items that are each made from each other, found from the items named."""
    back: dict[int, list[int]] = defaultdict(list)
    for item, targets in edges.items():
        for target in targets:
            back[target].append(item)
    groups = {_reach(item, edges) & _reach(item, back) | {item} for item in among}
    return sorted((group for group in groups if len(group) > 1), key=sorted)


def _reach(start: int, edges: Mapping[int, Sequence[int]]) -> frozenset[int]:
    seen: set[int] = set()
    queue = deque([start])
    while queue:
        for target in edges.get(queue.popleft(), ()):
            if target not in seen:
                seen.add(target)
                queue.append(target)
    return frozenset(seen)
