"""Which lot was mounted while a unit was worked, when each change is known only to lie between two moments; no Django.

Lot k was mounted at an unknown moment in [a_k, b_k]. A unit worked over [s, e) holds lot k for certain if [s, e) meets
[b_k, a_k+1), and possibly if it meets [a_k, b_k+1). The last lot has no end. Plain reasoning, checked against
enumeration in the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime


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
    for change, following in zip(order, [*order[1:], None], strict=True):
        sure_end = following.not_before if following else None
        last_end = following.not_after if following else None
        if _meets(began, ended, change.not_after, sure_end):
            found.append(Fed(change, True))
        elif _meets(began, ended, change.not_before, last_end):
            found.append(Fed(change, False))
    return found


def _meets(began: datetime, ended: datetime, start: datetime, stop: datetime | None) -> bool:
    """Whether two half-open spans have a moment in common; an empty span has none."""
    return began < (stop or ended) and start < ended and (stop is None or start < stop)
