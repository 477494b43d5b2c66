"""A table of readings out of a text file: separator, decimal mark, text on top and heading are found by looking.

Cells stay as written, so that serials keep their zeros and readings the number of their decimals.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from records.ledger.refusals import Refused
from records.runs.reading.cells import is_blank, is_error
from records.runs.reading.decoding import is_workbook, text_of
from records.runs.reading.log import NotALog
from records.spc.written import looks_torn, read_number

# Separator and decimal mark, the first of equals wins; "" is blanks of any number.
LAYOUTS = ((",", "."), (";", "."), (";", ","), ("\t", "."), ("\t", ","), ("|", "."), ("|", ","), ("", "."), ("", ","))
NAMES = {"\t": "tab", "": "spaces"}
# Lines between heading and first sound row of a file without text on top; more of them are text on top.
MOST_BETWEEN = 2

_RULE_LINE = re.compile(r"[-=_+|*\s]+")
_UNIT = r"mm|um|µm|μm|nm|cm|m|in|g|kg|mg|N|Nm|N m|%|°C|degC|°F|degF|K|mbar|bar|Pa|kPa|MPa|s|min|h|V|A|deg|°|-|pcs"
_WITH_UNIT = re.compile(rf"(?P<name>.*\S)\s*[\[(]\s*(?P<unit>{_UNIT})\s*[\])]")
_UNIT_CELL = re.compile(rf"[\[(]?\s*(?:{_UNIT})?\s*[\])]?")
_SPELLING = {"µm": "um", "μm": "um", "°C": "degC", "°F": "degF", "°": "deg", "N m": "Nm"}


@dataclass(frozen=True)
class Problem:
    """One thing wrong with the file; ``line`` is None where the whole file is meant."""

    line: int | None
    kind: str
    words: str


@dataclass(frozen=True)
class Column:
    """One column: its heading as written, name and unit apart, its cells, and the numbers that they are."""

    heading: str
    name: str
    unit: str | None
    cells: tuple[str, ...]
    numbers: tuple[Decimal | None, ...]

    @property
    def is_numeric(self) -> bool:
        """More than half of the cells that tell something are numbers; a gauge's word for a fault tells nothing."""
        filled = sum(not is_blank(cell) and not is_error(cell) for cell in self.cells)
        return 2 * sum(number is not None for number in self.numbers) > filled

    def is_called(self, name: str) -> bool:
        """Whether a person means this column: heading or name, blanks and case don't count."""
        return name.strip().casefold() in (self.heading.casefold(), self.name.casefold())


@dataclass(frozen=True)
class Table:
    """Rows of a file in its order; a row that was set aside keeps its place with empty cells."""

    columns: tuple[Column, ...]
    lines: tuple[int, ...]
    problems: tuple[Problem, ...]
    header_line: int | None
    delimiter: str | None
    decimal: str
    encoding: str


@dataclass(frozen=True)
class _Row:
    line: int
    text: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class _Layout:
    """One way to take the lines apart: width of the table, which columns hold numbers, where it begins."""

    delimiter: str
    mark: str
    width: int
    numeric: frozenset[int]
    rows: tuple[_Row, ...]
    header: int | None
    first: int
    numbers: int

    @property
    def score(self) -> tuple[bool, int]:
        """A heading that fits, or none at all, counts more than many numbers: 34,91 is one number under one heading."""
        return self.header is not None or self.first == 0, self.numbers


def read_table(raw: bytes, name: str) -> Table:
    """Table of a text file of readings.

    Parameters
    ----------
    raw : bytes
        The file as it is.
    name : str
        Its name, for the words.

    Returns
    -------
    Table
        Rows with too few or too many cells are set aside and named: which cell is missing can't be known.

    Notes
    -----
    Refuses ``not-understood`` for a file that is empty, no text, or without any column of numbers.
    """
    if not raw.strip(b"\x00\r\n\t \xef\xbb\xbf\xff\xfe"):
        raise Refused("not-understood", "%(name)s is empty; give a file with a column of readings.", name=name)
    try:
        if is_workbook(raw, name):
            raise NotALog(name)
        text = text_of(raw, name)
    except NotALog as failure:
        raise Refused(
            "not-understood", "%(name)s is no text file; save the readings as text (CSV).", name=name
        ) from failure
    layouts = [layout for d, mark in LAYOUTS if (layout := _layout(text.lines, d, mark))]
    if not layouts:
        raise Refused("not-understood", "%(name)s has no column of numbers.", name=name)
    best = max(layouts, key=lambda layout: layout.score)
    rows, problems = _sound_rows(best)
    headings = _headings(best)
    return Table(
        columns=tuple(_column(headings[n], [row.cells[n] for row in rows], best.mark) for n in range(best.width)),
        lines=tuple(row.line for row in rows),
        problems=problems,
        header_line=None if best.header is None else best.rows[best.header].line,
        delimiter=None if best.width == 1 else NAMES.get(best.delimiter, best.delimiter),
        decimal=best.mark,
        encoding=text.encoding,
    )


def _layout(lines: Sequence[str], delimiter: str, mark: str) -> _Layout | None:
    """The lines taken apart in one way, None where that gives no numbers."""
    rows = tuple(
        _Row(number, line.strip(), _split(line, delimiter))
        for number, line in enumerate(lines, 1)
        if line.strip() and not _RULE_LINE.fullmatch(line)
    )
    found = [sum(read_number(cell, mark) is not None for cell in row.cells) for row in rows]
    if not any(found):
        return None
    width = _width(rows, found)
    rows = tuple(replace(row, cells=_without_idle_end(row.cells, width)) for row in rows)
    # Text on top doesn't count for what a column holds.
    body = rows[next(place for place, row in enumerate(rows) if found[place] and len(row.cells) == width) :]
    numeric = _numeric_columns([row for row in body if len(row.cells) == width], width, mark)
    first = _first_sound_row(rows, width, numeric, mark)
    if first is None:
        return None
    header, first = _heading_and_first(rows, first, numeric, (delimiter, mark, width))
    numbers = sum(n for row, n in zip(rows, found, strict=True) if len(row.cells) == width)
    return _Layout(delimiter, mark, width, numeric, rows, header, first, numbers)


def _width(rows: Sequence[_Row], found: Sequence[int]) -> int:
    """Number of cells of the rows that hold most numbers, without cells at the end that are empty in all of them."""
    weights: Counter[int] = Counter()
    for row, numbers in zip(rows, found, strict=True):
        weights[len(row.cells)] += numbers
    width = max(weights, key=lambda w: (weights[w], w))
    return max(len(_without_idle_end(row.cells, 1)) for row in rows if len(row.cells) == width)


def _without_idle_end(cells: tuple[str, ...], width: int) -> tuple[str, ...]:
    """Cells without empty ones beyond a width: a separator at the end of a line begins no cell."""
    end = len(cells)
    while end > width and not cells[end - 1]:
        end -= 1
    return cells[:end]


def _split(line: str, delimiter: str) -> tuple[str, ...]:
    """Cells of one line; each line stands alone, so that a stray quote can't swallow those after it."""
    if not delimiter:
        return tuple(line.split())
    if '"' in line and line.count('"') % 2 == 0:
        cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
    else:
        cells = line.split(delimiter)
    return tuple(cell.strip() for cell in cells)


def _numeric_columns(rows: Sequence[_Row], width: int, mark: str) -> frozenset[int]:
    """Places of the columns that hold numbers."""
    return frozenset(n for n in range(width) if _column("", [row.cells[n] for row in rows], mark).is_numeric)


def _first_sound_row(rows: Sequence[_Row], width: int, numeric: frozenset[int], mark: str) -> int | None:
    """The first row with a number in each column of numbers, as the row after it has (or none follows)."""

    def is_sound(row: _Row) -> bool:
        if len(row.cells) != width or _is_count(row.cells, numeric):
            return False
        return all(read_number(row.cells[n], mark) is not None for n in numeric)

    if not numeric:
        return None
    sound = [place for place, row in enumerate(rows) if is_sound(row)]
    for place in sound:
        after = rows[place + 1 : place + 6]
        if 2 * sum(len(row.cells) == width for row in after) >= len(after):
            return place
    return None


def _heading_and_first(
    rows: Sequence[_Row], first: int, numeric: frozenset[int], layout: tuple[str, str, int]
) -> tuple[int | None, int]:
    """Place of the heading and of the first row of readings, which may be one that can't be read."""
    delimiter, mark, width = layout

    def is_torn(row: _Row) -> bool:
        if len(row.cells) != width or _is_count(row.cells, numeric):
            return False
        cells = [row.cells[n] for n in numeric]
        known = [read_number(cell, mark) is not None or looks_torn(cell) for cell in cells]
        return any(known) and all(k or is_blank(c) or is_error(c) for k, c in zip(known, cells, strict=True))

    while first > 0 and is_torn(rows[first - 1]):
        first -= 1
    if first == 0:
        return None, 0
    above = rows[:first]
    # Blanks stand in titles too, so there the line nearest to the readings is the heading.
    on_top = len(above[0].cells) == width and (bool(delimiter) or width == 1)
    if on_top and len(above) <= MOST_BETWEEN + 1:
        return 0, 2 if len(above) > 1 and _are_units(above[1].cells, width) else 1
    header = first - 1
    if header > 0 and _are_units(rows[header].cells, width) and len(rows[header - 1].cells) == width:
        header -= 1
    fits = width == 1 or len(rows[header].cells) == width
    return (header, first) if fits else (None, first)


def _is_count(cells: Sequence[str], numeric: frozenset[int]) -> bool:
    """Whether a row is a heading that numbers the readings of a subgroup: serial, 1, 2, 3."""
    counted = [cells[n] for n in sorted(numeric)]
    has_words = any(cell and n not in numeric for n, cell in enumerate(cells))
    return has_words and len(counted) > 1 and counted == [str(n) for n in range(1, len(counted) + 1)]


def _are_units(cells: Sequence[str], width: int) -> bool:
    """Whether a row holds units and nothing else."""
    return len(cells) == width and any(cells) and all(_UNIT_CELL.fullmatch(cell) for cell in cells)


def _sound_rows(layout: _Layout) -> tuple[list[_Row], tuple[Problem, ...]]:
    """Rows of the table; one with a wrong number of cells stays as an empty place and a problem."""
    heading = None if layout.header is None else layout.rows[layout.header].cells
    rows: list[_Row] = []
    problems: list[Problem] = []
    for row in layout.rows[layout.first :]:
        cells = row.cells
        if cells == heading:  # pages of one export joined into one file
            continue
        if len(cells) != layout.width:
            kind = "short-row" if len(cells) < layout.width else "long-row"
            words = f"Line {row.line} has {len(cells)} fields where {layout.width} are due. It was set aside."
            problems.append(Problem(row.line, kind, words))
            cells = ("",) * layout.width
        rows.append(_Row(row.line, row.text, cells))
    return (_with_gaps(rows) if layout.width == 1 else rows), tuple(problems)


def _with_gaps(rows: Sequence[_Row]) -> list[_Row]:
    """Rows of a single column in which an empty line is a missing reading, unless lines are set wide all through."""
    empty = rows[-1].line - rows[0].line + 1 - len(rows)
    if 3 * empty > len(rows):
        return list(rows)
    by_line = {row.line: row for row in rows}
    return [by_line.get(line, _Row(line, "", ("",))) for line in range(rows[0].line, rows[-1].line + 1)]


def _headings(layout: _Layout) -> list[tuple[str, str]]:
    """Heading and, from a row of its own, unit of each column."""
    if layout.header is None:
        return [(f"column {n}", "") for n in range(1, layout.width + 1)]
    row = layout.rows[layout.header]
    below = layout.rows[layout.header + 1]
    has_units = layout.first > layout.header + 1 and _are_units(below.cells, layout.width)
    units = below.cells if has_units else ("",) * layout.width
    texts = (row.text.strip('"'),) if layout.width == 1 else row.cells
    return [
        (text or f"column {n}", unit.strip("[]() ")) for n, (text, unit) in enumerate(zip(texts, units, strict=True), 1)
    ]


def _column(heading: tuple[str, str] | str, cells: Sequence[str], mark: str) -> Column:
    """One column with its numbers; the unit is taken off the heading."""
    text, unit = (heading, "") if isinstance(heading, str) else heading
    match = _WITH_UNIT.fullmatch(text)
    name, unit = (match["name"], match["unit"]) if match else (text, unit)
    numbers = tuple(read_number(cell, mark) for cell in cells)
    return Column(text, name, _SPELLING.get(unit, unit) or None, tuple(cells), numbers)
