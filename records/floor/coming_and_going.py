"""Entries of what comes to a station, leaves the house or is counted, each read and handed to its action."""

from __future__ import annotations

from collections.abc import Callable

from plant.scans import LONGEST
from records.items import actions as items
from records.ledger.acts import Said
from records.release import actions as release
from records.steps import actions as steps

from .fields import Fields


def _move(fields: Fields, said: Said) -> Callable[[], object]:
    item, station = fields.text("item", needed=True), fields.text("station", needed=True)
    return lambda: items.move_item(item, station=station, said=said)


def _send_out(fields: Fields, said: Said) -> Callable[[], object]:
    units, to = fields.texts("units", needed=True), fields.text("to", needed=True, longest=120)
    return lambda: steps.send_out(units, to=to, said=said)


def _come_back(fields: Fields, said: Said) -> Callable[[], object]:
    units, station = fields.texts("units", needed=True), fields.text("station", needed=True)
    return lambda: items.bring_back(units, station=station, said=said)


def _ship(fields: Fields, said: Said) -> Callable[[], object]:
    units, to = fields.texts("units", needed=True), fields.text("to", needed=True, longest=120)
    return lambda: release.ship(units, to=to, said=said)


def _count(fields: Fields, said: Said) -> Callable[[], object]:
    counts = []
    for row in fields.rows("counts", needed=True):
        counts.append(items.Counted(row.text("lot", needed=True), row.amount("amount")))
        row.end()
    return lambda: items.count_stock(counts, said=said)


def _label(fields: Fields, said: Said) -> Callable[[], object]:
    symbol = fields.text("symbol", needed=True, longest=LONGEST)
    return lambda: release.check_label(symbol, said=said)


def _carrier(fields: Fields, said: Said) -> Callable[[], object]:
    unit, kind = fields.text("unit", needed=True), fields.text("carrier", needed=True, longest=10)
    symbol, reason = fields.text("symbol", needed=True, longest=LONGEST), fields.text("reason")
    return lambda: steps.put_carrier(unit, kind=kind, symbol=symbol, reason=reason, said=said)


READERS: dict[str, Callable[[Fields, Said], Callable[[], object]]] = {
    "move": _move,
    "send-out": _send_out,
    "come-back": _come_back,
    "ship": _ship,
    "count": _count,
    "label": _label,
    "carrier": _carrier,
}
