"""Reads of measurements: the latest of a unit, those of a chart, and what a gauge found out has passed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q

from plant.catalogue.models import Characteristic, CharacteristicRevision, Part
from plant.equipment.models import Calibration, Gauge
from plant.equipment.queries import calibrations_of
from plant.people.queries import works_day
from records.items.models import Item
from records.ledger.marks import Mark

from .judging import Verdict, judge
from .models import Measurement


@dataclass(frozen=True)
class Judged:
    """A measurement with its verdict under the band that it was taken under."""

    measurement: Measurement | None
    verdict: Verdict
    before: tuple[Measurement, ...] = ()  # as it stood before it was corrected, the first version first


def verdict_of(measurement: Measurement) -> Verdict:
    """Verdict of a measurement under its own band."""
    band = measurement.characteristic_revision
    return judge(measurement.value, band.lower, band.upper)


def latest_of(unit: Item, characteristic: str, mark: Mark | None = None) -> Judged:
    """The latest measurement of a characteristic on a unit by when it was taken, as corrected."""
    rows = Measurement.objects.standing(mark).filter(unit=unit)
    rows = rows.filter(characteristic_revision__characteristic__name=characteristic)
    newest = rows.select_related("characteristic_revision", "gauge").order_by("-at", "-pk").first()
    return Judged(newest, verdict_of(newest)) if newest else Judged(None, Verdict.MISSING)


def series_of(characteristic: Characteristic, mark: Mark | None = None) -> list[Measurement]:
    """Measurements of a characteristic in order of time, those withdrawn among them: their place stays empty."""
    return series_of_each([characteristic], mark)[characteristic.pk]


def series_of_each(characteristics: Iterable[Characteristic], mark: Mark | None = None) -> dict[int, list[Measurement]]:
    """Measurements of several characteristics, each in order of time; one query."""
    found: dict[int, list[Measurement]] = {characteristic.pk: [] for characteristic in characteristics}
    rows = Measurement.objects.newest(mark).filter(characteristic_revision__characteristic__in=list(found))
    related = ("characteristic_revision__characteristic", "unit__state", "gauge")
    for row in rows.select_related(*related).order_by("at", "first_id", "pk"):
        found[row.characteristic_revision.characteristic_id].append(row)
    return found


@dataclass(frozen=True)
class Turned:
    """A measurement that was within as read and is outside when the gauge's error is put right."""

    measurement: Measurement
    true: int
    verdict: Verdict


@dataclass(frozen=True)
class GaugeFinding:
    """What a gauge that was found out has measured since it was last found good."""

    found_out: Calibration | None = None
    since: datetime | None = None
    measured: tuple[Measurement, ...] = ()
    turned: tuple[Turned, ...] = ()


def gauge_finding(gauge: Gauge, mark: Mark | None = None) -> GaugeFinding:
    """Readings that the last calibration that found a gauge out puts in doubt, as they stand at a mark."""
    done = calibrations_of(gauge, mark)
    outs = [calibration for calibration in done if calibration.result == Calibration.Result.OUT]
    if not outs:
        return GaugeFinding()
    found = outs[-1]
    goods = [c.done_at for c in done if c.result == Calibration.Result.GOOD and c.done_at < found.done_at]
    since = goods[-1] if goods else None
    rows = Measurement.objects.standing(mark).filter(gauge=gauge, at__lte=found.done_at)
    if since is not None:
        rows = rows.filter(at__gt=since)
    measured = tuple(rows.select_related("characteristic_revision__characteristic", "unit__state").order_by("at", "pk"))
    return GaugeFinding(found, since, measured, tuple(turned_by(measured, found.error or 0)))


def turned_by(measured: Iterable[Measurement], error: int) -> Iterable[Turned]:
    """Measurements that a gauge's error turns from within to outside."""
    for measurement in measured:
        band = measurement.characteristic_revision
        if measurement.value is None or verdict_of(measurement) != Verdict.WITHIN:
            continue
        true = measurement.value - error
        verdict = judge(true, band.lower, band.upper)
        if verdict.is_outside:
            yield Turned(measurement, true, verdict)


def bands_of(part: Part, at: datetime) -> list[CharacteristicRevision]:
    """Bands in force of everything that is measured on a part, key characteristics first; one query."""
    rows = CharacteristicRevision.objects.filter(characteristic__part=part).in_force(at)
    newest: dict[int, CharacteristicRevision] = {}
    for row in rows.select_related("characteristic__part"):
        newest.setdefault(row.characteristic_id, row)
    return sorted(newest.values(), key=lambda band: (not band.is_key, band.characteristic.name))


def measured_on_unit(unit: Item) -> list[Judged]:
    """What stands as measured on a unit, the latest first, with its verdict."""
    rows = Measurement.objects.standing().filter(unit=unit).order_by("-at", "-pk")
    related = ("characteristic_revision__characteristic", "gauge", "entry__by__name_words")
    newest = list(rows.select_related(*related))
    earlier: dict[int, list[Measurement]] = defaultdict(list)
    lines = [row.line for row in newest if row.version > 1]
    versions = Measurement.objects.filter(Q(pk__in=lines) | Q(first_id__in=lines)).order_by("version")
    for version in versions.select_related("characteristic_revision"):
        earlier[version.line].append(version)
    return [
        Judged(row, verdict_of(row), tuple(one for one in earlier[row.line] if one.version < row.version))
        for row in newest
    ]


@dataclass(frozen=True)
class GaugeRow:
    """A gauge with its newest calibration."""

    gauge: Gauge
    newest: Calibration | None
    is_overdue: bool

    @property
    def due_on(self) -> date | None:
        return self.newest.due_on if self.newest and self.newest.due_on else self.gauge.due_on

    @property
    def found(self) -> str:
        """How the newest calibration found it: "good", "out", or "none" where there is none."""
        return self.newest.result if self.newest else "none"


def gauge_rows(at: datetime) -> list[GaugeRow]:
    """Gauges and scales, those found out or past their check first; two queries whatever their number."""
    newest: dict[int, Calibration] = {}
    for calibration in Calibration.objects.filter(done_at__lte=at).order_by("done_at", "pk"):
        newest[calibration.gauge_id] = calibration
    rows = []
    for gauge in Gauge.objects.order_by("code"):
        last = newest.get(gauge.pk)
        due = last.due_on if last and last.due_on else gauge.due_on
        rows.append(GaugeRow(gauge, last, due is not None and works_day(at) > due))
    is_out = Calibration.Result.OUT
    return sorted(rows, key=lambda row: (row.newest is None or row.newest.result != is_out, not row.is_overdue))
