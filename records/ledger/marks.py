"""Marks: what was known on a past moment, as a filter on entry numbers that is the same for every table."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Max, Q, QuerySet

from .asking import Asking, Slot
from .clock import clock
from .models import Entry, Leaf, TreeHead

# An act that runs longer than a minute refuses to end, and statements end after half a minute: an entry that is
# numbered below the mark was taken at most this much later.
LATE_WINDOW = timedelta(minutes=2)


@dataclass(frozen=True)
class Mark:
    """Known is what has an entry number up to ``upto`` and is not among ``late``."""

    upto: int
    late: tuple[int, ...] = ()
    may_grow: bool = False

    def known(self, column: str) -> Q:
        """Filter on a column that holds an entry number."""
        condition = Q(**{f"{column}__lte": self.upto})
        return condition & ~Q(**{f"{column}__among": self.late}) if self.late else condition

    def knows(self, entry: int) -> bool:
        return entry <= self.upto and entry not in self.late


def mark_at(moment: datetime) -> Mark:
    """Mark of what had been taken by a moment, that moment included."""
    upto = _highest(moment)
    after = _TAKEN.rows(since=moment, until=moment + LATE_WINDOW)
    late = (number for number, taken_at in after if number < upto and taken_at > moment)
    return Mark(upto, tuple(sorted(late)), may_grow=clock.now() - moment < LATE_WINDOW)


def _highest(moment: datetime) -> int:
    """Highest number of an entry taken by a moment; what was taken a window before the latest is numbered below it."""
    latest = next((taken_at for (taken_at,) in _LATEST.rows(until=moment)), None)
    if latest is None:
        return 0
    (last,), (newest,) = *_LATEST.rows(until=None), *_NEWEST.rows()
    if last - newest > LATE_WINDOW:  # a clock was put back, so the numbers tell nothing: every entry is looked at
        return Entry.objects.filter(taken_at__lte=moment).aggregate(top=Max("pk"))["top"]
    return max(number for number, _ in _TAKEN.rows(since=latest - LATE_WINDOW, until=latest))


def _latest(_: Mark | None, until: Slot | None) -> QuerySet:
    rows = Entry.objects.all() if until is None else Entry.objects.filter(taken_at__lte=until)
    return rows.order_by("-taken_at").values_list("taken_at")[:1]


_LATEST = Asking(_latest)
_NEWEST = Asking(lambda _: Entry.objects.order_by("-pk").values_list("taken_at")[:1])
_TAKEN = Asking(
    lambda _, since, until: Entry.objects.filter(taken_at__gte=since, taken_at__lte=until).values_list("pk", "taken_at")
)


def mark_of_tree(size: int) -> Mark:
    """Mark of what a sealed tree of a size holds: reproducible for ever."""
    upto = TreeHead.objects.get(size=size).upto
    later = Leaf.objects.filter(index__gte=size, entry_id__lt=upto).values_list("entry_id", flat=True)
    # What still waits will take a later place: it is late already.
    waiting = Entry.objects.filter(leaf=None, pk__gt=low_water(), pk__lt=upto).values_list("pk", flat=True)
    return Mark(upto, tuple(sorted({*later, *waiting})))


def low_water() -> int:
    """Entry number below which nothing can be waiting for its place in the tree.

    An act ends within a minute, so what was numbered by a head two minutes before the last one was there for the last.
    """
    # Heads by size, not by time: a works may have been filled under a clock that was set to another year.
    heads = TreeHead.objects.order_by("-size").values_list("signed_at", "upto")
    last = heads.first()
    if last is None:
        return 0
    return next((upto for signed_at, upto in heads.iterator(chunk_size=200) if signed_at < last[0] - LATE_WINDOW), 0)
