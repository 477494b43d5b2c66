"""Which lot was mounted while a unit was worked, when each change is known only to lie between two moments; no Django.

Lot k was mounted at an unknown moment in [a_k, b_k]. Where one window follows the other, a unit worked over [s, e)
holds lot k for certain if [s, e) meets [b_k, a_k+1), and possibly if it meets [a_k, b_k+1). The last lot has no end.
Where windows overlap nobody knows which lot came first: then a lot is taken off only by one that certainly came later,
and none is certain that another may have replaced. Plain reasoning, checked against enumeration in the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice


@dataclass(frozen=True)
class Mounted:
    """A lot and the window in which it was mounted."""

    number: int
    lot: int
    not_before: datetime
    not_after: datetime


@dataclass(frozen=True)
class Fed:
    """A lot that a unit holds, for certain or possibly."""

    mounted: Mounted
    confirmed: bool


def fed_by(changes: Sequence[Mounted], began: datetime, ended: datetime) -> list[Fed]:
    """Lots that a unit worked from ``began`` up to ``ended`` holds."""
    if began >= ended:
        raise ValueError(f"a unit is worked for some time, got {began} to {ended}")
    order = sorted(changes, key=lambda change: (change.not_before, change.not_after, change.number))
    found = []
    earlier_end: datetime | None = None
    for n, change in enumerate(order):
        if _is_sure(change, order[n + 1 : n + 2], earlier_end, began, ended):
            found.append(Fed(change, True))
        elif _is_possible(change, _taken_off(change, order, n), began, ended):
            found.append(Fed(change, False))
        earlier_end = max(earlier_end or change.not_after, change.not_after)
    return found


def _is_sure(
    change: Mounted, following: Sequence[Mounted], earlier_end: datetime | None, began: datetime, ended: datetime
) -> bool:
    """Whether the lot was there whatever the moments were; ``earlier_end`` is when the last one before was mounted."""
    may_be_replaced = any(later.not_before <= max(change.not_after, began) for later in following)
    may_be_overtaken = earlier_end is not None and earlier_end > change.not_before and began > change.not_before
    return change.not_after < ended and not may_be_replaced and not may_be_overtaken


def _taken_off(change: Mounted, order: Sequence[Mounted], n: int) -> datetime | None:
    """The moment by which another lot was certainly mounted after this one."""
    gone: datetime | None = None
    for later in islice(order, n + 1, None):
        if gone is not None and later.not_before >= gone:
            break
        if later.not_before >= change.not_after:
            gone = later.not_after if gone is None else min(gone, later.not_after)
    return gone


def _is_possible(change: Mounted, gone: datetime | None, began: datetime, ended: datetime) -> bool:
    return change.not_before < ended and (gone is None or (began < gone and change.not_before < gone))
