"""Links that follow from a log: worked out afresh in the act that changes it, and written where they differ."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from django.db.models import Max, Min, Q, QuerySet

from plant.catalogue.models import Tank
from plant.equipment.models import Station
from records.ledger.acts import Act
from records.ledger.asking import Asking, Slot
from records.ledger.marks import Mark
from records.ledger.refusals import Refused

from .changing_over import Mounted, fed_by
from .gates import ancestors
from .mixing import Line, Portion, Worked, stretch, work_out
from .models import FeedEntry, FeedUse, Link, TankEntry, TankLock
from .unseen import redoubt_draws


def lock_tank(a: Act, tank: Tank) -> None:
    """Lock a tank while its draws are worked out."""
    TankLock.objects.get_or_create(tank=tank, defaults={"entry": a.entry})
    list(TankLock.objects.select_for_update().filter(tank=tank))


def log_of(tank: Tank, mark: Mark | None = None) -> list[Line]:
    """A tank's log as it stands, or stood as known at a mark. A line is named by the first row of it."""
    return _lines(mark, tank.pk)


def log_around(tank: int, at: datetime, mark: Mark | None = None) -> list[Line]:
    """The stretch of a tank's log around a moment, from the cleaning before it to the one after; no more is read."""
    before, after = next(iter(_CLEANINGS.rows(mark, tank=tank, at=at)), (None, None))
    return _lines(mark, tank, before, after)


def _lines(mark: Mark | None, tank: int, since: datetime | None = None, until: datetime | None = None) -> list[Line]:
    return [
        Line(first or number, kind, at, item or 0, amount)
        for number, first, kind, at, item, amount in _LINES.rows(mark, tank=tank, since=since, until=until)
    ]


def _lines_between(mark: Mark | None, tank: Slot, since: Slot | None, until: Slot | None) -> QuerySet:
    rows = TankEntry.objects.standing(mark).filter(tank_id=tank)
    if since is not None:
        rows = rows.filter(at__gte=since)
    if until is not None:
        rows = rows.filter(at__lte=until)
    return rows.values_list("pk", "first_id", "kind", "at", "item_id", "amount")


_LINES = Asking(_lines_between)
_CLEANINGS = Asking(
    lambda mark, tank, at: (
        TankEntry.objects.standing(mark)
        .filter(tank_id=tank, kind=TankEntry.Kind.CLEAN)
        .values("tank_id")
        .annotate(before=Max("at", filter=Q(at__lt=at)), after=Min("at", filter=Q(at__gt=at)))
        .values_list("before", "after")
    )
)


def worked_out(tank: Tank, mark: Mark | None = None) -> Worked:
    """A tank's whole log worked out."""
    return work_out(log_of(tank, mark))


def rederive_draws(a: Act, tank: Tank, times: Sequence[datetime], touched: Iterable[int] = ()) -> Worked:
    """Write newer versions of the links of every draw in the stretch that a change at ``times`` can reach.

    ``touched`` are lines changed by this act itself, whose old links may have to go.
    """
    lines = stretch(log_of(tank), times)
    worked = work_out(lines)
    _stop_itself(worked)
    wanted: dict[tuple[int, int, int], Portion] = {
        (draw.line.number, draw.line.item, portion.lot): portion
        for draw in worked.draws
        for portion in draw.portions
        if portion.stored
    }
    draws = {draw.line.number: draw.line for draw in worked.draws}
    present = {
        (link.draw_id or 0, link.child_id, link.parent_id): link
        for link in Link.objects.newest().filter(draw_id__in=[*draws, *touched])
    }
    writing: list[Link] = []
    fresh = {row.pk for row in a.rows if isinstance(row, TankEntry)}
    for key, portion in wanted.items():
        said = _of_portion(portion)
        link = present.get(key)
        if link is None:
            draw, child, parent = key
            writing.append(Link(child_id=child, parent_id=parent, draw_id=draw, at=draws[draw].at, **said))
        elif link.status != Link.Status.STANDS or any(getattr(link, name) != value for name, value in said.items()):
            writing.append(link.next_version(status=Link.Status.STANDS, reason="tank recomputed", **said))
    for key, link in present.items():
        if key not in wanted and link.status != Link.Status.WITHDRAWN:
            writing.append(link.next_version(status=Link.Status.WITHDRAWN, reason="tank recomputed"))
    opened = [link for link in a.write_all(writing) if link.version == 1]
    for link in opened:
        # Nothing is made yet of what is being drawn.
        if link.draw_id not in fresh and link.child_id in ancestors(link.parent_id):
            a.flag("loop", child=link.child_id, parent=link.parent_id)
    undone = TankEntry.objects.filter(pk__in=touched, kind=TankEntry.Kind.DRAW).values_list("item_id", flat=True)
    redoubt_draws(a, tank, [*(draw.line.item for draw in worked.draws), *(undone if touched else ())])
    return worked


def _stop_itself(worked: Worked) -> None:
    """Refuse ``itself`` for a lot that would have been in the tank that it was drawn from."""
    for draw in worked.draws:
        if any(portion.lot == draw.line.item for portion in draw.portions):
            raise Refused("itself", "A lot can't be charged before it was drawn from the same tank. Look at the times.")


def _of_portion(portion: Portion) -> dict[str, Any]:
    certainty = Link.Certainty.CONFIRMED if portion.confirmed else Link.Certainty.POSSIBLE
    return {
        "certainty": certainty,
        "share_ppb": portion.share_ppb,
        "least_ppb": portion.least_ppb,
        "most_ppb": portion.most_ppb,
    }


def rederive_feeds(a: Act, station: Station, head: str) -> None:
    """Write newer versions of the links that follow from what was mounted at a station's head."""
    entries = FeedEntry.objects.standing().filter(station=station, head=head)
    mounted = [Mounted(entry.line, entry.item_id, entry.not_before, entry.not_after) for entry in entries]
    uses = FeedUse.objects.standing().filter(station=station, head=head)
    wanted = {
        (fed.mounted.number, use.unit_id, fed.mounted.lot): (fed.confirmed, use.began_at)
        for use in uses
        for fed in fed_by(mounted, use.began_at, use.ended_at)
    }
    every = FeedEntry.objects.filter(station=station, head=head, first=None).values("pk")
    present = {
        (link.feed_id or 0, link.child_id, link.parent_id): link
        for link in Link.objects.newest().filter(feed__in=every)
    }
    writing: list[Link] = []
    for key, (confirmed, at) in wanted.items():
        certainty = Link.Certainty.CONFIRMED if confirmed else Link.Certainty.POSSIBLE
        link = present.get(key)
        if link is None:
            feed, child, parent = key
            writing.append(Link(child_id=child, parent_id=parent, feed_id=feed, at=at, certainty=certainty))
        elif link.status != Link.Status.STANDS or link.certainty != certainty:
            writing.append(link.next_version(status=Link.Status.STANDS, certainty=certainty, reason="change-over"))
    for key, link in present.items():
        if key not in wanted and link.status != Link.Status.WITHDRAWN:
            writing.append(link.next_version(status=Link.Status.WITHDRAWN, reason="change-over"))
    a.write_all(writing)
