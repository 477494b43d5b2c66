"""Where things stand in the file: preamble, heading, row of units, rows, a heading that comes again."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from .cells import kind_of, sampled
from .fields import Row, Table
from .headings import heading_of
from .units import unit_of

_COMMENT = re.compile(r"\s*(?:#(?!\s*$)|//|%%|!)")
_DATE_WORDS = re.compile(r"(?i)[dmyhjats:./\- ]{2,}|yyyy|hh|mm|ss|ts|rn|utc|local")
_STATISTICS = frozenset({"smp", "avg", "min", "max", "std", "tot", "sample", "average", "mean", "minimum", "maximum"})
# Columns that recorders leave off at the end of a line: a reading is never among them.
NOTE_NAMES = re.compile(r"(?i)comments?|remarks?|notes?|bemerkung(?:en)?|kommentare?|events?|marks?|markers?|messages?")
_SAMPLE = 300
_LOOK_AHEAD = 5


@dataclass(frozen=True)
class Section:
    """Rows under one heading; a file has several when its heading comes again."""

    header: list[str]
    units: list[str]
    line: int | None
    rows: list[Row] = field(default_factory=list)


@dataclass(frozen=True)
class Layout:
    """The parts of a recorder file. ``due`` is the number of fields of a row; ``comments`` stand among the rows."""

    preamble: list[Row]
    sections: list[Section]
    comments: list[Row]
    due: int


def layout_of(table: Table) -> Layout | None:
    """The parts of the file, None when no rows of readings are found."""
    rows = table.rows
    usual = _usual_row(rows)
    start = _first_row(rows, usual)
    if start is None:
        return None
    header_at, units_at = _heading_above(rows, start, len(usual))
    header = rows[header_at].fields if header_at is not None else []
    units = rows[units_at].fields if units_at is not None else []
    width = max((n + 1 for n, kind in enumerate(usual) if kind != "E"), default=0)
    line = rows[header_at].number if header_at is not None else None
    above_it = rows[header_at - 1] if header_at and rows[header_at - 1].number == rows[header_at].number - 1 else None
    first = Section(_completed(_heading(header, width), above_it), units, line)
    # Lines between heading and rows that are neither, such as a restart noted there, belong to the preamble.
    above = header_at if header_at is not None else start
    preamble = rows[:above]
    due = len(first.header) or _due_without_header(rows[start:])
    sections, comments = _sections(rows[start:], first)
    return Layout(preamble, sections, comments, due)


def _usual_row(rows: Sequence[Row]) -> list[str]:
    """Kinds of the columns of the rows that make up the later part of the file, where no preamble stands."""
    later = rows[len(rows) // 2 :]
    sample = sampled(later, _SAMPLE)
    counts = Counter(len(row.fields) for row in sample)
    width = max(counts, key=lambda count: (counts[count], count))
    kinds = [[kind_of(cell) for cell in row.fields] for row in sample if len(row.fields) == width]
    usual = []
    for column in zip(*kinds, strict=True):
        seen = Counter(kind for kind in column if kind != "E")
        usual.append(max(seen, key=lambda kind: seen[kind]) if seen else "E")
    return usual


def _is_row(fields: Sequence[str], usual: Sequence[str]) -> bool:
    """Whether a line looks like a row of readings: the first cell of the usual kind, most others too."""
    if not len(usual) - 1 <= len(fields) <= len(usual) + 1 or not fields:
        return False
    kinds = [kind_of(cell) for cell in fields]
    if usual[0] != "T" and kinds[0] not in (usual[0], "E"):
        return False
    if usual[0] == "E" and kinds[0] != "E":
        return False
    pairs = list(zip(kinds, usual, strict=False))
    same = sum(1 for kind, due in pairs if kind == due and kind in "NS")
    odd = sum(1 for kind, due in pairs if kind in "TS" and due in "NES" and kind != due)
    return same > odd and same >= 1


def _first_row(rows: Sequence[Row], usual: Sequence[str]) -> int | None:
    """Position of the first row: one that is followed by more of its kind."""
    for n, row in enumerate(rows):
        if _is_row(row.fields, usual):
            ahead = [_is_row(later.fields, usual) for later in rows[n + 1 : n + 1 + _LOOK_AHEAD]]
            if sum(ahead) >= 0.6 * len(ahead):
                return n
    return None


def _heading_above(rows: Sequence[Row], start: int, width: int) -> tuple[int | None, int | None]:
    """Positions of the heading and of the row of units between it and the first row."""
    units_at = None
    for n in range(start - 1, max(start - 5, -1), -1):
        fields = _trimmed(rows[n].fields)
        if _is_ruler(fields):
            continue
        if is_comment(rows[n]) and len(fields) < 2:
            continue
        if len(fields) < max(2, width // 2) or not _is_wordy(fields):
            break
        if is_units(fields) and n > 0 and _is_wordy(rows[n - 1].fields) and len(_trimmed(rows[n - 1].fields)) > 1:
            if any(unit_of(cell) for cell in fields):
                units_at = n
            continue
        return n, units_at
    # The row of units itself is the heading where nothing stands above it.
    return units_at, None


def _due_without_header(rows: Sequence[Row]) -> int:
    counts = Counter(len(row.fields) for row in rows)
    return max(counts, key=lambda count: counts[count])


def _sections(rows: Sequence[Row], first: Section) -> tuple[list[Section], list[Row]]:
    """Rows by the heading above them; comment lines apart."""
    sections, comments = [first], []
    names = {_plain(cell) for cell in first.header if cell.strip()}
    previous: Row | None = None
    for row in rows:
        if row.fields[0].lstrip()[:1] in "#/%!" and is_comment(row):
            comments.append(row)
        elif names and _comes_again(row.fields, names):
            sections.append(Section(_heading(row.fields, len(first.header)), [], row.number))
            previous = row
            continue
        elif previous is not None and first.units and is_units(row.fields):
            sections[-1] = Section(sections[-1].header, row.fields, sections[-1].line)
        else:
            sections[-1].rows.append(row)
        previous = None
    return [section for section in sections if section.rows or section is first], comments


def is_comment(row: Row) -> bool:
    """Whether a line is marked as a comment."""
    return _COMMENT.match(row.fields[0]) is not None and kind_of(row.fields[0]) == "T"


def _is_ruler(fields: Sequence[str]) -> bool:
    """Whether a line only draws a line under the heading."""
    return bool(fields) and all(not cell.strip(" \t-=_+:|") for cell in fields)


def is_units(fields: Sequence[str]) -> bool:
    """Whether a line holds units, layouts of dates or words such as Avg under the names."""
    filled = [cell.strip() for cell in fields if cell.strip()]
    if not filled:
        return False
    known = sum(
        1
        for cell in filled
        if unit_of(cell) or _DATE_WORDS.fullmatch(cell) or cell.lower() in _STATISTICS or cell in "-[]()"
    )
    return known >= 0.6 * len(filled)


def _is_wordy(fields: Sequence[str]) -> bool:
    kinds = [kind_of(cell) for cell in fields if cell.strip()]
    return bool(kinds) and kinds.count("T") >= 0.5 * len(kinds) and "S" not in kinds


def _comes_again(fields: Sequence[str], names: set[str]) -> bool:
    if kind_of(fields[0]) in "NS":
        return False
    return sum(1 for cell in fields if cell.strip() and _plain(cell) in names) >= max(2, 0.5 * len(names))


def _plain(name: str) -> str:
    return heading_of(name).name.casefold()


def _heading(fields: Sequence[str], width: int) -> list[str]:
    """A heading without the empty cells at its end, save those that stand above readings."""
    return list(fields[: max(len(_trimmed(fields)), min(len(fields), width))])


def _completed(header: list[str], above: Row | None) -> list[str]:
    """A heading whose empty cells take the names of the line above it: there a name stands over several lines."""
    if above is None or len(above.fields) < len(header) or not _is_wordy(above.fields):
        return header
    return [cell if cell.strip() else over for cell, over in zip(header, above.fields, strict=False)]


def _trimmed(fields: Sequence[str]) -> list[str]:
    """Fields without the empty ones at the end."""
    end = len(fields)
    while end and not fields[end - 1].strip():
        end -= 1
    return list(fields[:end])
