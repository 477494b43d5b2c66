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
# Entries above the last head that are looked through before every entry is.
MOST_UNSEALED = 5000


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
    latest = next((taken_at for (taken_at,) in _LATEST.rows(until=moment)), None)
    if latest is None:
        return Mark(0, may_grow=_may_grow(moment))
    if _was_turned_back(latest):  # numbers and times run apart: every entry is looked at
        known = Entry.objects.filter(taken_at__lte=moment).aggregate(top=Max("pk"))["top"]
        later = Entry.objects.filter(pk__lt=known, taken_at__gt=moment).order_by("pk")
        return Mark(known, tuple(later.values_list("pk", flat=True)), _may_grow(moment))
    # What was taken a window before the latest is numbered below it.
    known = max(number for number, _ in _TAKEN.rows(since=latest - LATE_WINDOW, until=latest))
    after = _TAKEN.rows(since=moment, until=moment + LATE_WINDOW)
    late = (number for number, taken_at in after if number < known and taken_at > moment)
    return Mark(known, tuple(sorted(late)), _may_grow(moment))


def _may_grow(moment: datetime) -> bool:
    return clock.now() - moment < LATE_WINDOW


def _was_turned_back(latest: datetime) -> bool:
    """Whether a clock put back can have set a later number to an earlier time around the latest entry by a moment."""
    if _TURNED.rows(at=latest):
        return True
    upto = next((upto for (upto,) in _SEALED.rows()), 0)
    unsealed = [taken_at for (taken_at,) in _ABOVE.rows(upto=upto)]
    if not unsealed:
        return False
    ((newest,),) = _LATEST.rows(until=None)
    earliest = min(unsealed)
    return len(unsealed) == MOST_UNSEALED or (earliest <= latest and earliest < newest - LATE_WINDOW)


def span_lived_twice(first: int, last: int) -> tuple[datetime, datetime] | None:
    """Times that entries of these numbers fell back to, and that they fell back from; none where the clock ran on.

    The earliest and the latest of them all: a moment outside is sure, one inside has to be looked at.
    """
    earlier = Entry.objects.filter(pk__lt=first).order_by("-taken_at").values_list("taken_at", flat=True).first()
    highest, back = earlier, []
    times = Entry.objects.filter(pk__gte=first, pk__lte=last).order_by("pk").values_list("taken_at", flat=True)
    for taken_at in times.iterator():
        if highest is not None and taken_at < highest - LATE_WINDOW:
            back += [taken_at, highest]
        highest = taken_at if highest is None else max(highest, taken_at)
    return (min(back), max(back)) if back else None


def _latest(_: Mark | None, until: Slot | None) -> QuerySet:
    rows = Entry.objects.all() if until is None else Entry.objects.filter(taken_at__lte=until)
    return rows.order_by("-taken_at").values_list("taken_at")[:1]


_LATEST = Asking(_latest)
_SEALED = Asking(lambda _: TreeHead.objects.order_by("-size").values_list("upto")[:1])
# By number: the earliest time asked for alone would be sought along all times there are.
_ABOVE = Asking(
    lambda _, upto: Entry.objects.filter(pk__gt=upto).order_by("pk").values_list("taken_at")[:MOST_UNSEALED]
)
_TURNED = Asking(lambda _, at: TreeHead.objects.filter(back_from__lte=at, back_to__gte=at).values_list("size")[:1])
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
