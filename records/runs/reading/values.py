"""Columns of numbers turned to channels: decimal mark, units that change on the way, codes that are no readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .axis import BATCH_NAME, COUNTER_NAME, Axis, Columns, is_second_time
from .headings import Heading, heading_of
from .log import Channel, Findings, Floats, Kind, Whole
from .numbers import decimal_mark, numbers_of
from .sensors import NOT_MEASURED, codes_in, impossible, still_values
from .units import ABSOLUTE, GAUGE, PRESSURE, TEMPERATURE, Unit, between

_PRESSURES = (PRESSURE, ABSOLUTE, GAUGE)


@dataclass(frozen=True)
class Part:
    """A stretch of rows under one heading: where it begins and ends in the arrays, and its headings."""

    start: int
    end: int
    headings: list[Heading]


@dataclass(frozen=True)
class Column:
    """One column of numbers: values in the unit answered, positions of faults and of words. [unit]"""

    index: int
    heading: Heading
    values: Floats
    quantity: str | None
    unit: str | None
    mark: str | None
    errors: tuple[int, ...] = ()
    words: tuple[int, ...] = ()


def number_columns(columns: Columns, axis: Axis, parts: Sequence[Part], *, barometer_mbar: float | None,
                   findings: Findings) -> list[Column]:  # fmt: skip
    """The columns that hold readings: no time, no count of rows, no words."""
    found = []
    units_beside = _unit_columns(columns)
    for n, kind in enumerate(columns.kinds):
        heading = units_beside.get(n, columns.headings[n])
        is_time = n in axis.used or is_second_time(heading) or BATCH_NAME.fullmatch(heading.name)
        if (kind != "N" and not _is_dead(columns, n)) or is_time:
            continue
        mark = decimal_mark(columns.cells[n])
        numbers = numbers_of(columns.cells[n], mark)
        if _counts_rows(n, heading, numbers.values):
            continue
        column = _in_one_unit(n, heading, numbers.values, mark, parts, barometer_mbar, findings)
        found.append(replace(column, errors=numbers.errors, words=numbers.words))
    return _without_lost(columns, found)


def _is_dead(columns: Columns, n: int) -> bool:
    """Whether a column is a channel that gave no reading at all: its heading says what it measures, its cells nothing.

    Without a quantity or a unit in its heading it may be a column for remarks that nobody made.
    """
    heading = columns.headings[n]
    return columns.kinds[n] == "E" and (heading.unit is not None or heading.quantity is not None)


def _without_lost(columns: Columns, found: list[Column]) -> list[Column]:
    """Leave out columns that are mostly words with a number here and there."""
    rows = len(columns.cells[0]) if columns.cells else 0
    return [column for column in found if len(column.words) <= 0.9 * rows]


def _unit_columns(columns: Columns) -> dict[int, Heading]:
    """Headings completed from a column of units that stands behind the column of values."""
    completed = {}
    for n, heading in enumerate(columns.headings[1:], 1):
        if columns.kinds[n] == "T" and heading.name.strip().lower() in ("units", "unit", "einheit"):
            words = {cell.strip() for cell in columns.cells[n] if cell.strip()}
            if len(words) == 1 and columns.headings[n - 1].unit is None:
                completed[n - 1] = heading_of(columns.headings[n - 1].heading, words.pop())
    return completed


def _counts_rows(n: int, heading: Heading, values: Floats) -> bool:
    """Whether a column only numbers the rows."""
    if not COUNTER_NAME.fullmatch(heading.name) or (n > 0 and heading.name.lower() in ("id", "n", "point", "pos")):
        return False
    known = values[np.isfinite(values)]
    return known.size < 2 or bool((np.diff(known) == 1).mean() > 0.8)


def column_of(n: int, heading: Heading, values: Floats, mark: str | None, findings: Findings) -> Column:
    """A column under one heading, in the unit answered."""
    return _in_one_unit(n, heading, values, mark, (), None, findings)


def _in_one_unit(n: int, heading: Heading, values: Floats, mark: str | None, parts: Sequence[Part],
                 barometer_mbar: float | None, findings: Findings) -> Column:  # fmt: skip
    """Values of a column in one unit, though its heading may come again with another one."""
    units = [heading.unit, *(part.headings[n].unit for part in parts[1:] if n < len(part.headings))]
    if heading.odd_unit is not None:
        words = f"The unit {heading.odd_unit} of {heading.name} is not known here; its values are told as written."
        findings.add(Kind.UNIT_UNKNOWN, None, words)
    wanted = units[-1] if len(parts) > 1 and units[-1] is not None else heading.unit
    if wanted is None:
        return Column(n, heading, values, heading.quantity, None, mark)
    values = values.copy()
    if all(unit == units[0] for unit in units):
        values = _scaled(values, wanted)
    else:
        for part, unit in zip(parts, units, strict=True):
            own = slice(part.start, part.end)
            turned = _turned(values[own], unit, wanted, barometer_mbar)
            if turned is None:
                words = (f"{heading.name} changes its unit on the way and the file doesn't say how the two compare; "
                         f"its rows under heading {parts.index(part) + 1} count as missing.")  # fmt: skip
                findings.add(Kind.UNIT_UNKNOWN, None, words)
                turned = np.full(part.end - part.start, np.nan)
            values[own] = turned
        findings.notes.append(f"{heading.name} changes its unit on the way; all of it is told in {wanted.unit}.")
    quantity = heading.quantity if wanted.quantity == "other" else wanted.quantity
    if quantity == "time":
        quantity = "other"
    return Column(n, heading, values, quantity, wanted.unit, mark)


def _scaled(values: Floats, unit: Unit) -> Floats:
    return values if unit.factor == 1.0 and unit.shift == 0.0 else (values + unit.shift) * unit.factor


def _turned(values: Floats, unit: Unit | None, wanted: Unit, barometer_mbar: float | None) -> Floats | None:
    """Values in another unit; gauge pressure becomes absolute only by a barometer that the file names."""
    if unit is None:
        return None
    compared = between(unit.unit, wanted.unit)
    if compared is None:
        return None
    turned = _scaled(values, unit) * compared[0] + compared[1]
    if unit.quantity == wanted.quantity or unit.quantity not in _PRESSURES:
        return turned
    if barometer_mbar is None or {unit.quantity, wanted.quantity} != {ABSOLUTE, GAUGE}:
        return None
    ambient = barometer_mbar * (between("mbar", wanted.unit) or (1.0, 0.0))[0]
    return turned + ambient if unit.quantity == GAUGE else turned - ambient


def take_out_codes(columns: Sequence[Column], lines: Whole, findings: Findings) -> list[Column]:
    """The same columns with nan where an input was open, broken or over its range, each told."""
    temperatures = {}
    cleaned = []
    for column in columns:
        bad = codes_in(column.values, quantity=column.quantity, unit=column.unit)
        values = np.where(bad, np.nan, column.values)
        _tell_codes(column, bad, lines, findings)
        cleaned.append(replace(column, values=values))
        compared = between(column.unit, "degC") if column.unit and column.quantity == TEMPERATURE else None
        if compared and not NOT_MEASURED.search(column.heading.name):
            temperatures[len(cleaned) - 1] = values * compared[0] + compared[1]
    for n, bad in still_values(temperatures).items():
        column = cleaned[n]
        _tell_codes(column, bad, lines, findings)
        cleaned[n] = replace(column, values=np.where(bad, np.nan, column.values))
    return cleaned


def _tell_codes(column: Column, bad: np.ndarray, lines: Whole, findings: Findings) -> None:
    unreal = impossible(column.values, quantity=column.quantity, unit=column.unit)
    for n in np.flatnonzero(bad):
        why = "an open or broken input"
        if unreal[n] and column.quantity != TEMPERATURE:
            why = f"no {(column.quantity or '').replace('-', ' ')} can be that, so its sensor or its zero is wrong"
        words = f"{column.heading.name} shows {column.values[n]:g} at line {lines[n]}: {why}, no reading."
        findings.add(Kind.ERROR_CODE, int(lines[n]), words)


def tell_cells(column: Column, cells: Sequence[str], lines: Whole, findings: Findings) -> None:
    """Cells that name a fault, and cells that are words where a number is due."""
    for n in column.errors:
        words = f"{column.heading.name} says {cells[n].strip()} at line {lines[n]}: no reading."
        findings.add(Kind.ERROR_CODE, int(lines[n]), words)
    for n in column.words:
        words = f"{column.heading.name} holds “{cells[n].strip()[:40]}” at line {lines[n]}, which is no number."
        findings.add(Kind.NOT_A_NUMBER, int(lines[n]), words)


def channel_of(column: Column, kept: np.ndarray) -> Channel:
    """The channel of a column over the rows kept."""
    values = column.values[kept]
    missing = int(np.isnan(values).sum())
    return Channel(column.heading.name, column.quantity, column.unit, values, missing, column.heading.heading)
