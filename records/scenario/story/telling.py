"""Each event of a story told through the program's own actions."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid5

from plant.catalogue.models import Characteristic, CharacteristicRevision
from plant.equipment.actions import Found, calibrate_gauge
from plant.people.queries import person_by_badge, works_zone
from plant.quantities import read_quantity
from plant.times import read_time
from records.inspection import actions as inspection
from records.inspection.models import Measurement
from records.items import actions as items
from records.items.actions.receiving import Delivery
from records.items.making import Input
from records.items.queries import item_by_code
from records.ledger.acts import Said, flags_of, was_taken
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.release.actions import release_units, ship, standing_release
from records.spc.actions import break_chart
from records.steps import actions as steps

from .naming import characteristic_named, mix_named, station_named, step_named

Event = Mapping[str, Any]


@dataclass(frozen=True)
class Outcome:
    """What came of an event."""

    event: int
    outcome: str
    why: str | None = None
    flags: list[str] = field(default_factory=list)


def tell(event: Event) -> Outcome:
    """Tell one event at the moment it arrived."""
    key = UUID(event["key"])
    with clock.at(arrival_of(event)):
        known = was_taken(key)
        try:
            said = said_of(event)
            TELLERS[event["kind"]](event, said)
        except Refused as refused:
            return Outcome(event["event"], "refused", refused.code)
    if known:
        return Outcome(event["event"], "repeat")  # nothing happens, so nothing is flagged either
    flags = flags_of(key)
    return Outcome(event["event"], "flagged" if flags else "taken", None, flags)


def arrival_of(event: Event) -> datetime:
    """When an event arrived; told without an offset it is UTC."""
    arrived = datetime.fromisoformat(event["arrived"])
    return arrived if arrived.tzinfo else arrived.replace(tzinfo=UTC)


def said_of(event: Event) -> Said:
    """Who says an event, when and under which key. Refuses ``unknown`` and times that can't be."""
    at = read_time(event["happened"], works_zone())
    return Said(person_by_badge(event["by"]), UUID(event["key"]), at, done=bool(event.get("done")))


def input_of(told: Mapping[str, Any]) -> Input:
    """A lot with its quantity, its share where it is in doubt, and its part where one is stated."""
    possible = told.get("possible")
    share = None if possible is None else int(Decimal(possible) * 10**9)
    return Input(told["lot"], read_quantity(told["quantity"]), share, told.get("part") or "")


def inputs_of(told: Sequence[Mapping[str, Any]] | None) -> list[Input]:
    return [input_of(one) for one in told or ()]


def words(event: Event) -> str:
    return event.get("why") or "told without a reason"


def _receive(event: Event, said: Said) -> None:
    expires = event.get("expires")
    delivery = Delivery(
        part=event["part"],
        quantity=read_quantity(event["quantity"]),
        supplier=event.get("supplier") or "",
        expires_on=date.fromisoformat(expires) if expires else None,
        station=station_named(event.get("station")),
    )
    items.receive_lot(event["lot"], delivery, said=said)


def key_of(event: Event) -> UUID:
    """Key of the entry that an event speaks of. Refuses ``unknown`` for what can be no key."""
    try:
        return UUID(event["of"])
    except ValueError as wrong:
        raise Refused("unknown", "No entry stands under %(key)s. Look it up again.", key=event["of"]) from wrong


def _made(event: Event) -> steps.Made:
    return steps.Made([event["tool"]] if event.get("tool") else [], station_named(event.get("station")))


def _wind(event: Event, said: Said) -> None:
    steps.wind(event["unit"], part=event["part"], spools=inputs_of(event["spools"]), made=_made(event), said=said)


def _mould(event: Event, said: Said) -> None:
    moulding = steps.Moulding(event["preforms"], inputs_of(event["fill"]), inputs_of(event.get("inserts")))
    steps.mould(event["unit"], part=event["part"], moulding=moulding, made=_made(event), said=said)


def _bond(event: Event, said: Said) -> None:
    bonding = steps.Bonding(event["front"], event["rear"], inputs_of(event["adhesive"]))
    steps.bond(event["unit"], part=event["part"], bonding=bonding, made=_made(event), said=said)


def _step(event: Event, said: Said) -> None:
    work = steps.Work(station_named(event.get("station")), [event["tool"]] if event.get("tool") else [])
    steps.log_step(event["unit"], step=step_named(event["step"]), work=work, said=said)


def _mix(event: Event, said: Said) -> None:
    weighing = items.Weighing(station=station_named(event.get("station")))
    mix, inputs = mix_named(event["mix"]), inputs_of(event["inputs"])
    items.mix_pot(event["pot"], mix=mix, inputs=inputs, weighing=weighing, said=said)


def _measure(event: Event, said: Said) -> None:
    value = event.get("value")
    name = characteristic_named(event["characteristic"])
    line = inspection.Line(name, [] if value is None else [value], event.get("gauge") or "")
    inspection.record_sheet(event["unit"], [line], station=station_named(event.get("station")), said=said)


def _scrap(event: Event, said: Said) -> None:
    quantity = read_quantity(event["quantity"]) if event.get("quantity") else None
    items.scrap(event["item"], words=words(event), quantity=quantity, said=said)


def _ship(event: Event, said: Said) -> None:
    """The release is told just before, for units without one; refused or not, the shipment is asked."""
    if not was_taken(said.key):
        try:
            units = [unit for unit in event["units"] if standing_release(item_by_code(unit)) is None]
            if units:
                release_units(units, said=replace(said, key=uuid5(said.key, "release")))
        except Refused:
            pass  # the shipment is refused for the same reason
    ship(event["units"], to=event["to"], said=said)


def _rework_add(event: Event, said: Said) -> None:
    lot, station = input_of(event) if event.get("lot") else None, station_named(event.get("station"))
    items.put_in(event["unit"], item=event.get("item") or "", lot=lot, station=station, said=said)


def _withdraw(event: Event, said: Said) -> None:
    of = key_of(event)
    if Measurement.objects.filter(entry__key=of).exists():
        inspection.withdraw_measurement(of, words=words(event), said=said)
    else:
        items.withdraw(of, was=event.get("was") or "", words=words(event), said=said)


def _correct_measurement(event: Event, said: Said) -> None:
    unread = "value" in event and event["value"] is None
    right = inspection.Right(event.get("value"), event.get("gauge") or "", event.get("second") or "", unread=unread)
    inspection.correct_measurement(key_of(event), right, words=words(event), said=said)


def _calibrate(event: Event, said: Said) -> None:
    due = event.get("due")
    found = Found(
        result=event["result"],
        error=event.get("error") or "",
        unit=_unit_of_gauge(event["gauge"]),
        due_on=date.fromisoformat(due) if due else None,
        remark=event.get("why") or "",
    )
    calibrate_gauge(event["gauge"], found, said=said)


def _unit_of_gauge(gauge: str) -> str:
    """Unit that a gauge's error is told in: that of what it measures."""
    measured = Measurement.objects.filter(gauge__code=gauge.strip().upper()).order_by("-pk").first()
    if measured is not None:
        return measured.unit_text
    band = CharacteristicRevision.objects.order_by("pk").first()
    return band.unit if band else "mm"


def _break(event: Event, said: Said) -> None:
    characteristic = Characteristic.objects.filter(name=characteristic_named(event["characteristic"])).first()
    if characteristic is None:
        raise Refused("unknown", "Nothing is measured under the name %(name)s.", name=event["characteristic"])
    break_chart(characteristic, words=words(event), said=said)


TELLERS: dict[str, Callable[[Event, Said], object]] = {
    "receive": _receive,
    "accept": lambda event, said: items.accept_lot(event["lot"], said=said),
    "split": lambda event, said: items.split_lot(event["lot"], inputs_of(event["into"]), said=said),
    "merge": lambda event, said: items.merge_lots(event["into"], inputs_of(event["from"]), said=said),
    "mix": _mix,
    "tank-charge": lambda event, said: items.charge_tank(event["tank"], lot=input_of(event), said=said),
    "tank-draw": lambda event, said: items.draw_tank(
        event["tank"], into=event["into"], quantity=read_quantity(event["quantity"]), said=said
    ),
    "tank-clean": lambda event, said: items.clean_tank(event["tank"], said=said),
    "wind": _wind,
    "mould": _mould,
    "step": _step,
    "bond": _bond,
    "measure": _measure,
    "hold": lambda event, said: items.place_hold(event["item"], reason="told", words=event.get("why") or "", said=said),
    "lift": lambda event, said: items.lift_hold(key_of(event), words=words(event), said=said),
    "rework-remove": lambda event, said: items.take_out(
        event["unit"], item=event["item"], words=words(event), station=station_named(event.get("station")), said=said
    ),
    "rework-add": _rework_add,
    "renumber": lambda event, said: items.renumber(event["unit"], to=event["to"], words=words(event), said=said),
    "scrap": _scrap,
    "send-out": lambda event, said: steps.send_out(event["units"], to=event["to"], said=said),
    "ship": _ship,
    "come-back": lambda event, said: items.bring_back(
        event["units"], station=station_named(event["station"]), said=said
    ),
    "use-late": lambda event, said: items.tell_use_late(
        event["item"], lot=input_of(event), words=words(event), said=said
    ),
    "correct-link": lambda event, said: items.correct_link(
        key_of(event),
        items.Correction(event["was"], event["is"], event.get("part") or ""),
        words=words(event),
        said=said,
    ),
    "withdraw": _withdraw,
    "correct-measurement": _correct_measurement,
    "calibration": _calibrate,
    "break": _break,
}
