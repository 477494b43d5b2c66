"""State rows are locked, all of an act at once and in one order: of two acts the second waits, and none in a circle."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from records.ledger.asking import Asking, columns, instances

from .models import Item, ItemState, Link
from .queries import PACKAGE


def lock_items(items: Iterable[Item]) -> None:
    """Lock the state rows of items, in order of their numbers, and read them afresh."""
    _lock(_LOCKED, items)


def lock_for_use(items: Iterable[Item]) -> None:
    """Lock what goes into something and what it goes into, and with packages the deliveries that they came in.

    Packages share what may be used of a delivery at risk, so two of one are not used at once. Whoever draws from lots
    locks all of an act here, in one go: by one's own order one would wait for another who waits for one.
    """
    _lock(_LOCKED_WITH_DELIVERIES, items)


def _lock(locked: Asking, items: Iterable[Item]) -> None:
    wanted: dict[int, list[Item]] = defaultdict(list)
    for item in items:
        wanted[item.pk].append(item)
    for row in locked.rows(items=wanted) if wanted else ():
        (state,) = instances(row, _STATE)
        for item in wanted.get(state.pk, ()):
            item.state = state


_STATE = {"": ItemState}
_IN_ORDER = ItemState.objects.order_by("pk").values_list(*columns(_STATE))
_LOCKED = Asking(lambda _, items: _IN_ORDER.select_for_update().filter(item_id__among=items))
_LOCKED_WITH_DELIVERIES = Asking(
    lambda _, items: _IN_ORDER.select_for_update().filter(
        item_id__in=ItemState.objects.filter(item_id__among=items)
        .values("item_id")
        .union(Link.objects.filter(child_id__among=items, reason=PACKAGE).values("parent_id"))
    )
)


def deliveries_of(lots: Iterable[int]) -> dict[int, int]:
    """The delivery of each lot that came as a package of one."""
    return dict(_DELIVERIES.rows(lots=lots))


_DELIVERIES = Asking(
    lambda _, lots: (
        Link.objects.newest()
        .filter(child_id__among=lots, reason=PACKAGE, status=Link.Status.STANDS)
        .values_list("child_id", "parent_id")
    )
)
