"""Questions about stations, tools and gauges."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Max

from plant.codes import fold
from plant.people.queries import works_day
from records.ledger.marks import Mark
from records.ledger.memory import remembered
from records.ledger.refusals import Refused

from .models import Calibration, Gauge, Printer, PrinterSetting, Recorder, Station, Tool


def station_by_code(code: str) -> Station:
    """Station by its code. Refuses ``unknown``."""
    named = code.strip()
    station = remembered((Station, named.casefold()), lambda: Station.objects.filter(code__iexact=named).first())
    if station is None:
        raise Refused("unknown", "No station is called %(station)s here. Choose one.", station=named)
    return station


def tool_by_code(code: str) -> Tool:
    """Tool by its code. Refuses ``unknown``."""
    tool = remembered((Tool, fold(code)), lambda: Tool.objects.filter(code=fold(code)).first())
    if tool is None:
        raise Refused("unknown", "No tool is called %(tool)s here. Scan it again.", tool=fold(code))
    return tool


def gauge_by_code(code: str) -> Gauge:
    """Gauge or scale by its code. Refuses ``unknown``."""
    gauge = remembered((Gauge, fold(code)), lambda: Gauge.objects.filter(code=fold(code)).first())
    if gauge is None:
        raise Refused("unknown", "No gauge is called %(gauge)s here. Scan it again.", gauge=fold(code))
    return gauge


def due_on(gauge: Gauge, at: datetime) -> date | None:
    """Last good day of a gauge by the calibrations done up to a moment."""
    done = Calibration.objects.filter(gauge=gauge, done_at__lte=at, due_on__isnull=False)
    latest = done.order_by("-done_at", "-pk").first()
    return latest.due_on if latest else gauge.due_on


def is_overdue(gauge: Gauge, at: datetime) -> bool:
    """Whether a gauge was past its last good day, by the works' calendar."""
    due = due_on(gauge, at)
    return due is not None and works_day(at) > due


@dataclass(frozen=True)
class GaugeHere:
    """A gauge or scale with its last good day and whether that is past."""

    gauge: Gauge
    due_on: date | None
    is_overdue: bool


def gauges_here(at: datetime) -> list[GaugeHere]:
    """Every gauge by its code, those past their check first; two queries whatever their number."""
    done = Calibration.objects.filter(done_at__lte=at, due_on__isnull=False).order_by("done_at", "pk")
    newest = dict(done.values_list("gauge_id", "due_on"))
    today = works_day(at)
    rows = []
    for gauge in Gauge.objects.order_by("code"):
        due = newest.get(gauge.pk) or gauge.due_on
        rows.append(GaugeHere(gauge, due, due is not None and today > due))
    return sorted(rows, key=lambda row: not row.is_overdue)


@dataclass(frozen=True)
class EquipmentHere:
    """A station, tool, recorder or gauge: what it is, its kind and name, what is known of it, and its last good day."""

    code: str
    what: str
    kind: str
    name: str = ""
    known: str = ""
    due_on: date | None = None
    is_overdue: bool = False


def equipment_here(at: datetime) -> list[EquipmentHere]:
    """Everything that work is done with, gauges past their check first; five queries whatever its number."""
    gauges = [
        EquipmentHere(
            code=row.gauge.code,
            what="gauge",
            kind=row.gauge.kind or "gauge",
            known=f"reads {row.gauge.unit_kind}" if row.gauge.unit_kind else "",
            due_on=row.due_on,
            is_overdue=row.is_overdue,
        )
        for row in gauges_here(at)
    ]
    stations = [
        EquipmentHere(row.code, "station", row.kind or "any work", row.name)
        for row in Station.objects.order_by("kind", "code")
    ]
    tools = [
        EquipmentHere(
            row.code,
            "tool",
            str(row.get_kind_display()),
            known=f"good for {row.cycles_allowed} cycles" if row.cycles_allowed else "",
        )
        for row in Tool.objects.order_by("kind", "code")
    ]
    recorders = [
        EquipmentHere(row.code, "recorder", row.kind, known=f"its clock shows {row.zone or 'the works’ time'}")
        for row in Recorder.objects.order_by("code")
    ]
    late = [row for row in gauges if row.is_overdue]
    return [*late, *stations, *tools, *recorders, *(row for row in gauges if not row.is_overdue)]


def calibrations_of(gauge: Gauge, mark: Mark | None = None) -> list[Calibration]:
    """Calibrations of a gauge in order of time, as known at a mark."""
    return list(Calibration.objects.filter(gauge=gauge).known(mark).order_by("done_at", "pk"))


def printers(station: Station | None = None) -> list[PrinterSetting]:
    """Printers in use as they are set up now, those of a station first."""
    newest = Printer.objects.annotate(newest=Max("settings")).values("newest")
    rows = PrinterSetting.objects.filter(pk__in=newest, is_gone=False)
    found = list(rows.select_related("printer").prefetch_related("stations__station").order_by("printer__code"))
    return sorted(
        found, key=lambda one: not (station and any(row.station_id == station.pk for row in one.stations.all()))
    )


def printer_named(code: str) -> PrinterSetting:
    """A printer in use as it is set up now. Refuses ``unknown``."""
    for setting in printers():
        if setting.printer.code.casefold() == code.strip().casefold():
            return setting
    raise Refused("unknown", "No printer is called %(printer)s here. Choose one.", printer=code.strip())
