"""Files with one column for each channel, the usual form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from .axis import Columns, axis_of, rows_of
from .log import Event, Findings, Kind, NotALog, Whole
from .preamble import Preamble
from .rows import is_joined
from .source import Asked, Source, Told, commonest, placed
from .timeline import is_latest_first
from .values import Column, Part, channel_of, number_columns, take_out_codes, tell_cells

# A column of words filled in fewer rows than this holds marks; one filled in more holds a state.
_MARKS = 0.2


def read_wide(source: Source, columns: Columns, lines: Whole, parts: list[Part], said: Preamble, asked: Asked,
              findings: Findings) -> Told:  # fmt: skip
    """Channels and timeline of a file with one column for each channel. Raises NotALog without a column of readings."""
    axis = axis_of(columns, said)
    if len(parts) == 1 and is_latest_first(axis):
        columns = Columns([cells[::-1] for cells in columns.cells], columns.headings, columns.kinds)
        lines, axis = lines[::-1], axis_of(columns, said)
        findings.notes.append("The file has the latest row first; it was turned round.")
    found = number_columns(columns, axis, parts, barometer_mbar=said.barometer_mbar, findings=findings)
    if not found:
        raise NotALog(f"{asked.name} has no column of readings beside its times; export it with its readings.")
    joined, marked = _joined_rows(columns, found, lines, findings), _event_rows(columns, found)
    events = [Event(int(lines[n]), _row_words(columns, int(n))) for n in np.flatnonzero(marked)]
    keep = ~(joined | marked)
    found = [_kept_rows(column, keep) for column in found]
    columns, lines = columns.rows(keep), lines[keep]
    line = placed(rows_of(axis, keep), lines, source, said, asked, findings)
    for column in found:
        tell_cells(column, columns.cells[column.index], lines, findings)
    channels = [channel_of(column, line.kept) for column in take_out_codes(found, lines, findings)]
    aside = source.sorted.set_aside + int(joined.sum())
    return Told(len(lines) + aside, aside + int((~line.kept).sum()), channels, source.sorted.events + events, line,
                lines, commonest([column.mark for column in found]))  # fmt: skip


def _joined_rows(columns: Columns, found: Sequence[Column], lines: Whole, findings: Findings) -> np.ndarray:
    """Rows in which the stamp of another row stands inside a value: two rows run together."""
    joined = np.zeros(len(lines), dtype=bool)
    for column in found:
        for n in column.words:
            joined[n] |= is_joined(columns.cells[column.index][n])
    findings.add_each(Kind.JOINED_ROWS, lines[joined], "Line {line} holds parts of two rows. It was set aside.")
    return joined


def _event_rows(columns: Columns, found: Sequence[Column]) -> np.ndarray:
    """Rows without any reading in which a mark or words stand: events, no samples."""
    empty = np.all([np.isnan(column.values) for column in found], axis=0)
    worded = np.zeros(len(empty), dtype=bool)
    for column in found:
        empty[list(column.errors)] = False
        # The one reading of a row that is no number is a fault; words among empty cells are a remark.
        worded[list(column.words)] = len(found) > 1
    for n, kind in enumerate(columns.kinds):
        if kind == "T":
            filled = np.array([bool(cell.strip()) for cell in columns.cells[n]])
            worded |= filled & (filled.mean() < _MARKS)
    return empty & worded


def _row_words(columns: Columns, n: int) -> str:
    named = ((heading.name, cells[n].strip()) for heading, cells in zip(columns.headings, columns.cells, strict=True))
    return ", ".join(f"{name}: {cell}" for name, cell in named if cell)


def _kept_rows(column: Column, keep: np.ndarray) -> Column:
    place = np.cumsum(keep) - 1
    errors = tuple(int(place[n]) for n in column.errors if keep[n])
    words = tuple(int(place[n]) for n in column.words if keep[n])
    return replace(column, values=column.values[keep], errors=errors, words=words)
