"""What was waited for and has come due: a number to read again, a cure that had its time, an end that is near."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Q

from plant.catalogue.models import Part
from plant.speaking import say
from plant.templatetags.showing import when
from records.items.keeping import keeping_of
from records.items.models import Item
from records.items.queries import HERE
from records.items.risks import risks_here

from .again import still_waiting
from .models import StepRecord, Waiting
from .resting import rests_of

# An end is told so long before it comes; what has come due stands for a shift; a tablet takes along what comes due
# within a day. Choices of this project, no source.
AHEAD = timedelta(hours=1)
STANDS_FOR = timedelta(hours=12)
TAKEN_ALONG = timedelta(hours=24)
# Of a release at risk so little is left that somebody should ask for more. A choice of this project, no source.
LITTLE = 0.1
AGAIN, RESTED, THAWED, OUT, OPEN, RISK, USED_UP = "again", "rested", "thawed", "out", "open", "risk", "used-up"


@dataclass(frozen=True)
class Due:
    """One wait: of what, where that stands, from when on it is told, and the moment that it is about."""

    what: str
    code: str
    station: str
    at: datetime
    ends: datetime
    name: str = ""
    value: str = ""
    stands: bool = False  # told as long as it is so

    def words(self, now: datetime) -> str:
        """The sentence, in the language in use; ``due.js`` says the same."""
        told = {"code": self.code, "name": self.name, "value": self.value, "at": when(self.ends)}
        if self.what == AGAIN:
            return say("%(code)s: read %(name)s again now. It was %(value)s at first.", **told)
        if self.what == RESTED:
            return say("%(code)s: %(name)s may be logged from %(at)s on.", **told)
        if self.what == THAWED:
            return say("%(code)s is thawed since %(at)s: it may be opened.", **told)
        if self.what == USED_UP:
            return say(
                "%(code)s: %(value)s is left of its release at risk, and it is not accepted yet. Ask Review.", **told
            )
        if self.what == RISK:
            return say("%(code)s: its release at risk ends %(at)s and it is not accepted yet. Ask Review.", **told)
        if self.ends <= now:
            return say("%(code)s: its time open or out of the freezer ended %(at)s. Do not use it.", **told)
        return say("%(code)s: its time open or out of the freezer ends %(at)s. Use it first.", **told)


def due_ahead(now: datetime) -> list[Due]:
    """Waits that have come due, and those that will within a day, the first first.

    A fixed number of queries; a lot whose data sheet limits how it keeps costs two more: there are few of them.
    """
    found = [*_again(now), *_rested(), *_keeping(now), *_risk()]
    near = [one for one in found if (one.stands or now - STANDS_FOR <= one.at) and one.at <= now + TAKEN_ALONG]
    return sorted(near, key=lambda one: (one.at, one.code, one.what))


def due_now(now: datetime, station: str = "") -> list[Due]:
    """What has come due, at one station or anywhere."""
    return [one for one in due_ahead(now) if one.at <= now and station in ("", one.station)]


def _station_of(item: Item) -> str:
    place = item.state.place
    return place.station.code if place is not None and place.station is not None else ""


def _again(now: datetime) -> Iterator[Due]:
    """Numbers outside their band that are to be read again: until the step was logged, or the unit measured."""
    near = Q(until__gte=now - STANDS_FOR, until__lte=now + TAKEN_ALONG)
    rows = list(
        still_waiting()
        .filter(near, unit__state__where=HERE)
        .select_related("unit__state__place__station", "operation")
        .order_by("pk")
    )
    units = {row.unit_id for row in rows}
    after: dict[tuple[int, int | None], int] = {}
    for unit, operation, entry in StepRecord.objects.filter(unit__in=units).values_list("unit", "operation", "entry"):
        after[unit, operation] = max(entry, after.get((unit, operation), 0))
    newest = {(row.unit_id, row.operation_id, row.name): row for row in rows}
    for row in newest.values():
        if after.get((row.unit_id, row.operation_id), 0) > row.entry_id:
            continue
        read = f"{row.written} {row.unit_text}".strip()
        yield Due(AGAIN, row.unit.code, _station_of(row.unit), row.until, row.until, row.name, read)


def _rested() -> Iterator[Due]:
    """Units whose cure, bond or paint has had its least time: until the next step was logged."""
    waiting = Waiting.objects.filter(operation__isnull=False, unit__state__where=HERE)
    rows = waiting.select_related("operation", "unit__state__place__station").order_by("since", "pk")
    for rest in rests_of(rows).values():
        yield Due(RESTED, rest.unit.code, _station_of(rest.unit), rest.until, rest.until, rest.step)


def _keeping(now: datetime) -> Iterator[Due]:
    """Lots that are thawed now, or whose time open or out of the freezer ends."""
    limited = Q(revision__out_life_ms__isnull=False) | Q(revision__thaw_ms__isnull=False)
    limited |= Q(revision__opened_life_ms__isnull=False)
    lots = Item.objects.filter(limited, kind=Part.Tracked.LOT, state__remaining__gt=0, good_until=None)
    for lot in lots.select_related("revision__part", "state__place__station").order_by("pk"):
        kept, station = keeping_of(lot, now), _station_of(lot)
        if kept.thawed_at is not None:
            yield Due(THAWED, lot.code, station, kept.thawed_at, kept.thawed_at)
        if kept.is_out and kept.out_left is not None:
            ends = now + kept.out_left
            yield Due(OUT, lot.code, station, ends - AHEAD, ends)
        if kept.open_until is not None:
            yield Due(OPEN, lot.code, station, kept.open_until - AHEAD, kept.open_until)


def _risk() -> Iterator[Due]:
    """Releases at risk that end, by time or by amount, while their lot is not accepted: where it and its packages lie.

    Several packages at one station are told of once.
    """
    told = set()
    for risk in risks_here():
        code, station = risk.lot.code, _station_of(risk.lot)
        if (risk.until, risk.limit, station) in told:
            continue
        told.add((risk.until, risk.limit, station))
        yield Due(RISK, code, station, risk.until - AHEAD, risk.until)
        has_some = (risk.lot.state.remaining or 0) > 0
        if has_some and risk.free is not None and risk.free <= risk.limit * LITTLE:
            yield Due(USED_UP, code, station, risk.since, risk.since, value=risk.left, stands=True)
