"""What stands at the door: frames whose route is done, and those who got frames before."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Exists, Max, OuterRef, QuerySet

from plant.catalogue.models import Part
from records.items.models import Consignment, ConsignmentLine, Hold, Item, Place
from records.items.queries import HERE
from records.steps.models import Waiting

from .models import Release


@dataclass(frozen=True)
class AtDoor:
    """A frame at the door: since when it waits, whether it is held, and the release that lets it go."""

    unit: Item
    waiting: Waiting
    is_held: bool
    release: Release | None


def frames_at_the_door() -> list[AtDoor]:
    """Frames here whose route is done, the longest waiting first; four queries whatever their number."""
    rows = Waiting.objects.filter(operation=None, unit__state__where=HERE, unit__revision__part__kind=Part.Kind.FRAME)
    related = ("unit__state__place__station", "unit__state__place__party", "unit__revision__part")
    waiting = list(rows.select_related(*related).order_by("since", "pk"))
    units = [row.unit_id for row in waiting]
    held = set(Hold.objects.filter(item__in=units, lift=None).values_list("item_id", flat=True))
    lines = ConsignmentLine.objects.filter(item__in=units, consignment__direction=Consignment.Direction.SHIP)
    shipped = dict(lines.order_by().values_list("item_id").annotate(last=Max("entry_id")))
    releases = {
        release.unit_id: release
        for release in Release.objects.filter(unit__in=units).select_related("entry__by__name_words").order_by("pk")
        if release.entry_id >= shipped.get(release.unit_id, 0)
    }
    return [AtDoor(row.unit, row, row.unit_id in held, releases.get(row.unit_id)) for row in waiting]


def let_go(units: Iterable[int]) -> set[int]:
    """Units among these that a release lets go: one that no shipment has used."""
    used = ConsignmentLine.objects.filter(
        item=OuterRef("unit"), consignment__direction=Consignment.Direction.SHIP, entry__gt=OuterRef("entry")
    )
    standing = Release.objects.filter(~Exists(used), unit__in=list(units))
    return set(standing.values_list("unit_id", flat=True))


def lines_shipped() -> QuerySet[ConsignmentLine]:
    """Units that left for good, the latest first, one row for each time that one left."""
    rows = ConsignmentLine.objects.standing().filter(consignment__direction=Consignment.Direction.SHIP)
    places = ("consignment__place__party", "consignment__place__station", "customer_return__entry")
    related = ("item__state", "item__revision__part", "entry__by__name_words", *places)
    return rows.select_related(*related).order_by("-consignment__at", "-pk")


def parties(direction: str = "") -> list[str]:
    """Names of those outside who got something before; of one direction where it is named."""
    places = Place.objects.filter(kind=Place.Kind.OUTSIDE, party__text__isnull=False)
    if direction:
        places = places.filter(pk__in=Consignment.objects.filter(direction=direction).values("place"))
    return sorted({str(name) for name in places.values_list("party__text", flat=True)})
