"""What may have gone in while nobody was told of it is answered by the entry that tells it: the doubt is withdrawn.

Such doubts are written when a tablet is lost (``records.steps.lost``). An entry that tells what went into a thing at
that time names all of it, so it answers every doubt of that kind of lot about the thing; at another time, and from
another tablet, only the doubt about the very lot that it names. A swap of labels moves doubts with what they are about;
they stay those of their tablet (``move_doubt``).
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from plant.people.models import DeviceEnded
from records.ledger.acts import Act
from records.ledger.asking import Asking

from .models import DoubtMoved, Item, Link

LOST = "tablet-lost"
KNOWN = "tablet-answered"  # why a doubt was withdrawn
# What is logged with a link is told at once; so much later it tells of the past. A choice of this project, no source.
TOLD_AT_ONCE = timedelta(minutes=1)


def answer_doubts(a: Act, child: Item, lots: Iterable[Item] = (), units: Iterable[Item] = ()) -> list[Link]:
    """Withdraw doubts that are answered by ``child`` being made of these lots and units, in the open act.

    A unit that went in is answered for as a whole: what it was filled for is what it went into.
    """
    if not _tells_of_the_past(a):
        return []
    named, whole = list(lots), {unit.pk for unit in units}
    found = _doubts_of({child.pk} | whole) if named or whole else []
    codes, kinds = {lot.pk for lot in named}, {lot.part.kind for lot in named}
    spans = tablets_of(found)

    def is_answered(doubt: Link) -> bool:
        end = spans.get(doubt.pk)
        then = end is not None and (a.said.device == end.device.code or doubt.at <= a.at <= (end.at or a.at))
        if doubt.child_id in whole:
            return then
        return doubt.parent_id in codes or (then and doubt.parent.part.kind in kinds)

    return a.write_all(answered(doubt) for doubt in found if is_answered(doubt))


def answered(doubt: Link) -> Link:
    """The version that withdraws a doubt."""
    return doubt.next_version(status=Link.Status.WITHDRAWN, reason=KNOWN)


def tablets_of(links: Iterable[Link]) -> dict[int, DeviceEnded]:
    """The lost tablet that left each doubt among these links, by the number of its row; two queries."""
    doubts = [link for link in links if link.reason == LOST]
    if not doubts:
        return {}
    moved = DoubtMoved.objects.filter(link__in=[doubt.line for doubt in doubts])
    entries = dict(moved.values_list("link_id", "ended__entry_id"))
    left_by = {doubt.pk: entries.get(doubt.line, doubt.entry_id) for doubt in doubts}
    ends = {
        end.entry_id: end for end in DeviceEnded.objects.filter(entry__in=left_by.values()).select_related("device")
    }
    return {doubt: ends[entry] for doubt, entry in left_by.items() if entry in ends}


def move_doubt(a: Act, moved: Link, ended: DeviceEnded) -> None:
    """Write a doubt in another entry than the lock-out, with the tablet that it stays a doubt of."""
    moved.reason = LOST
    a.write(DoubtMoved(link=a.write(moved), ended=ended))


def _tells_of_the_past(a: Act) -> bool:
    return a.said.done or a.at < a.entry.taken_at - TOLD_AT_ONCE


def _doubts_of(children: Iterable[int]) -> list[Link]:
    found = [number for (number,) in _DOUBTS.rows(children=children)]
    rows = Link.objects.filter(pk__in=found).select_related("parent__revision__part")
    return list(rows.order_by("pk")) if found else []


_DOUBTS = Asking(
    lambda _, children: (
        Link.objects.newest().filter(child_id__among=children, reason=LOST, status=Link.Status.STANDS).values_list("pk")
    )
)
