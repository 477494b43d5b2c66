"""What may have been done at a station of which nobody was told: its tablet is lost with what it kept.

What goes into what is what matters to a trace. A unit may have been filled, or parts of it joined, with every pot that
was open in the span, and with every lot of the other kinds that its operation takes. A lot that came up elsewhere with
no past of its own may have been split off a lot of its part, or mixed from lots of its components, whether they stood
in cans or in a tank; and what is drawn from a tank may hold a lot that was charged there (``records.items.unseen``).
What was made and never came up again is on nobody's list.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import datetime
from itertools import chain, takewhile

from django.db.models import Exists, OuterRef, QuerySet

from plant.catalogue.models import MixComponent, Operation, OperationInput, Part
from plant.catalogue.queries import route_of
from plant.equipment.models import Station
from records.items.actions.reworking import FITS_INTO
from records.items.doubting import LOST
from records.items.models import Item, Link
from records.items.queries import HERE
from records.items.tanks import lots_in_tanks
from records.items.unseen import draws_in_doubt, lots_about, may_hold

from .models import Waiting

Pair = tuple[Item, Item]
# What is mixed for a unit that is made with its fill; a front or rear whose route fills it later is left to that step.
FILLED_AT_BIRTH = {
    Part.Kind.FRONT: Part.Kind.RESIN_MIX,
    Part.Kind.REAR: Part.Kind.RESIN_MIX,
    Part.Kind.FRAME: Part.Kind.ADHESIVE_MIX,
}


def links_possible(station: Station, since: datetime, until: datetime) -> list[Pair]:
    """Pairs of a thing and a lot that may have gone into it by way of a station's tablet in a span, by numbers.

    What another lost tablet left in doubt is doubted for this one too: each is settled by itself.
    """
    lots = lots_about(since, until)
    pairs = [
        *_into_units(station, until, lots),
        *_into_lots_of_no_past(since, until, lots),
        *may_hold(draws_in_doubt(since, until), lots),
    ]
    found = {(child.pk, lot.pk): (child, lot) for child, lot in pairs if child.pk != lot.pk}
    known = _known().filter(child__in={child for child, _ in found})
    return [found[numbers] for numbers in sorted(found.keys() - set(known.values_list("child", "parent")))]


def _known() -> QuerySet[Link]:
    """What is known to have gone into something, or was told as possible by somebody."""
    return Link.objects.newest().filter(status=Link.Status.STANDS).exclude(reason=LOST)


def _into_units(station: Station, until: datetime, lots: dict[str, list[Item]]) -> Iterator[Pair]:
    waiting = ((row.unit, kinds) for row, kinds in _waiting_for_lots(station))
    joined = ((unit, kinds) for whole, kinds in _made_there(station, until).items() for unit in _free_for(whole, until))
    for unit, kinds in (*waiting, *joined):
        yield from ((unit, lot) for kind in sorted(kinds) for lot in lots[kind])


def _waiting_for_lots(station: Station) -> Iterator[tuple[Waiting, set[str]]]:
    """Units that may have come to an operation that takes lots, each with their kinds.

    What they wait for, and all that follows it without leaving stations of this kind, may have been done unseen.
    """
    here = ("", station.kind)
    rows = Waiting.objects.filter(unit__state__where=HERE, operation__station_kind__in=here)
    rows = rows.select_related("operation", "unit__state", "unit__revision__part").order_by("pk")
    along: dict[int, list[Operation]] = defaultdict(list)
    routes = {row.operation.route_revision_id for row in rows if row.operation}
    for operation in Operation.objects.filter(route_revision__in=routes).order_by("route_revision", "n"):
        along[operation.route_revision_id].append(operation)
    taken = _kinds_taken(OperationInput.objects.filter(operation__route_revision__in=routes))
    for row in rows:
        assert row.operation is not None  # it was asked for by its kind of station
        still = [one for one in along[row.operation.route_revision_id] if one.n >= row.operation.n]
        done = takewhile(lambda one: one.station_kind in here, still)
        kinds = set().union(*(taken.get(one.pk, set()) for one in done))
        if kinds:
            yield row, kinds


def _kinds_taken(inputs: Iterable[OperationInput]) -> dict[int, set[str]]:
    kinds: dict[int, set[str]] = defaultdict(set)
    for one in inputs:
        if one.kind not in Part.UNIT_KINDS:
            kinds[one.operation_id].add(one.kind)
    return kinds


def _made_there(station: Station, at: datetime) -> dict[str, set[str]]:
    """Kinds of unit that are made at a station, each with the kinds of lot that go in with its parts."""
    found: dict[str, set[str]] = defaultdict(set)
    for part in Part.objects.filter(kind__in=FILLED_AT_BIRTH):
        route = route_of(part, at)
        if not route or route[0].station_kind not in ("", station.kind):
            continue
        inputs = OperationInput.objects.filter(operation__in=route)
        taken = _kinds_taken(inputs)
        fill = FILLED_AT_BIRTH[Part.Kind(part.kind)]
        later = set().union(*(kinds for operation, kinds in taken.items() if operation != route[0].pk))
        found[part.kind] |= taken.get(route[0].pk, set()) | ({fill} - later)
    return found


def _free_for(whole: str, until: datetime) -> Iterable[Item]:
    """Units that could have become part of another of a kind."""
    free = Item.objects.filter(
        kind=Part.Tracked.UNIT,
        revision__part__kind__in=FITS_INTO[whole],
        state__where=HERE,
        born_at__lte=until,
    )
    return free.select_related("state", "revision__part")


def _into_lots_of_no_past(since: datetime, until: datetime, lots: dict[str, list[Item]]) -> Iterator[Pair]:
    """Lots that came up in the span by their label alone: split or drawn from one of their part, or mixed, unseen."""
    past = _known().filter(child=OuterRef("pk"))
    stated = Item.objects.filter(
        ~Exists(past), kind=Part.Tracked.LOT, origin=Item.Origin.STATED, born_at__range=(since, until)
    )
    components: dict[int, set[int]] = defaultdict(set)
    for mixed, part in MixComponent.objects.values_list("mix_revision__part", "part"):
        components[mixed].add(part)
    found = list(stated.select_related("state", "revision__part"))
    # A machine takes of its tank: a lot that was charged whole before is no can any more, and stands in there.
    others = [*chain.from_iterable(lots.values()), *(lots_in_tanks(since, until) if found else ())]
    for lot in found:
        wanted = {lot.part.pk} | components[lot.part.pk]
        yield from ((lot, other) for other in others if other.part.pk in wanted)
