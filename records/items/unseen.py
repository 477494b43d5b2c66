"""What may have been charged into a tank by way of a tablet that was lost, of which nobody was told.

It may be in every draw since the tablet was last heard of, until the tank is cleaned after the lock-out, or it is
settled what was done there. So draws and cleanings that are told after the lock-out change what is in doubt.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import datetime

from django.db.models import Exists, Min, OuterRef, Q, QuerySet

from plant.catalogue.models import Part, Tank
from plant.people.models import DeviceEnded
from records.ledger.acts import Act

from .doubting import LOST, move_doubt, tablets_of
from .models import Item, Link, Loss, TankEntry
from .queries import HERE

CLEANED = "tank recomputed"  # why a doubt about a draw was withdrawn


def lots_about(since: datetime, until: datetime) -> dict[str, list[Item]]:
    """Lots of which something could be taken in a span, by kind: a pot while it was open, any other while it lasted.

    One that was used up, charged or written off since then was still there; one that was never made was not.
    """
    alive = Q(good_until__isnull=True) | Q(good_until__gte=since)
    is_pot = Q(revision__part__kind__in=Part.POT_KINDS)
    lost = Exists(Loss.objects.filter(item=OuterRef("pk"), at__gte=since))
    used = Exists(Link.objects.filter(parent=OuterRef("pk"), at__gte=since))
    charged = Exists(TankEntry.objects.filter(item=OuterRef("pk"), kind=TankEntry.Kind.CHARGE, at__gte=since))
    left = Q(state__remaining__gt=0) | used | charged | lost
    lots = Item.objects.filter((is_pot & alive) | (~is_pot & left), kind=Part.Tracked.LOT, born_at__lte=until)
    found: dict[str, list[Item]] = defaultdict(list)
    for lot in lots.filter(state__where=HERE).select_related("state", "revision__part"):
        found[lot.part.kind].append(lot)
    return found


def draws_in_doubt(since: datetime, until: datetime) -> QuerySet[TankEntry]:
    """Draws that may hold what was charged unseen in a span: those since, of a tank that was not cleaned after it."""
    cleaned = TankEntry.objects.standing().filter(
        tank=OuterRef("tank"), kind=TankEntry.Kind.CLEAN, at__gt=until, at__lte=OuterRef("at")
    )
    drawn = TankEntry.objects.standing().filter(kind=TankEntry.Kind.DRAW, at__gte=since)
    return drawn.filter(~Exists(cleaned)).select_related("item__state", "item__revision__part", "tank")


def may_hold(draws: Iterable[TankEntry], lots: dict[str, list[Item]]) -> Iterator[tuple[Item, Item]]:
    """Each draw with every lot that its tank takes."""
    for line in draws:
        assert line.item is not None  # tank_entry_has_an_item_unless_cleaned
        yield from ((line.item, lot) for kind in lots.values() for lot in kind if lot.part.pk == line.tank.part_id)


def redoubt_draws(a: Act, tank: Tank, items: Iterable[int]) -> None:
    """Write doubts about what was drawn from a tank, and take back those that a cleaning or a withdrawal answers."""
    open_ends = DeviceEnded.objects.filter(settled=None).exclude(reason=DeviceEnded.Reason.RETIRED)
    ends = list(open_ends.select_related("device__entry", "entry").order_by("pk"))
    drawn = set(items) if ends else set()
    if not drawn:
        return
    told = tablets_of(Link.objects.filter(child_id__in=drawn, reason=LOST, first=None))
    newest = Link.objects.newest().filter(Q(pk__in=told) | Q(first__in=told))
    present: dict[int, list[Link]] = defaultdict(list)
    for doubt in newest.order_by("pk"):
        present[told[doubt.line].pk].append(doubt)
    for ended in ends:
        _redoubt(a, ended, tank, drawn, present[ended.pk])


def _redoubt(a: Act, ended: DeviceEnded, tank: Tank, drawn: set[int], present: list[Link]) -> None:
    since, until = span_of(ended)
    draws = list(draws_in_doubt(since, until).filter(tank=tank, item__in=drawn))
    doubted = {line.item_id for line in draws}
    stands, withdrawn = Link.Status.STANDS, Link.Status.WITHDRAWN
    over = [doubt for doubt in present if doubt.status == stands and doubt.child_id not in doubted]
    a.write_all(doubt.next_version(status=withdrawn, reason=CLEANED) for doubt in over)
    standing = Link.objects.newest().filter(child_id__in=doubted, status=stands).exclude(reason=LOST)
    known = set(standing.values_list("child_id", "parent_id"))
    # What somebody has answered is not doubted again; what a cleaning answered is, once that is taken back.
    known |= {(doubt.child_id, doubt.parent_id) for doubt in present if doubt.reason != CLEANED}
    for child, lot in may_hold(draws, lots_about(since, until)) if draws else ():
        if (child.pk, lot.pk) not in known and child.pk != lot.pk:
            told = {"at": since, "certainty": Link.Certainty.POSSIBLE}
            move_doubt(a, Link(child=child, parent=lot, **told), ended)


def span_of(ended: DeviceEnded) -> tuple[datetime, datetime]:
    """The span in which something may have been done on a tablet of which nobody was told.

    Its beginning is that of the doubts that the lock-out left; where there was nothing to doubt, the last contact.
    """
    until = ended.at or ended.entry.happened_at
    first = Link.objects.filter(entry=ended.entry_id, reason=LOST).aggregate(at=Min("at"))["at"]
    return min(first or ended.last_contact or ended.device.entry.happened_at, until), until
