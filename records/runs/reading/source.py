"""A recorder file taken apart, and what is read of it before it is put together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .axis import Axis, Columns, columns_of
from .decoding import is_workbook, text_of
from .fields import Row, Table, table_of
from .headings import Heading, heading_of
from .layout import Layout, layout_of
from .log import Channel, Event, Findings, Kind, NotALog, Whole
from .preamble import Preamble
from .rows import Sorted, sort_rows
from .suffixes import without_units
from .timeline import Timeline, timeline_of
from .units import unit_of
from .values import Part

# A file of which fewer rows than this fit its heading is a report or a list, or its separator is lost.
_LEAST_KEPT = 0.1
_LEAST_OF_A_SECOND_TRY = 0.5


@dataclass(frozen=True)
class Asked:
    """What the person said about the file: its zone, the channels wanted, the order of day and month."""

    name: str
    zone: str | None
    channels: Sequence[str] | None
    order: str | None


@dataclass(frozen=True)
class Source:
    """A file taken apart: table, layout, rows sorted."""

    table: Table
    encoding: str | None
    layout: Layout
    sorted: Sorted

    @property
    def header_line(self) -> int | None:
        """Line of the first heading."""
        return self.layout.sections[0].line

    @property
    def units(self) -> list[str]:
        """Cells of all rows of units; some hold the layout of the dates."""
        return [cell for section in self.layout.sections for cell in section.units]


@dataclass(frozen=True)
class Told:
    """What was read of a file of either form. ``lines`` are those of all places of the timeline."""

    rows: int
    rows_set_aside: int
    channels: list[Channel]
    events: list[Event]
    timeline: Timeline
    lines: Whole
    decimal: str | None


def take_apart(raw: bytes, name: str, findings: Findings) -> Source:
    """Table, layout and sorted rows of a file. Raises NotALog."""
    encoding: str | None = None
    tables: list[Table | None]
    if is_workbook(raw, name):
        from .workbook import table_of_workbook  # openpyxl is slow to import and most files are text

        tables = [table_of_workbook(raw, name)]
    else:
        text = text_of(raw, name)
        tables, encoding = [table_of(text)], text.encoding
        if tables[0] is not None and tables[0].delimiter == "  ":  # date and time may stand one blank apart
            tables.append(table_of(text, " "))
    refusal = f"{name} has no columns of readings with a time; export it as CSV or xlsx with its headings."
    for table, least in zip(tables, (_LEAST_KEPT, _LEAST_OF_A_SECOND_TRY), strict=False):
        layout = layout_of(table) if table else None
        if table is None or layout is None or layout.due < 2:
            continue
        own = Findings()
        sorted_rows = sort_rows(layout, table, own)
        kept = sum(map(len, sorted_rows.kept))
        if kept < least * (kept + sorted_rows.set_aside) or not kept:
            refusal = _why_no_rows(layout, name)
            continue
        findings.problems.extend(own.problems)
        for address in table.formulas:
            words = f"{address} holds a formula without a value; open and save the workbook in a spreadsheet program."
            findings.add(Kind.NOT_A_NUMBER, None, words)
        return Source(table, encoding, layout, sorted_rows)
    raise NotALog(refusal)


def _why_no_rows(layout: Layout, name: str) -> str:
    counts = Counter(len(row.fields) for section in layout.sections for row in section.rows)
    found = counts.most_common(1)[0][0] if counts else 0
    return (
        f"{name}: hardly a row has the {layout.due} fields that are due, most have {found}, so no value can be given "
        f"to a column for certain; export it as CSV with a separator that is not the decimal mark."
    )


def in_columns(source: Source) -> tuple[Columns, Whole, list[Part]]:
    """Cells by column over all sections, the line of each row, and the stretches under one heading each."""
    width = source.layout.due
    rows: list[Row] = []
    parts: list[Part] = []
    for section, kept in zip(source.layout.sections, source.sorted.kept, strict=True):
        if parts and not kept:
            continue
        units = section.units or _labels(source.layout, section.header)
        headings = _headings(section.header, units, width)
        order = {heading.name.casefold(): n for n, heading in enumerate(parts[0].headings)} if parts else {}
        headings.sort(key=lambda heading: order.get(heading.name.casefold(), width))
        parts.append(Part(len(rows), len(rows) + len(kept), headings))
        rows.extend(kept)
    cells: list[Sequence[str]] = list(zip(*(row.fields for row in rows), strict=True))
    if len(parts) == 1:
        cells, headings = map(list, zip(*map(without_units, cells, parts[0].headings), strict=True))
        parts = [replace(parts[0], headings=headings)]
    return columns_of(cells, parts[0].headings), np.array([row.number for row in rows], dtype=np.int64), parts


def _labels(layout: Layout, header: Sequence[str]) -> list[str]:
    """Units that a line before the rows gives, one for each column after the first."""
    for row in layout.preamble:
        cells = [cell.strip() for cell in row.fields]
        if "unit" in cells[0].lower() and 1 < len(cells) <= len(header) and any(map(unit_of, cells[1:])):
            return ["", *cells[1:]]
    return []


def _headings(header: Sequence[str], units: Sequence[str], width: int) -> list[Heading]:
    below = [*units, *[""] * width]
    named = [heading_of(cell, below[n]) for n, cell in enumerate([*header, *[""] * (width - len(header))])]
    return [
        heading if heading.name else Heading(f"col{n}", f"col{n}", heading.unit, heading.quantity)
        for n, heading in enumerate(named, 1)
    ]


def placed(axis: Axis, lines: Whole, source: Source, said: Preamble, asked: Asked, findings: Findings) -> Timeline:
    """The rows on their timeline, with what is wrong with their clock told."""
    if axis.day_numbers:
        findings.notes.append(f"The times in {axis.heading} are day numbers of a spreadsheet; they may be rounded.")
    if axis.started:
        findings.notes.append(f"The times count from the start that the file names: {axis.heading}.")
    for heading in axis.differs:
        findings.notes.append(f"The rows are placed by {axis.heading}; {heading} says other times.")
    return timeline_of(axis, lines, said.texts, asked.zone, findings, header_line=source.header_line,
                       day_order_given=asked.order is not None)  # fmt: skip


def commonest(marks: Sequence[str | None]) -> str | None:
    """The decimal mark that most columns use."""
    seen = Counter(mark for mark in marks if mark)
    return seen.most_common(1)[0][0] if seen else None
