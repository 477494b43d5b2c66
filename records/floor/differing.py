"""Entries whose tablet showed other rules than the server judged them by: found when taken, and laid side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from uuid import NAMESPACE_URL, uuid5

from django.db import IntegrityError
from django.db.models import QuerySet

from plant.catalogue.models import CharacteristicRevision, OperationReading, RouteRevision
from plant.people.models import Person
from plant.quantities import print_steps
from plant.speaking import say
from records.inspection.judging import Verdict, band_words, judge
from records.inspection.models import Measurement
from records.inspection.showing import band_shown, value_words
from records.ledger.acts import Said
from records.ledger.models import Entry
from records.ledger.refusals import Refused
from records.steps.models import StepReading, StepRecord

from .actions import note_differences
from .envelopes import Envelope
from .models import Difference

ROUTE = "route"


def differences_in(envelope: Envelope, entry: Entry) -> list[Difference]:
    """Where the tablet showed another revision than the one in force, not yet kept."""
    seen, found = envelope.seen, []
    if seen.route:
        for step in StepRecord.objects.filter(entry=entry).select_related("operation__route_revision"):
            judged = step.operation.route_revision.revision
            found.append(Difference(about=entry, what=ROUTE, seen=seen.route, judged=judged))
    if seen.bands:
        rows = Measurement.objects.filter(entry=entry).select_related("characteristic_revision__characteristic")
        for row in rows.order_by("pk"):
            band = row.characteristic_revision
            name = band.characteristic.name
            shown = seen.bands.get(name, "")
            found.append(Difference(about=entry, what=name, seen=shown, judged=band.revision, measurement=row))
    return [row for row in found if row.seen and row.seen != row.judged]


def note_where_it_differs(envelope: Envelope, entry: Entry) -> list[str]:
    """Keep for Review where the rules differ, and tell it in a sentence each."""
    found = differences_in(envelope, entry)
    if not found:
        return []
    key = uuid5(NAMESPACE_URL, f"differences of {entry.key}")
    if not Difference.objects.filter(about=entry).exists():  # the first sending is the one that counts
        with suppress(Refused, IntegrityError):  # the same entry came twice at once
            note_differences(entry, found, said=Said(Person.objects.program(), key, entry.happened_at))
    return [sentence(row) for row in found]


def sentence(row: Difference) -> str:
    """What a person is told of a difference."""
    told = {"seen": row.seen, "judged": row.judged, "band": row.what}
    if row.what == ROUTE:
        return say("The tablet showed revision %(seen)s of the route; it was judged by revision %(judged)s.", **told)
    return say(
        "The tablet showed revision %(seen)s of the band of %(band)s; it was judged by revision %(judged)s.", **told
    )


def to_compare() -> QuerySet[Difference]:
    """Differences that nobody has looked at, the oldest first."""
    rows = Difference.objects.filter(answer=None)
    related = ("about__by__name_words", "measurement__unit__state")
    return rows.select_related(*related).order_by("pk")


@dataclass(frozen=True)
class Side:
    """A value under one revision: its band in words, and the verdict."""

    revision: str
    band: str
    verdict: str


@dataclass(frozen=True)
class Compared:
    """One value with both rules: what it is, the value as written, what the tablet showed, what was in force."""

    name: str
    got: str
    seen: Side
    judged: Side

    @property
    def changes(self) -> bool:
        """Whether the two give another verdict."""
        return self.seen.verdict != self.judged.verdict


def units_of(rows: Sequence[Difference]) -> dict[int, str]:
    """The code of the unit that each entry is about, by the entry's number; two queries."""
    entries = [row.about_id for row in rows]
    steps = StepRecord.objects.filter(entry__in=entries).select_related("unit__state")
    found = {step.entry_id: step.unit.code for step in steps}
    measured = Measurement.objects.filter(entry__in=entries).select_related("unit__state")
    return found | {row.entry_id: row.unit.code for row in measured}


def compared(row: Difference) -> list[Compared]:
    """Each value of an entry under both revisions."""
    return list(_of_band(row) if row.measurement is not None else _of_route(row))


def _of_band(row: Difference) -> Iterator[Compared]:
    measured = row.measurement
    assert measured is not None  # asked by ``compared``
    judged = measured.characteristic_revision
    seen = CharacteristicRevision.objects.filter(characteristic=judged.characteristic, revision=row.seen).first()
    got = f"{value_words(measured.value, judged)} {judged.unit}" if measured.value is not None else "not read"
    sides = [
        Side(revision, band_shown(band), str(judge(measured.value, band.lower, band.upper).value))
        if band
        else Side(revision, "not on file", str(Verdict.MISSING.value))
        for revision, band in ((row.seen, seen), (row.judged, judged))
    ]
    yield Compared(judged.characteristic.name, got, *sides)


def _of_route(row: Difference) -> Iterator[Compared]:
    """Readings of a step under the bands of both routes; the step itself where it reads nothing."""
    for step in StepRecord.objects.filter(entry=row.about).select_related("operation__route_revision"):
        judged = step.operation.route_revision
        seen = RouteRevision.objects.filter(part=judged.part_id, revision=row.seen).first()
        bands = [_bands(route, step.operation.name) for route in (seen, judged)]
        readings = list(StepReading.objects.filter(step=step).order_by("pk"))
        for reading in readings:
            sides = [
                _side(revision, band.get(reading.name), reading)
                for revision, band in zip((row.seen, row.judged), bands, strict=True)
            ]
            yield Compared(reading.name, f"{reading.written} {reading.unit}", *sides)
        if not readings:
            there = [
                "in it" if has else "not in it"
                for has in (seen is not None and seen.operations.filter(name=step.operation.name).exists(), True)
            ]
            words = [Side(*told, "within") for told in zip((row.seen, row.judged), there, strict=True)]
            yield Compared(step.operation.name, "done", *words)


def _bands(route: RouteRevision | None, operation: str) -> dict[str, OperationReading]:
    rows = OperationReading.objects.filter(operation__route_revision=route, operation__name=operation)
    return {row.name: row for row in rows} if route else {}


def _side(revision: str, band: OperationReading | None, reading: StepReading) -> Side:
    if band is None:
        return Side(revision, "not asked for", str(Verdict.MISSING.value))
    low, high = (
        None if limit is None else print_steps(limit, band.unit, band.unit_kind) for limit in (band.lower, band.upper)
    )
    verdict = judge(reading.value, band.lower, band.upper)
    return Side(revision, band_words(low, high, band.unit), str(verdict.value))
