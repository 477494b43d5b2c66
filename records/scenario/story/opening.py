"""The works of a story, from its rulebook."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from plant.catalogue import specs
from plant.catalogue.actions import open_works
from plant.people.models import Person
from plant.people.rights import Role
from records.ledger.acts import Said

# Everything of a rulebook is in force before anything that a story tells.
LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)


def open_story(head: Mapping[str, Any]) -> None:
    """Open an empty works with a story's rulebook, in one act. Nothing holds by itself in a story."""
    said = Said(Person.objects.set_up(), uuid5(NAMESPACE_URL, "works opened"), LONG_AGO)
    open_works(opening_of(head), said=said)


def opening_of(head: Mapping[str, Any]) -> specs.Opening:
    """What a rulebook states; what a story does not name is left out."""
    rules = head["rulebook"]
    every_role = tuple(Role.values)
    return specs.Opening(
        name=head["works"],
        zone=head["zone"],
        people=[specs.PersonSpec(badge, roles=every_role) for badge in rules.get("people", ())],
        stations=[specs.StationSpec(station["station"]) for station in rules.get("stations", ())],
        tools=[specs.ToolSpec(tool["tool"], tool.get("kind") or "") for tool in rules.get("tools", ())],
        gauges=[specs.GaugeSpec(gauge["gauge"], due_on=_day(gauge.get("due"))) for gauge in rules.get("gauges", ())],
        parts=[specs.PartSpec(part["part"], part["kind"], part.get("unit", "")) for part in rules.get("parts", ())],
        mixes=[
            specs.MixSpec(mix["mix"], mix["part"], mix["of"], mix.get("tolerance", "0"), int(mix["pot_life_min"]))
            for mix in rules.get("mixes", ())
        ],
        tanks=[specs.TankSpec(tank["tank"], tank["part"]) for tank in rules.get("tanks", ())],
        characteristics=[_characteristic(stated) for stated in rules.get("characteristics", ())],
        routes=[
            specs.RouteSpec(part, [specs.OperationSpec(name) for name in names])
            for part, names in rules.get("routes", {}).items()
        ],
        rulebook=specs.RulebookSpec(cut_off=str(rules.get("cut_off") or ""), holds={}),
    )


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _characteristic(stated: Mapping[str, Any]) -> specs.CharacteristicSpec:
    def bound(name: str) -> str:
        return str(stated.get(name) or "")

    return specs.CharacteristicSpec(
        stated["characteristic"],
        stated["part"],
        stated["unit"],
        nominal=bound("nominal"),
        plus=bound("plus"),
        minus=bound("minus"),
        lower=bound("lower"),
        upper=bound("upper"),
    )
