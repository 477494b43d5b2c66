"""Reads of measurements: the latest of a unit, those of a chart, and what a gauge found out has passed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from plant.catalogue.models import Characteristic
from plant.equipment.models import Calibration, Gauge
from plant.equipment.queries import calibrations_of
from records.items.models import Item
from records.ledger.marks import Mark

from .judging import Verdict, judge
from .models import Measurement


@dataclass(frozen=True)
class Judged:
    """A measurement with its verdict under the band that it was taken under."""

    measurement: Measurement | None
    verdict: Verdict


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
    rows = Measurement.objects.newest(mark).filter(characteristic_revision__characteristic=characteristic)
    return list(rows.select_related("characteristic_revision", "unit__state", "gauge").order_by("at", "first_id", "pk"))


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
