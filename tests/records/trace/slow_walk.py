"""The slow definition of a label, by rounds over all links until nothing changes; nothing of the program's own walk."""

from collections.abc import Iterable, Mapping

BILLION = 10**9
# From, to, class, share in parts per billion.
Way = tuple[int, int, int, int]


def slow_labels(roots: Iterable[int], ways: Iterable[Way], worst: int) -> dict[int, tuple[int, int]]:
    """Class and share of everything reached.

    Class of an item: the least worst link over all ways to it. Its share, among labels of the items before it: the
    greatest that one more link makes, where the worse of label and link is the item's class.
    """
    ways, roots = list(ways), set(roots)
    classes = _classes(roots, ways, worst)
    shares: Mapping[int, int] = dict.fromkeys(roots, BILLION)
    while True:
        following = dict.fromkeys(roots, BILLION)
        for near, far, cls, share in ways:
            if near in shares and far not in roots and max(classes[near], cls) == classes.get(far):
                following[far] = max(following.get(far, 0), shares[near] * share // BILLION)
        if following == shares:
            return {item: (classes[item], share) for item, share in shares.items()}
        shares = following


def _classes(roots: set[int], ways: list[Way], worst: int) -> dict[int, int]:
    """The best class in which each item is reached."""
    classes = dict.fromkeys(roots, 0)
    for limit in range(worst + 1):
        grown = True
        while grown:
            grown = False
            for near, far, cls, _ in ways:
                if near in classes and classes[near] <= limit and cls <= limit and far not in classes:
                    classes[far] = limit
                    grown = True
    return classes
