"""What can happen to equipment: something is added, a gauge calibrated, a printer set up, a tablet registered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from zoneinfo import available_timezones

from plant.codes import house_code
from plant.papers.label import DENSITIES
from plant.people.models import Device
from plant.people.queries import works_day
from plant.people.tablets import read_key
from plant.printing import read_address
from plant.quantities import kind_of_unit, steps_of
from records.ledger.acts import Free, Said, act
from records.ledger.refusals import Conflict, Refused
from records.ledger.words import keep_words

from .models import Calibration, Gauge, Printer, PrinterSetting, PrinterStation, Recorder, Station, Tool
from .queries import gauge_by_code, station_by_code
from .writing import write_gauge, write_printer, write_recorder, write_station, write_tool

Equipment = Station | Tool | Recorder | Gauge


def add_equipment(
    what: str, code: str, *, kind: str = "", name: str = "", unit_kind: str = "", zone: str = "", said: Said
) -> Equipment:
    """Add a station, tool, recorder or gauge. Refuses ``code-taken``, ``wrong-kind``, and ``unknown`` for a zone."""
    with act("equipment added", said, what=what, code=code.strip(), equipment_kind=kind, name=name, zone=zone) as a:
        models: dict[str, type[Equipment]] = {"station": Station, "tool": Tool, "recorder": Recorder, "gauge": Gauge}
        if what not in models:
            raise Refused("wrong-kind", "%(what)s is no equipment. Choose one from the list.", what=what)
        if a.made:
            return models[what]._default_manager.get(entry=a.entry)
        match what:
            case "station":
                return write_station(a, code, name, kind)
            case "tool":
                if kind not in Tool.Kind.values:
                    raise Refused("wrong-kind", "%(kind)s is no kind of tool. Choose one from the list.", kind=kind)
                return write_tool(a, code, kind)
            case "recorder":
                if zone and zone not in available_timezones():
                    words = "%(zone)s is no time zone on file. Write it as Europe/Rome, or leave it empty."
                    raise Refused("unknown", words, zone=zone)
                return write_recorder(a, code, kind, zone)
        return write_gauge(a, code, kind, unit_kind)


@dataclass(frozen=True)
class Wanted:
    """How a printer is set up: its name, IPP address, dots an inch and the codes of its stations."""

    name: str
    address: str
    dots_an_inch: int
    stations: Sequence[str] = ()
    is_gone: bool = False


def set_printer(code: str, wanted: Wanted, *, said: Said) -> PrinterSetting:
    """Set a printer up, or set it up anew. Refuses ``code-taken``, ``unknown`` and ``wrong-kind`` for an address."""
    told = {**vars(wanted), "stations": list(wanted.stations)}
    with act("printer set", said, printer=code.strip().upper(), **told) as a:
        if a.made:
            return PrinterSetting.objects.get(entry=a.entry)
        read_address(wanted.address)
        if wanted.dots_an_inch not in DENSITIES:
            raise Refused(
                "wrong-kind", "Labels are made for %(these)s dots an inch.", these=", ".join(map(str, DENSITIES))
            )
        stations = [station_by_code(one) for one in dict.fromkeys(wanted.stations)]
        printer = Printer.objects.filter(code__iexact=code.strip()).first() or write_printer(a, code)
        setting = a.write(
            PrinterSetting(
                printer=printer,
                name=wanted.name.strip(),
                address=wanted.address.strip(),
                dots_an_inch=wanted.dots_an_inch,
                is_gone=wanted.is_gone,
            )
        )
        a.write_all(PrinterStation(setting=setting, station=station) for station in stations)
        return setting


@dataclass(frozen=True)
class Found:
    """What a calibration found, as written: ``error`` is how much too high the gauge reads."""

    result: str
    error: str = ""
    left_error: str = ""
    resolution: str = ""
    expanded: str = ""
    smallest_load: str = ""
    unit: str = "mm"
    due_on: date | None = None
    certificate: str = ""
    remark: str = ""


def calibrate_gauge(gauge: str, found: Found, *, said: Said) -> Calibration:
    """Record a calibration. Refuses ``unknown``, ``wrong-kind`` for the result and numbers that can't be read."""
    stated = asdict(found) | {"remark": Free(found.remark)}
    with act("gauge calibrated", said, gauge=gauge.strip().upper(), **stated) as a:
        if a.made:
            return Calibration.objects.get(entry=a.entry)
        if found.result not in Calibration.Result.values:
            raise Refused("wrong-kind", "A calibration is good or out, not %(result)s.", result=found.result)
        kind = kind_of_unit(found.unit)

        def steps(text: str) -> int | None:
            return steps_of(text, found.unit, kind, difference=True) if text else None

        return a.write(
            Calibration(
                gauge=gauge_by_code(gauge),
                done_at=a.at,
                due_on=found.due_on,
                result=found.result,
                unit_kind=kind,
                error=steps(found.error),
                error_written=found.error,
                left_error=steps(found.left_error),
                resolution=steps(found.resolution),
                expanded=steps(found.expanded),
                smallest_load=steps(found.smallest_load),
                certificate=found.certificate,
                remark=keep_words(found.remark),
            )
        )


def register_tablet(station: str, *, public_key: str, said: Said) -> Device:
    """Register a tablet for a station, by the key that its browser made and keeps; it gets a number of the house.

    From then on people sign in there by badge and PIN. Refuses ``unknown`` for a station, ``malformed`` for a key and
    ``code-taken`` for a tablet that is registered already.
    """
    read_key(public_key)
    with act("tablet registered", said, station=station.strip(), public_key=public_key) as a:
        if a.made:
            return Device.objects.get(entry=a.entry)
        place = station_by_code(station)
        if Device.objects.filter(public_key=public_key).exists():
            raise Refused("code-taken", "This tablet is registered already.")
        year = works_day(a.at).year
        series = f"TB-{year % 100:02d}-"
        code = house_code("TB", year, Device.objects.filter(code__startswith=series).count() + 1)
        device = Device(code=code, public_key=public_key, station=place.code)
        return a.write_only(device, Conflict("code-taken", "Another tablet got this number. Press once more."))
