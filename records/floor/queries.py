"""What a station's screen shows: units that wait there, and what can be made there."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from django.db.models import Q, QuerySet

from plant.catalogue.models import Operation, Part, RouteRevision
from plant.catalogue.queries import route_of
from plant.equipment.models import Station, Tool
from records.inspection.models import Measurement
from records.items.gates import stops
from records.items.models import Hold, Item
from records.items.queries import HERE, SCRAPPED, holds_on
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.steps.checks import Check, before, checks_of, made_ready, unready, unsafe_of_all
from records.steps.models import MeasureAgain, Waiting
from records.steps.queries import done_operations, to_measure_again
from records.steps.resting import rest_before

from .ahead import unmeasured
from .carrying import DueCarrier, carrier_due
from .holding import Stands, place_words, what_to_do, where_it_stands
from .moulding import takes_pot

SHOWN = 4  # so many fit a tablet beside the keys, without scrolling
# Of the units that wait at a station an emergency sheet names so many; each step stands so often without a unit. A
# choice of this project, no source.
UNITS_ON_SHEET, BLANK_LINES = 10, 2


def waiting_here(station: Station) -> QuerySet[Waiting]:
    """Units whose next operation is done at stations of this kind, the longest waiting first."""
    here = Waiting.objects.filter(operation__isnull=False, unit__state__where=HERE)
    fits = Q(operation__station_kind=station.kind) | Q(operation__station_kind="", unit__state__place__station=station)
    return here.filter(fits).select_related("unit__state", "unit__revision__part", "operation").order_by("since", "pk")


def held_of(rows: Iterable[Waiting]) -> set[int]:
    """Units of those that wait which a hold keeps from their next operation; one query."""
    ahead = {row.unit_id: row.operation for row in rows}
    return {hold.item_id for hold in holds_on(ahead) if stops(hold, ahead[hold.item_id])}


def made_here(station: Station) -> list[Part]:
    """Parts whose first operation is done at stations of this kind, or of any kind where the route names none."""
    parts = Part.objects.filter(pk__in=RouteRevision.objects.in_force(clock.now()).values("part"))
    found = []
    for part in parts.filter(kind__in=[Part.Kind.PREFORM, Part.Kind.FRONT, Part.Kind.REAR, Part.Kind.FRAME]).order_by(
        "number"
    ):
        route = route_of(part, clock.now())
        if route and route[0].station_kind in ("", station.kind):
            found.append(part)
    return found


@dataclass(frozen=True)
class Here:
    """A unit in front of somebody: what it waits for, what stops that, and which steps make it safe.

    ``holds`` stop what it waits for, ``later`` holds stop something else; ``to_do`` and ``place`` are told where it is
    held or scrapped; ``rests`` says until when it rests before that.
    """

    unit: Item
    operation: Operation | None
    place_in_route: int
    steps: int
    holds: list[Hold]
    safe: list[Operation]
    later: list[Hold]
    to_do: str = ""
    place: str = ""
    wait: MeasureAgain | None = None
    is_measured: bool = False
    checks: list[Check] = field(default_factory=list)
    closes: Operation | None = None
    rests: Refused | None = None
    unmeasured: list[tuple[str, str]] = field(default_factory=list)  # by step: what it asks for and is not on file
    ready: Check | None = None  # of a unit whose route is done: until when it may go into another one

    @property
    def is_locked(self) -> bool:
        """Whether what it waits for is to be measured again first, and not before later."""
        return self.wait is not None and self.operation is not None and self.wait.operation_id == self.operation.pk

    @property
    def may_be_measured(self) -> bool:
        """Whether its sheet may be filled in now: not while a number of it waits, nor once it is scrapped."""
        return not self.is_scrapped and (self.wait is None or self.wait.operation_id is not None)

    @property
    def is_scrapped(self) -> bool:
        return self.unit.state.where == SCRAPPED

    @cached_property
    def waits_for_pot(self) -> bool:
        """Whether a mixed pot is what goes in next."""
        return self.operation is not None and takes_pot(self.operation)

    @cached_property
    def untested(self) -> list[tuple[Check, str]]:
        """Checks of this closing that do not hold while the mould is to be filled, each with what to do."""
        now, facts = clock.now(), {"unit": self.unit.code}
        return [
            (check, str(Refused(*fault, step=check.operation.name, until=check.ends, **facts)))
            for check in self.checks
            if (fault := check.fault(now)) and self.operation and check.operation.n < self.operation.n
        ]

    def may_be_filled_at(self, station: Station) -> bool:
        """Whether a scan of it leads to its pot at once: nothing stops it, and every check holds."""
        fits = self.operation is not None and self.operation.station_kind in ("", station.kind)
        return fits and self.waits_for_pot and not self.holds and not self.untested and not self.is_locked

    def after(self, operation: Operation | None) -> str:
        """Name of the step that comes after one of its route."""
        if operation is None:
            return ""
        route = route_of(self.unit.part, self.unit.born_at)
        return next((step.name for step in route if step.n > operation.n), "")

    @cached_property
    def carrier(self) -> DueCarrier | None:
        """What may be put on by hand to carry its code."""
        return carrier_due(self.unit)

    @property
    def unready(self) -> Refused | None:
        """Why a unit whose route is done may not go into another one yet, and what to do."""
        return unready(self.unit, self.ready, clock.now())

    @property
    def dots(self) -> list[str]:
        """A dot for each step of the route: "d" done, "n" the next one, "" still to come."""
        ahead = self.steps - self.place_in_route
        return ["d"] * self.place_in_route + ["n", *[""] * (ahead - 1)][:ahead]


def unit_in_front(unit: Item) -> Here:
    """What may be done with a unit."""
    waiting = Waiting.objects.filter(unit=unit).select_related("operation").first()
    operation = waiting.operation if waiting and unit.state.where != SCRAPPED else None
    route = route_of(unit.part, unit.born_at)
    every = holds_on([unit.pk])
    holds = [hold for hold in every if operation is None or stops(hold, operation)]
    later = [hold for hold in every if hold not in holds]
    done = done_operations([unit.pk])[unit.pk]
    stands = where_it_stands(unit, route, done) if holds or unit.state.where == SCRAPPED else None
    in_mould = stands in (None, Stands.HOT_MOULD, Stands.CLOSED_MOULD)
    safe = _still_to_make_safe(unit, route, done) if holds and in_mould else []
    place = len([step for step in route if step.name in done])
    to_do, at = (what_to_do(stands), place_words(unit, stands)) if stands else ("", "")
    wait = to_measure_again([unit.pk], clock.now()).get(unit.pk)
    measured = Measurement.objects.filter(unit=unit).exists()
    here = Here(unit, operation, place, len(route), holds, safe, later, to_do, at, wait, measured)
    rest = rest_before(unit, route, operation) if operation else None
    here = replace(here, rests=rest.fault(clock.now()) if rest else None, unmeasured=unmeasured(unit, route, operation))
    if operation is None and not here.is_scrapped and place == len(route):
        here = replace(here, ready=made_ready(unit, route, clock.now()))
    if operation is None or route[0].tool_kind != Tool.Kind.MOULD:
        return here
    fill = next((step for step in route[1:] if takes_pot(step)), None)
    if fill is None or fill.name in done:
        return here
    checks = before(checks_of(unit, route, clock.now()), operation) if here.waits_for_pot else []
    return replace(here, checks=checks, closes=route[0])


def _still_to_make_safe(unit: Item, route: Sequence[Operation], done: Collection[str]) -> list[Operation]:
    """Steps that make safe and are not done, or did not come out: a gauge that did not read nought is read again."""
    if not any(step.makes_safe for step in route):
        return []
    unsafe = unsafe_of_all({unit.pk: route}, clock.now()).get(unit.pk, [])
    return [step for step in route if step.makes_safe and (step.name not in done or step.name in unsafe)]


@dataclass(frozen=True)
class SheetRow:
    """A line of an emergency sheet: a step of a unit that waits, or of a unit whose code is written in."""

    operation: Operation
    unit: Item | None = None


def lines_for_sheet(station: Station) -> list[SheetRow]:
    """What an emergency sheet for a station lists: its waiting units with their step, then its steps for any unit."""
    rows = [SheetRow(row.operation, row.unit) for row in waiting_here(station)[:UNITS_ON_SHEET] if row.operation]
    for operation in operations_at(station):
        rows += [SheetRow(operation)] * BLANK_LINES
    return rows


def operations_at(station: Station) -> list[Operation]:
    """Operations in force that are done at stations of a kind, or anywhere, by part and order."""
    routes = RouteRevision.objects.in_force(clock.now())
    found = Operation.objects.filter(route_revision__in=routes.values("pk"), station_kind__in=("", station.kind))
    return list(found.select_related("route_revision__part").order_by("route_revision__part__number", "n"))
