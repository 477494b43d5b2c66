"""What carries a unit's identity: a carrier begins when its code is read, and ends the one before it.

Whatever was read is kept. A carrier with another unit's code, an old one, and none at all are refused before the act
and flagged after it; each says which unit has to be looked at.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext_noop as _

from plant.catalogue.carriers import OUTLIVES_PAINT, PRINTED, Carrier
from plant.catalogue.models import Operation
from plant.catalogue.queries import carrier_from
from plant.codes import read_typed
from plant.equipment.models import Tool
from plant.scans import read_scan
from records.items.gates import Gate
from records.items.models import Item
from records.items.queries import find_item
from records.ledger.acts import Act
from records.ledger.marks import Mark
from records.ledger.refusals import Refused

from .models import StepRecord, UnitCarrier

# What the floor tells of a symbol that was opened there: the code, and the number of the label.
_WITH_COPY = re.compile(r"(.+) L(\d{1,4})", re.ASCII)
WENT_IN, CAME_OUT, SWAPPED = "went-in", "came-out", "labels-swapped"

WRONG = _("That is the code of %(found)s, and this is %(unit)s. Leave both as they are, and ask your lead.")
OLD = _("That is label %(copy)s of %(unit)s, an old one. Take it off, and scan the one that is on it now.")
PASSING = _(
    "%(unit)s is known by its %(carrier)s alone, which does not outlive paint. Give it its permanent mark or a tag, "
    "and scan that first."
)
NAMELESS = _(
    "Nothing is on file that carries the code of %(unit)s. Give it its permanent mark or a tag, and scan that."
)


@dataclass(frozen=True)
class Found:
    """What was read on a carrier: whose code, which label, and the item that it names."""

    code: str
    copy: int | None
    item: Item | None

    def is_old(self, before: Iterable[UnitCarrier]) -> bool:
        """Whether a newer label than this one was read among the carriers that came before."""
        return any(self.copy and row.code == self.code and (row.copy or 0) > self.copy for row in before)


def read_carrier(text: str) -> Found:
    """What a scanned or typed carrier says. Refuses ``scan`` for a symbol that can't be read for certain."""
    with_copy = _WITH_COPY.fullmatch(text.strip())
    if with_copy:
        return Found(with_copy[1], int(with_copy[2]), find_item(with_copy[1]))
    scan = read_scan(text)
    item = find_item(scan.code)
    code = scan.code if item is not None else read_typed(scan.code)
    return Found(code, scan.copy, item or find_item(code))


def carrier_told(text: str) -> str:
    """What was read on a carrier as an entry tells it: the code, and the number of the label where it has one.

    Examples
    --------
    >>> carrier_told("(01)09521234544081(21)TW-26-000396-8(90)L2"), carrier_told(" tw-26-000396-8")
    ('TW-26-000396-8 L2', 'TW-26-000396-8')
    """
    if _WITH_COPY.fullmatch(text.strip()):
        return text.strip()
    try:
        scan = read_scan(text)
    except Refused:
        return text  # the check of the answer says why
    return f"{scan.code} L{scan.copy}" if scan.copy else scan.code


def carriers_of(units: Iterable[int], mark: Mark | None = None) -> list[UnitCarrier]:
    """Carriers of units that stood or stand, the first first, as known at a mark; one query."""
    asked = list(units)
    if not asked:
        return []
    rows = UnitCarrier.objects.standing(mark).filter(unit_id__in=asked)
    return list(rows.order_by("began_at", "pk"))


def on_now(units: Iterable[int]) -> dict[int, UnitCarrier]:
    """What carries the identity of each unit at present."""
    return {row.unit_id: row for row in carriers_of(units) if row.is_on}


def expected(units: Iterable[int]) -> dict[int, str]:
    """What the route of each unit asks to carry it by now: the last that was to be put on; one query."""
    counts = {"outcome": StepRecord.Outcome.DONE, "status": StepRecord.Status.STANDS}
    rows = StepRecord.objects.standing().filter(unit_id__in=list(units), operation__carrier__isnull=False, **counts)
    return dict(rows.order_by("operation__n", "pk").values_list("unit_id", "operation__carrier__kind"))


def begin_carrier(a: Act, unit: Item, kind: str, text: str, *, reason: str = "") -> UnitCarrier:
    """A carrier whose code was read is on a unit from now on.

    Refuses, or flags where it is done, ``wrong-carrier`` for another's code and ``old-carrier`` for a label that a
    newer one came after.
    """
    found = read_carrier(text)
    is_own = found.item is not None and found.item.pk == unit.pk
    before = carriers_of([unit.pk])
    if not is_own:
        a.refuse_or_flag("wrong-carrier", WRONG, unit=unit.code, found=found.code)
    elif found.is_old(before):
        a.refuse_or_flag("old-carrier", OLD, unit=unit.code, copy=found.copy)
    _flag_twice(a, unit, found)
    told = UnitCarrier(unit=unit, kind=kind, code=found.code, copy=found.copy, is_own=is_own, reason=reason)
    return _put_between(a, told, before)


def _flag_twice(a: Act, unit: Item, found: Found) -> None:
    """The same code stands on another unit: one of the two is not what it says."""
    others = UnitCarrier.objects.newest().filter(code=found.code, ended_at=None).exclude(unit=unit)
    other = others.exclude(kind=Carrier.TOOL).exclude(status=UnitCarrier.Status.WITHDRAWN).first()
    if other is not None:
        a.flag("carried-twice", unit=unit.code, found=found.code, other=other.unit.code)


def _put_between(a: Act, told: UnitCarrier, before: Sequence[UnitCarrier]) -> UnitCarrier:
    """Write a carrier in its place among those of the unit and end the one it follows; read again, nothing changes."""
    earlier = [row for row in before if row.began_at <= a.at]
    last = earlier[-1] if earlier else None
    same = last is not None and (last.kind, last.code, last.copy) == (told.kind, told.code, told.copy)
    if last is not None and last.is_on and same and not told.reason:
        return last
    if last is not None and (last.ended_at is None or last.ended_at > a.at):
        _end(a, last, a.at, told.reason)
    told.began_at = a.at
    # What is told late does not put off what is on file for a later moment.
    told.ended_at = next((row.began_at for row in before if row.began_at > a.at), None)
    told.status = UnitCarrier.Status.ENDED if told.ended_at else UnitCarrier.Status.STANDS
    return a.write(told)


def _end(a: Act, row: UnitCarrier, at: datetime, reason: str) -> None:
    ended = {"status": UnitCarrier.Status.ENDED, "ended_at": at, "reason": reason or row.reason}
    a.write(row.next_version(**ended))


def end_carriers(a: Act, units: Iterable[Item], reason: str) -> None:
    """Whatever carries these units carries them no longer."""
    for row in on_now([unit.pk for unit in units]).values():
        _end(a, row, max(a.at, row.began_at), reason)


def carry_from_birth(a: Act, unit: Item, operation: Operation, tools: Sequence[Tool], *, has_label: bool) -> None:
    """A unit is made: it is known by its tool, or by the label scanned for it; one yet to be printed comes later."""
    kind = carrier_from(operation)
    if kind == Carrier.TOOL:
        _carry_by_tool(a, unit, operation, tools)
    elif kind and has_label:
        begin_carrier(a, unit, kind, unit.code)


def _carry_by_tool(a: Act, unit: Item, operation: Operation, tools: Sequence[Tool]) -> None:
    tool = next((tool for tool in tools if tool.kind == operation.tool_kind), None)
    if tool is not None:
        _put_between(a, UnitCarrier(unit=unit, kind=Carrier.TOOL, code=tool.code), carriers_of([unit.pk]))


def carry_on(a: Act, unit: Item, operation: Operation, tools: Sequence[Tool], text: str) -> None:
    """An operation is done: the carrier that it puts on is read, else ``no-carrier`` is flagged.

    Refuses ``wrong-kind`` for a carrier at an operation that puts none on.
    """
    kind = carrier_from(operation)
    if text and kind in ("", Carrier.TOOL):
        words = "%(operation)s puts nothing on %(unit)s. Scan the carrier where the route asks for it."
        raise Refused("wrong-kind", words, operation=operation.name, unit=unit.code)
    if kind == Carrier.TOOL:
        _carry_by_tool(a, unit, operation, tools)
    elif text:
        begin_carrier(a, unit, kind, text)
    elif kind:
        a.flag("no-carrier", unit=unit.code, carrier=kind)
        if operation.makes_safe:  # it is out of its mould, whatever hangs on it
            tools_on = [row for row in on_now([unit.pk]).values() if row.kind == Carrier.TOOL]
            for row in tools_on:
                _end(a, row, max(a.at, row.began_at), CAME_OUT)


def carry_printed(a: Act, unit: Item, code: str, copy: int, reason: str) -> None:
    """A printed label was read back on a unit: it carries it, unless the route asks for what is not printed by now."""
    kind = expected([unit.pk]).get(unit.pk, "")
    present = on_now([unit.pk]).get(unit.pk)
    if kind in PRINTED or (not kind and (present is None or present.kind != Carrier.TOOL)):
        begin_carrier(a, unit, kind or Carrier.LABEL, f"{code} L{copy}", reason=reason)


def take_back_carriers(a: Act, of: int) -> None:
    """An entry is taken back: what it put on never was, and what went off for it is on until the next one came."""
    told = list(UnitCarrier.objects.filter(entry_id=of))
    begun = {row.line for row in told if row.first_id is None}
    ended = {row.line for row in told} - begun
    rows = carriers_of({row.unit_id for row in told})
    ends = {(row.unit_id, row.began_at) for row in rows if row.line in begun}
    for row in rows:
        if row.line in begun:
            a.write(row.next_version(status=UnitCarrier.Status.WITHDRAWN))
    stay = [row for row in rows if row.line not in begun]
    for n, row in enumerate(stay):
        if row.line in ended or (row.unit_id, row.ended_at) in ends:
            _end_by(a, row, next((one for one in stay[n + 1 :] if one.unit_id == row.unit_id), None))


def _end_by(a: Act, row: UnitCarrier, follows: UnitCarrier | None) -> None:
    """A carrier is on until another one follows it, and is on now where none does."""
    ended_at = follows.began_at if follows else None
    if ended_at != row.ended_at:
        why = UnitCarrier.objects.get(pk=row.line).reason  # why it was put on
        status = UnitCarrier.Status.ENDED if follows else UnitCarrier.Status.STANDS
        reason = follows.reason if follows and follows.reason else why
        a.write(row.next_version(status=status, ended_at=ended_at, reason=reason))


def stands_of(told: Iterable[UnitCarrier]) -> list[UnitCarrier]:
    """Of what entries told of carriers, what still counts: what they put on, or that one is gone."""
    rows = list(told)
    newest = {row.line: row for row in carriers_of({row.unit_id for row in rows})}
    put_on = {row.entry_id for row in rows if row.first_id is None}
    return [
        row
        for row in rows
        if row.line in newest
        and (row.first_id is None or (row.entry_id not in put_on and newest[row.line].ended_at == row.ended_at))
    ]


def stop_passing(a: Gate, units: Sequence[Item]) -> None:
    """Refuse or flag ``passing-carrier`` for a unit that goes out by a carrier which does not outlive paint.

    Only a works whose routes name carriers is asked.
    """
    asked = expected([unit.pk for unit in units])
    present = on_now(asked) if asked else {}
    for unit in units:
        if unit.pk not in asked:
            continue
        carrier = present.get(unit.pk)
        if carrier is None:
            a.refuse_or_flag("passing-carrier", NAMELESS, unit=unit.code)
        elif carrier.kind not in OUTLIVES_PAINT:
            a.refuse_or_flag("passing-carrier", PASSING, unit=unit.code, carrier=str(Carrier(carrier.kind).label))
