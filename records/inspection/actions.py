"""What can happen to measurements: a sheet is filled in, a value is corrected or taken back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Q

from plant.catalogue.models import CharacteristicRevision
from plant.catalogue.queries import band_in_force, characteristic_of
from plant.codes import fold
from plant.equipment.models import Gauge
from plant.equipment.queries import gauge_by_code, is_overdue
from plant.people.models import Person
from plant.people.queries import person_by_badge
from plant.quantities import steps_of
from records.items.actions.correcting import entry_of
from records.items.gates import hold_by_cause, stop_gone
from records.items.locking import lock_items
from records.items.making import come_to, place_named, unit_for
from records.items.models import Evidence, Item
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words
from records.steps.models import StepRecord

from .judging import Verdict, is_near_edge, judge, worked_out
from .models import Measurement, Reading

OUTSIDE = "measured-outside"


@dataclass(frozen=True)
class Line:
    """One line of a sheet: the readings as written, or none with the reason why it could not be read."""

    characteristic: str
    readings: Sequence[str]
    gauge: str
    reason: str = ""


def record_sheet(unit: str, lines: Sequence[Line], *, station: str = "", said: Said) -> list[Measurement]:
    """Fill in an inspection sheet: every value in one act, each judged under the band in force.

    A gauge past its check flags the reading, it never refuses it. Refuses ``unknown``, ``wrong-kind``,
    ``not-a-number``.
    """
    stated = [[line.characteristic, list(line.readings), fold(line.gauge), line.reason] for line in lines]
    with act("measured", said, unit=fold(unit), lines=stated, station=station.strip()) as a:
        if a.made:
            return list(Measurement.objects.filter(entry=a.entry).order_by("pk"))
        item = unit_for(unit)
        if not lines:
            raise Refused("unknown", "The sheet is empty. Fill in at least one line.")
        lock_items([item])
        stop_gone(a, [item])
        measured = [_measure(a, item, line) for line in lines]
        come_to(a, [item], place_named(a, station))
        return measured


def _measure(a: Act, item: Item, line: Line) -> Measurement:
    band = band_in_force(characteristic_of(item.part, line.characteristic), a.at)
    gauge = gauge_by_code(line.gauge) if line.gauge.strip() else None
    steps = [steps_of(text, band.unit, band.unit_kind) for text in line.readings]
    measurement = a.write(
        Measurement(
            unit=item,
            characteristic_revision=band,
            gauge=gauge,
            value=worked_out(steps, band.worked_out) if steps else None,
            unit_kind=band.unit_kind,
            written=line.readings[0].strip() if len(steps) == 1 else "",
            unit_text=band.unit,
            at=a.at,
            reason=line.reason or ("" if steps else "not-read"),
        )
    )
    if len(steps) > 1:
        a.write_all(
            Reading(measurement=measurement, n=n, value=value, written=text.strip())
            for n, (value, text) in enumerate(zip(steps, line.readings, strict=True), start=1)
        )
    flag_gauge(a, gauge, measurement)
    tell_verdict(a, measurement, band)
    return measurement


def flag_gauge(a: Act, gauge: Gauge | None, measurement: Measurement) -> None:
    """Flag a reading taken with a gauge past its check."""
    if gauge is not None and is_overdue(gauge, measurement.at):
        a.flag("gauge-overdue", gauge=gauge.pk)


def tell_verdict(a: Act, measurement: Measurement, band: CharacteristicRevision) -> Verdict:
    """Write the verdict where the gates read it; a value outside holds the unit where the settings say so."""
    verdict = judge(measurement.value, band.lower, band.upper)
    shown = {Verdict.WITHIN: Evidence.Verdict.WITHIN, Verdict.MISSING: Evidence.Verdict.NOT_SHOWN}
    told = shown.get(verdict, Evidence.Verdict.OUTSIDE)
    if verdict == Verdict.WITHIN and is_near_edge(measurement.value or 0, band.lower, band.upper):
        told = Evidence.Verdict.EDGE
    name = band.characteristic.name
    a.write(Evidence(item=measurement.unit, what="measure", name=name, verdict=told, at=measurement.at))
    if verdict.is_outside:
        last = StepRecord.objects.standing().filter(unit=measurement.unit).order_by("-ended_at", "-pk").first()
        hold_by_cause(a, [measurement.unit], [OUTSIDE], last.operation if last else None)
    return verdict


def measurement_of(of: UUID, characteristic: str = "") -> Measurement:
    """Newest version of a measurement that an entry made or corrected. Refuses ``unknown`` otherwise."""
    made = Measurement.objects.filter(entry=entry_of(of))
    if characteristic:
        made = made.filter(characteristic_revision__characteristic__name=characteristic)
    lines = {row.line for row in made}
    newest = Measurement.objects.newest().filter(status=Measurement.Status.STANDS)
    found = [row for row in newest.filter(unit__in=made.values("unit")) if row.line in lines]
    if not found:
        raise Refused("unknown", "No measurement of this entry stands any more.")
    if len(found) > 1:
        raise Refused("unknown", "This entry holds several measures. Say which one.")
    return found[0]


@dataclass(frozen=True)
class Right:
    """What a measurement should say: another value, another gauge, and who else saw it.

    ``unread`` says that it could not be read after all; then no value stands. ``reason`` is a code from the list.
    """

    value: str | None = None
    gauge: str = ""
    second: str = ""
    characteristic: str = ""
    unread: bool = False
    reason: str = ""

    def as_read(self) -> dict[str, Any]:
        """What is asked, as it is compared with a repeat."""
        stated: dict[str, Any] = {"value": self.value, "gauge": fold(self.gauge)}
        stated["second"] = Free(self.second.strip())
        stated |= {"characteristic": self.characteristic} | ({"unread": True} if self.unread else {})
        return stated | ({"reason": self.reason} if self.reason else {})


def correct_measurement(of: UUID, right: Right, *, words: str, said: Said) -> Measurement:
    """Correct a value or its gauge; both stay readable.

    Refuses ``unknown``, ``not-a-number``, ``nothing-changed``, and ``second-person`` where a value outside would
    become one within without another person, at once or by way of a value that could not be read.
    """
    with act("measurement corrected", said, of=of, **right.as_read(), words=Free(words)) as a:
        if a.made:
            return Measurement.objects.get(entry=a.entry)
        if right.value is None and not right.gauge.strip() and not right.unread:
            raise Refused("nothing-changed", "Write the right value, or the right gauge.")
        old = measurement_of(of, right.characteristic)
        band = old.characteristic_revision
        lock_items([old.unit])
        gauge = gauge_by_code(right.gauge) if right.gauge.strip() else old.gauge
        value, written, reason = old.value, old.written, old.reason
        if right.unread:
            value, written, reason = None, "", right.reason or "not-read"
        elif right.value is not None:
            value, written = steps_of(right.value, band.unit, band.unit_kind), right.value.strip()
            reason = right.reason
        second = _second_person(right.second, said.by)
        was, becomes = judge(_last_read(old), band.lower, band.upper), judge(value, band.lower, band.upper)
        if was.is_outside and becomes == Verdict.WITHIN and second is None:
            raise Refused("second-person", "This turns a value outside into one within. A second person must sign.")
        newer = a.write(
            old.next_version(
                value=value, written=written, reason=reason, gauge=gauge, second=second, words=keep_words(words)
            )
        )
        if right.gauge.strip():
            flag_gauge(a, gauge, newer)
        tell_verdict(a, newer, band)
        return newer


def _last_read(measurement: Measurement) -> int | None:
    """The last value of a line that was read: to say that it could not be read does not clear one outside. [steps]"""
    line = Measurement.objects.filter(
        Q(pk=measurement.line) | Q(first=measurement.line), version__lte=measurement.version
    )
    return line.filter(value__isnull=False).order_by("-version").values_list("value", flat=True).first()


def _second_person(badge: str, first: Person) -> Person | None:
    if not badge.strip():
        return None
    second = person_by_badge(badge)
    return None if second.pk == first.pk else second


def withdraw_measurement(of: UUID, *, characteristic: str = "", words: str, said: Said) -> Measurement:
    """Take a measurement back; its place in a chart stays empty. Refuses ``unknown``."""
    with act("entry withdrawn", said, of=of, characteristic=characteristic, words=Free(words)) as a:
        if a.made:
            return Measurement.objects.get(entry=a.entry)
        old = measurement_of(of, characteristic)
        lock_items([old.unit])
        return _withdraw(a, old, words)


def withdraw_sheet(of: UUID, *, words: str, said: Said) -> list[Measurement]:
    """Take back all that a sheet said. Refuses ``unknown`` where nothing of it stands as it was."""
    with act("entry withdrawn", said, of=of, sheet=True, words=Free(words)) as a:
        if a.made:
            return list(Measurement.objects.filter(entry=a.entry).order_by("pk"))
        standing = Measurement.objects.newest().filter(status=Measurement.Status.STANDS, entry=entry_of(of))
        rows = list(standing.select_related("unit", "characteristic_revision__characteristic").order_by("pk"))
        if not rows:
            raise Refused("unknown", "No measurement of this entry stands any more.")
        lock_items({row.unit for row in rows})
        return [_withdraw(a, row, words) for row in rows]


def _withdraw(a: Act, old: Measurement, words: str) -> Measurement:
    withdrawn = a.write(old.next_version(status=Measurement.Status.WITHDRAWN, words=keep_words(words)))
    name = old.characteristic_revision.characteristic.name
    a.write(Evidence(item=old.unit, what="measure", name=name, verdict=Evidence.Verdict.NOT_SHOWN, at=old.at))
    return withdrawn


def move_measurements(a: Act, one: Item, other: Item, since: object) -> None:
    """Measurements made since a moment go from each of two units to the other, in an open act."""
    opposite = {one.pk: other, other.pk: one}
    standing = Measurement.objects.newest().filter(
        unit_id__in=list(opposite), status=Measurement.Status.STANDS, at__gte=since
    )
    for measurement in list(standing):
        a.write(measurement.next_version(status=Measurement.Status.WITHDRAWN, reason="labels-swapped"))
        columns = ("characteristic_revision", "gauge", "value", "unit_kind", "written", "unit_text", "at", "reason")
        content = {name: getattr(measurement, name) for name in columns}
        moved = a.write(Measurement(unit=opposite[measurement.unit_id], **content))
        a.write_all(
            Reading(measurement=moved, n=reading.n, value=reading.value, written=reading.written)
            for reading in Reading.objects.filter(measurement=measurement)
        )
        tell_verdict(a, moved, measurement.characteristic_revision)
