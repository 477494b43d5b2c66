"""What may have been done at a station of which nobody was told: its tablet is lost with what it kept.

A fill is what matters to a trace. Every pot that was open in the span may have gone into every unit that could be
filled there: one that waits for a fill, or one of the parts of a unit that is made and filled there.
"""

from __future__ import annotations

from datetime import datetime

from django.db.models import Q

from plant.catalogue.models import OperationInput, Part
from plant.catalogue.queries import route_of
from plant.equipment.models import Station
from records.items.actions.reworking import FITS_INTO
from records.items.models import Item
from records.items.queries import HERE

from .models import Waiting

MIXES = (Part.Kind.RESIN_MIX, Part.Kind.ADHESIVE_MIX)
# What is mixed for a unit that is made with its fill; a front or rear whose route fills it later is left to that step.
FILLED_AT_BIRTH = {
    Part.Kind.FRONT: Part.Kind.RESIN_MIX,
    Part.Kind.REAR: Part.Kind.RESIN_MIX,
    Part.Kind.FRAME: Part.Kind.ADHESIVE_MIX,
}


def fills_possible(station: Station, since: datetime, until: datetime) -> list[tuple[Item, Item]]:
    """Pairs of a unit and a pot that may have gone into it at a station in a span, by their numbers."""
    pots = _pots_open(since, until)
    pairs = [(unit, pot) for unit, kind in _to_fill(station, until) for pot in pots if pot.part.kind == kind]
    return sorted(pairs, key=lambda pair: (pair[0].pk, pair[1].pk))


def _pots_open(since: datetime, until: datetime) -> list[Item]:
    alive = Q(good_until__isnull=True) | Q(good_until__gte=since)
    pots = Item.objects.filter(alive, kind=Part.Tracked.LOT, revision__part__kind__in=MIXES, born_at__lte=until)
    return list(pots.filter(state__where=HERE).select_related("state", "revision__part"))


def _to_fill(station: Station, until: datetime) -> list[tuple[Item, str]]:
    """Units that could be filled at a station, each with the kind of mix that goes in; no unit twice with one kind."""
    found = {(row.unit.pk, kind): row.unit for row, kind in _waiting_for_a_fill(station)}
    for whole, kind in _filled_when_made(station, until):
        free = Item.objects.filter(
            kind=Part.Tracked.UNIT,
            revision__part__kind__in=FITS_INTO[whole],
            state__where=HERE,
            state__inside=None,
            born_at__lte=until,
        )
        found |= {(unit.pk, kind): unit for unit in free.select_related("state", "revision__part")}
    return [(unit, kind) for (_, kind), unit in found.items()]


def _waiting_for_a_fill(station: Station) -> list[tuple[Waiting, str]]:
    rows = Waiting.objects.filter(
        unit__state__where=HERE,
        operation__station_kind__in=("", station.kind),
        operation__inputs__kind__in=MIXES,
    )
    takes = dict(OperationInput.objects.filter(kind__in=MIXES).values_list("operation_id", "kind"))
    related = rows.select_related("unit__state", "unit__revision__part").distinct()
    return [(row, takes[row.operation_id]) for row in related]  # type: ignore[index]  # it waits for an operation


def _filled_when_made(station: Station, at: datetime) -> list[tuple[str, str]]:
    """Kinds of unit that are made at a station with their fill, each with the kind of mix."""
    found = set()
    for part in Part.objects.filter(kind__in=FILLED_AT_BIRTH):
        route = route_of(part, at)
        if not route or route[0].station_kind not in ("", station.kind):
            continue
        later = OperationInput.objects.filter(operation__in=route[1:], kind__in=MIXES).exists()
        if not later:
            found.add((part.kind, FILLED_AT_BIRTH[Part.Kind(part.kind)]))
    return sorted(found)
