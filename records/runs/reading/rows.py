"""Rows sorted: those that hold what the heading promises, those set aside, and lines that are no samples."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from .cells import is_blank, kind_of
from .fields import Row, Table
from .headings import heading_of
from .layout import NOTE_NAMES, Layout, Section
from .log import Event, Findings, Kind
from .numbers import decimal_mark, number_of

# A stamp in the middle of a cell, or a second one in a row: the end of the line before it is lost.
_GLUED = re.compile(r".*[\d.,](?:19|20)\d\d-\d\d-\d\d[ T]\d\d:|.*\S(?:19|20)\d\d-\d\d-\d\dT\d\d:")
# What stands in place of the time on the lines that some exports put under the rows.
_STATISTIC = re.compile(
    r"(?i)\s*(?:min|max|minim(?:um|a)?|maxim(?:um|a)?|mean|avg|average|median|std\.?[ -]?(?:dev)?(?:iation)?|"
    r"standard ?(?:deviation|abweichung)|range|spannweite|sum|summe|total|count|anzahl|mittel(?:wert)?|moyenne|media|"
    r"samples?|[ck]pk?|sigma|stabw)\.?\s*[:=]?\s*"
)


@dataclass(frozen=True)
class Sorted:
    """Rows kept, each as wide as is due, by section; how many were set aside; the lines that are events."""

    kept: list[list[Row]]
    set_aside: int
    events: list[Event]


def sort_rows(layout: Layout, table: Table, findings: Findings) -> Sorted:
    """Keep full rows; set aside the others by name, since a row with a field too few says not which one is missing."""
    events = [Event(row.number, _words(row)) for row in layout.comments]
    before = len(findings.problems)
    last = layout.sections[-1].rows[-1].number if layout.sections[-1].rows else 0
    kept = [_sort_section(section, layout, table, last, events, findings) for section in layout.sections]
    set_aside = len(findings.problems) - before
    for section in layout.sections:
        _tell_idle_surplus(section, layout.due, findings)
    return Sorted(kept, set_aside, sorted(events, key=lambda event: event.line))


def _sort_section(section: Section, layout: Layout, table: Table, last: int, events: list[Event],
                  findings: Findings) -> list[Row]:  # fmt: skip
    """The full rows under one heading, in the order of the first heading's columns."""
    due = len(section.header) or layout.due
    order = _order(section.header, layout.sections[0].header)
    idle = not section.header and _idle_surplus(section, due)
    full = []
    for row in section.rows:
        if _is_statistic(row.fields):
            events.append(Event(row.number, _words(row)))
            continue
        fields = _fitted(row.fields, section.header, due)
        if fields is None and idle and len(row.fields) > due:
            fields = row.fields[:due]
        if fields is not None and order is None:
            words = f"Line {row.number} stands under a heading with other columns. It was set aside."
            findings.add(Kind.LONG_ROW if due > layout.due else Kind.SHORT_ROW, row.number, words)
        elif fields is not None:
            full.append(Row(row.number, [fields[n] for n in order] if order else fields))
        elif _is_event(row.fields):
            events.append(Event(row.number, _words(row)))
        else:
            is_cut = row.number in table.broken or (row.number == last and not table.ended)
            _tell(row, due, is_cut and len(row.fields) < due, findings)
    return full


def _order(header: Sequence[str], first: Sequence[str]) -> list[int] | None:
    """Where the columns of the first heading stand under this one; nothing when in the same places, None when gone."""
    own, names = ([heading_of(cell).name.casefold() for cell in heading] for heading in (header, first))
    if own == names:
        return []
    if sorted(own) != sorted(names) or len(set(own)) < len(own):
        return None
    return [own.index(name) for name in names]


def is_joined(cell: str) -> bool:
    """Whether the stamp of another row stands inside a cell."""
    return _GLUED.match(cell) is not None


def _fitted(fields: list[str], header: Sequence[str], due: int) -> list[str] | None:
    """The fields of a full row, None for a row with too few or too many."""
    if len(fields) == due:
        return fields
    if len(fields) > due:
        return fields[:due] if all(not cell.strip() for cell in fields[due:]) else None
    left_off = header[len(fields) :]
    if left_off and all(NOTE_NAMES.fullmatch(name.strip()) for name in left_off):
        return [*fields, *[""] * len(left_off)]
    return None


def _idle_surplus(section: Section, due: int) -> bool:
    """Whether a file without a heading has one field more in a part of its rows, and it is zero in all of them.

    Such a field holds no reading, so the columns before it keep their places.
    """
    surplus = [cell for row in section.rows for cell in row.fields[due:]]
    return bool(surplus) and all(is_blank(cell) or number_of(cell, decimal_mark([cell])) == 0 for cell in surplus)


def _tell_idle_surplus(section: Section, due: int, findings: Findings) -> None:
    if section.header or not _idle_surplus(section, due):
        return
    lines = [row.number for row in section.rows if len(row.fields) > due]
    words = f"Line {{line}} has more than {due} fields; those after the first {due} are zero and were left out."
    findings.add_each(Kind.LONG_ROW, lines, words)


def _is_statistic(fields: Sequence[str]) -> bool:
    """Whether a line is no sample but a figure worked out from them, such as the greatest of each column."""
    if fields[0][:1].isdigit():  # nearly every row; a look at the first sign is all that it costs
        return False
    first = next((cell for cell in fields if cell.strip()), "")
    return _STATISTIC.fullmatch(first) is not None


def _is_event(fields: Sequence[str]) -> bool:
    """Whether a line of another length is a remark: words, and no number after the stamp or count at its beginning."""
    kinds = [kind_of(cell) for cell in fields]
    lead = next((n for n, kind in enumerate(kinds) if kind not in "NS"), len(kinds))
    rest = kinds[lead:]
    return "T" in rest and "N" not in rest and lead <= 2 and not any(is_joined(cell) for cell in fields)


def _tell(row: Row, due: int, is_cut: bool, findings: Findings) -> None:
    found = len(row.fields)
    stamps = sum(1 for cell in row.fields if kind_of(cell) == "S" or is_joined(cell))
    if is_cut:
        words = f"Line {row.number} breaks off after {found} of {due} fields. It was set aside."
        findings.add(Kind.CUT_SHORT, row.number, words)
    elif (found >= 2 * due - 1 and stamps != 1) or (found > due and stamps > 1 and any(map(is_joined, row.fields))):
        words = f"Line {row.number} holds two rows or more, {found} fields where {due} are due. It was set aside."
        findings.add(Kind.JOINED_ROWS, row.number, words)
    elif found > due:
        words = f"Line {row.number} has {found} fields where {due} are due. It was set aside."
        findings.add(Kind.LONG_ROW, row.number, words)
    else:
        noun = "field" if found == 1 else "fields"
        words = f"Line {row.number} has {found} {noun} where {due} are due. It was set aside."
        findings.add(Kind.SHORT_ROW, row.number, words)


def _words(row: Row) -> str:
    return " ".join(cell.strip() for cell in row.fields if cell.strip())
