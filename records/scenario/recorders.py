"""Recorder files as three loggers of the works write them: each its own dialect, curves made by a seeded generator."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from .works import ZONE

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Curve:
    """Channels over time from a start on. [s; the unit in each channel's name]"""

    start: datetime
    step_s: int
    channels: dict[str, Floats]


def leak_curve(start: datetime, rng: np.random.Generator, *, leaks: bool) -> Curve:
    """Pump-down for eight minutes, then a hold of ten with the valve shut. [mbar absolute]"""
    seconds = np.arange(0, 18 * 60, 3.0)
    pump = 2.5 + 1010 * np.exp(-seconds / 45.0)
    shut = seconds >= 480
    rate = 1.4 if leaks else 0.08 + 0.08 * rng.random()  # [mbar/min]
    pressure = np.where(shut, pump[seconds == 477][0] + rate * (seconds - 480) / 60, pump)
    pressure = np.round(pressure + rng.normal(0, 0.02, seconds.size), 2)
    return Curve(start, 3, {"Mould vacuum [mbar abs]": pressure, "Valve": np.where(shut, 0.0, 1.0)})


def cure_curve(start: datetime, rng: np.random.Generator, *, cold: bool) -> Curve:
    """Heat-up to 80 °C, a soak, cooling; three probes that lag the set-point. [°C]"""
    seconds = np.arange(0, 110 * 60, 20.0)
    set_point = np.interp(seconds, [0, 1500, 5400, 6600], [25, 81, 81, 50])
    channels = {}
    for number, lag in enumerate((60.0, 90.0, 120.0), start=1):
        probe = _lagged(set_point, 20.0, lag) - 0.4 * number
        if cold and number == 3:
            probe = 25 + (probe - 25) * 0.91
        channels[f"TC{number} [degC]"] = np.round(probe + rng.normal(0, 0.08, seconds.size), 1)
    return Curve(start, 20, channels)


def _lagged(values: Floats, step: float, lag: float) -> Floats:
    """First-order lag behind a set-point."""
    keep = np.exp(-step / lag)
    out = np.empty_like(values)
    out[0] = values[0]
    for n in range(1, values.size):
        out[n] = keep * out[n - 1] + (1 - keep) * values[n]
    return out


def write_file(folder: Path, name: str, curve: Curve, dialect: int) -> Path:
    """Write a curve in the dialect of one of the three loggers."""
    text, encoding = (_comma, _semicolon, _tabs)[dialect % 3](curve)
    path = folder / f"{name}.{('csv', 'csv', 'txt')[dialect % 3]}"
    path.write_bytes(text.encode(encoding))
    return path


def _times(curve: Curve) -> list[datetime]:
    local = curve.start.astimezone(ZoneInfo(ZONE)).replace(tzinfo=None, microsecond=0)
    rows = len(next(iter(curve.channels.values())))
    return [local + timedelta(seconds=curve.step_s * n) for n in range(rows)]


def _rows(curve: Curve) -> list[list[str]]:
    columns = [[f"{value:g}" for value in values] for values in curve.channels.values()]
    return [list(row) for row in zip(*columns, strict=True)]


def _comma(curve: Curve) -> tuple[str, str]:
    head = ",".join(["Time", *curve.channels])
    lines = [f"{at:%Y-%m-%d %H:%M:%S}," + ",".join(row) for at, row in zip(_times(curve), _rows(curve), strict=True)]
    return "\n".join([head, *lines]) + "\n", "utf-8"


def _semicolon(curve: Curve) -> tuple[str, str]:
    preamble = ["Logger 2;Press hall", "Interval (s);" + str(curve.step_s), "Operator;-", ""]
    head = ";".join(["Date", "Clock", *curve.channels])
    lines = [
        f"{at:%d.%m.%Y};{at:%H:%M:%S};" + ";".join(row).replace(".", ",")
        for at, row in zip(_times(curve), _rows(curve), strict=True)
    ]
    return "\r\n".join([*preamble, head, *lines]) + "\r\n", "cp1252"


def _tabs(curve: Curve) -> tuple[str, str]:
    names, units = [], []
    for channel in curve.channels:
        name, _, unit = channel.partition(" [")
        names.append(name)
        units.append(unit.rstrip("]"))
    head = ["Channel\tstart " + f"{_times(curve)[0]:%d.%m.%Y %H:%M:%S}", "\t".join(["Stamp", *names])]
    head.append("\t".join(["local", *units]))
    lines = [
        f"{at:%d.%m.%Y %H:%M:%S}\t" + "\t".join(row).replace(".", ",")
        for at, row in zip(_times(curve), _rows(curve), strict=True)
    ]
    return "\r\n".join([*head, *lines]) + "\r\n", "utf-16"
