"""Units come into being at the first operation of their route: wound, moulded, bonded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from plant.catalogue.models import Part
from plant.catalogue.queries import route_of
from plant.codes import fold
from plant.equipment.queries import station_by_code, tool_by_code
from records.items.deriving import rederive_feeds
from records.items.gates import hold_by_cause, stop_gone, stop_held, stop_used
from records.items.making import (
    Birth,
    Input,
    bear,
    drawn_of_kinds,
    link_lots,
    link_units,
    part_for,
    place_named,
    unit_for,
)
from records.items.models import FeedUse, Item
from records.ledger.acts import Act, Said, act
from records.ledger.refusals import Refused

from ..carrying import WENT_IN, carry_from_birth, end_carriers
from ..checks import stop_unfinished
from ..models import StepRecord
from ..recording import Read, Step, fit_tools, record_step, stop_unqualified


@dataclass(frozen=True)
class Made:
    """How a unit was made: on which station with which tools, what was read, how it ended.

    ``head`` names the station's head whose mounted lots went in; it needs ``began_at``.
    """

    tools: Sequence[str] = ()
    station: str = ""
    head: str = ""
    readings: Sequence[Read] = ()
    began_at: datetime | None = None
    outcome: str = StepRecord.Outcome.DONE
    rules_seen: str = ""

    def as_read(self) -> dict[str, Any]:
        return {
            "tools": [fold(tool) for tool in self.tools],
            "station": self.station.strip(),
            "head": self.head,
            "readings": [read.as_read() for read in self.readings],
            "began_at": self.began_at,
            "outcome": self.outcome,
            "rules_seen": self.rules_seen,
        }


@dataclass(frozen=True)
class Goes:
    """What goes into a unit: units of the kinds named, and lots of the kinds named."""

    units: Sequence[tuple[str, Sequence[str]]] = ()
    lots: Sequence[tuple[Input, Sequence[str]]] = ()
    whole_route: bool = False

    def as_read(self) -> dict[str, Any]:
        return {"units": [fold(code) for code, _ in self.units], "lots": [lot.as_read() for lot, _ in self.lots]}


def make_unit(unit: str, *, part: str, kinds: Sequence[str], goes: Goes, made: Made, said: Said) -> Item:
    """Make a unit: the first operation of its part's route, with everything that goes in.

    Inputs of an attempt that failed or was interrupted stay in the part. Refuses ``code-taken``, ``unknown``,
    ``wrong-kind``, and at the gate as any use of lots and units; ``out-of-order`` where a unit that goes in must
    have its whole route behind it.
    """
    stated = goes.as_read() | made.as_read()
    with act("unit made", said, unit=fold(unit), part=fold(part), **stated) as a:
        if a.made:
            return Item.objects.get(entry=a.entry, codes__code=fold(unit)) if unit else _made_by(a)
        wanted = part_for(part, kinds)
        route = route_of(wanted, a.at)
        if not route:
            raise Refused("unknown", "%(part)s has no route yet. Ask the engineer.", part=wanted.number)
        stop_unqualified(a, route[0])
        tools = [tool_by_code(code) for code in made.tools]
        fit_tools(tools, route[0])
        units = _units_named(goes)
        drawn = drawn_of_kinds(a, goes.lots, into=units)
        _ask_units(a, units, goes)
        place = place_named(a, made.station)
        item = bear(a, Birth(unit, wanted), place)
        link_units(a, item, units)
        link_lots(a, item, drawn)
        step = Step(route[0], place, tools, made.readings, made.began_at, made.outcome, made.rules_seen)
        record_step(a, item, step)
        end_carriers(a, units, WENT_IN)
        carry_from_birth(a, item, route[0], tools, has_label=bool(unit.strip()))
        _feed(a, item, made)
        hold_by_cause(a, [item])
        return item


def _made_by(a: Act) -> Item:
    return StepRecord.objects.get(entry=a.entry).unit


def _units_named(goes: Goes) -> list[Item]:
    units = [unit_for(code, kinds) for code, kinds in goes.units]
    if len({unit.pk for unit in units}) != len(units):
        raise Refused("already-used", "The same unit was scanned twice. Scan the other one.")
    return units


def _ask_units(a: Act, units: Sequence[Item], goes: Goes) -> None:
    """Whether the units may go in. Their state rows are locked."""
    stop_gone(a, units)
    stop_used(a, units)
    stop_held(a, units)
    for unit in units if goes.whole_route else ():
        stop_unfinished(a, unit)


def _feed(a: Act, item: Item, made: Made) -> None:
    if not made.head:
        return
    if made.began_at is None or made.began_at >= a.at:
        raise Refused("unknown", "Say when the winding began: what was mounted then went in.")
    station = station_by_code(made.station)
    a.write(FeedUse(station=station, head=made.head, unit=item, began_at=made.began_at, ended_at=a.at))
    rederive_feeds(a, station, made.head)


def wind(unit: str, *, part: str, spools: Sequence[Input], made: Made | None = None, said: Said) -> Item:
    """Wind a tube preform from one or more spools. Refuses as ``make_unit``."""
    lots = [(lot, (Part.Kind.FIBRE, Part.Kind.BINDER)) for lot in spools]
    return make_unit(unit, part=part, kinds=[Part.Kind.PREFORM], goes=Goes(lots=lots), made=made or Made(), said=said)


@dataclass(frozen=True)
class Moulding:
    """What goes into a mould: preforms, the fill from one or more pots, frame inserts, bladders."""

    preforms: Sequence[str]
    fill: Sequence[Input]
    inserts: Sequence[Input] = ()
    bladders: Sequence[str] = field(default=())


def mould(unit: str, *, part: str, moulding: Moulding, made: Made | None = None, said: Said) -> Item:
    """Mould a front or rear triangle. Refuses as ``make_unit``."""
    made = made or Made()
    units = [(code, (Part.Kind.PREFORM,)) for code in moulding.preforms]
    lots = [(lot, (Part.Kind.RESIN_MIX,)) for lot in moulding.fill]
    lots += [(lot, (Part.Kind.INSERT,)) for lot in moulding.inserts]
    made = Made(**(vars(made) | {"tools": [*made.tools, *moulding.bladders]}))
    kinds = [Part.Kind.FRONT, Part.Kind.REAR]
    return make_unit(unit, part=part, kinds=kinds, goes=Goes(units, lots), made=made, said=said)


@dataclass(frozen=True)
class Bonding:
    """What is bonded into a frame."""

    front: str
    rear: str
    adhesive: Sequence[Input]


def bond(unit: str, *, part: str, bonding: Bonding, made: Made | None = None, said: Said) -> Item:
    """Bond a front and a rear triangle into a frame; both need their whole route behind them."""
    units = [(bonding.front, (Part.Kind.FRONT,)), (bonding.rear, (Part.Kind.REAR,))]
    lots = [(lot, (Part.Kind.ADHESIVE_MIX,)) for lot in bonding.adhesive]
    goes = Goes(units, lots, whole_route=True)
    return make_unit(unit, part=part, kinds=[Part.Kind.FRAME], goes=goes, made=made or Made(), said=said)
