"""From lines to fields: the separator is found by looking at the whole file, never at its name."""

from __future__ import annotations

import csv
import io
import itertools
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from .cells import is_number, is_stamp, sampled
from .decoding import Text

DELIMITERS = {",": ",", ";": ";", "\t": "tab", "|": "|", "  ": "spaces", " ": "spaces"}
# Lines looked at to find the separator: enough to outvote a long preamble, few enough to be quick.
_SAMPLE = 400
# So few of them show which separator is worth the longest look.
_FIRST_LOOK = 20
_KEPT_AS_TEXT = re.compile(r'=("[^"]*")')
_WIDE = re.compile(r" {2,}")
# Lines that one quoted field may run over.
_MOST_BREAKS = 5
# Blanks stand inside stamps and names too, so they win only where nothing else separates.
_WEIGHT = {"  ": 0.9, " ": 0.5}
Score = tuple[float, float, float]
_NONE: Score = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Row:
    """One line taken apart; ``number`` is its line in the file (in a workbook the row of the sheet)."""

    number: int
    fields: list[str]


@dataclass(frozen=True)
class Table:
    """All lines that hold something, taken apart; ``delimiter`` is None for a workbook."""

    rows: list[Row]
    delimiter: str | None
    ended: bool = True
    broken: frozenset[int] = frozenset()
    formulas: tuple[str, ...] = ()


def split(line: str, delimiter: str) -> list[str]:
    """Fields of one line. Each line stands alone, so that a stray quote can't swallow the lines after it."""
    if delimiter == " ":
        return line.split()
    if delimiter == "  ":  # names and stamps may hold single blanks
        return _WIDE.split(line.strip())
    if '="' in line:  # a spreadsheet's way to keep a cell as text
        line = _KEPT_AS_TEXT.sub(r"\1", line)
    if '"' in line:
        return next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
    return line.split(delimiter)


def table_of(text: Text, delimiter: str | None = None) -> Table | None:
    """Lines taken apart at their separator, None when no separator gives columns of readings."""
    delimiter = delimiter or delimiter_of(text.lines)
    if delimiter is None:
        return None
    rows = [Row(number, split(line, delimiter)) for number, line in enumerate(text.lines, 1) if line.strip()]
    if delimiter not in ("  ", " "):
        rows = _with_breaks(rows, text.lines, delimiter)
    return Table(rows, delimiter, text.ended, text.broken)


def _with_breaks(rows: list[Row], lines: Sequence[str], delimiter: str) -> list[Row]:
    """Rows whose quoted fields hold a line break put together again, where that gives a row of the usual width.

    Else each line stands alone, so that a stray quote costs its own line and no more.
    """
    odd = [n for n, row in enumerate(rows) if lines[row.number - 1].count('"') % 2]
    if not odd:
        return rows
    wholes: dict[int, tuple[int, Row]] = {}
    taken = -1
    for start, end in itertools.pairwise(odd):
        if start > taken and end - start <= _MOST_BREAKS:
            text = "\n".join(lines[rows[start].number - 1 : rows[end].number])
            whole = next(csv.reader(io.StringIO(text), delimiter=delimiter, skipinitialspace=True), [])
            wholes[start] = (end, Row(rows[start].number, [" ".join(field.split()) for field in whole]))
            taken = end
    pieces = set(odd)
    widths = [len(row.fields) for n, row in enumerate(rows) if n not in pieces]
    due = Counter([*widths, *(len(row.fields) for _, row in wholes.values())]).most_common(1)[0][0]
    joined = {start: last for start, last in wholes.items() if len(last[1].fields) == due}
    inside = {n for start, (end, _) in joined.items() for n in range(start + 1, end + 1)}
    return [joined[n][1] if n in joined else row for n, row in enumerate(rows) if n not in inside]


def delimiter_of(lines: Sequence[str]) -> str | None:
    """The separator under which most cells of most lines are numbers or stamps."""
    filled = [line for line in lines if line.strip()]
    sample = sampled(filled, _SAMPLE)
    few = sampled(sample, _FIRST_LOOK)
    scores: dict[str, Score] = {}
    for delimiter in sorted(DELIMITERS, key=lambda delimiter: _score(few, delimiter), reverse=True):
        scores[delimiter] = _score(sample, delimiter, least=max(scores.values(), default=_NONE)[0])
    best = max(DELIMITERS, key=lambda delimiter: scores[delimiter])
    return best if scores[best][0] > 0 else None


def _score(lines: Sequence[str], delimiter: str, least: float = 0.0) -> Score:
    """Good cells per line, over the lines that have the commonest number of fields (two or more).

    Where two separators give as many, blanks give way, then the one that leaves fewer cells that are neither number
    nor stamp. All nought as soon as it is plain that they are fewer than ``least``.
    """
    taken = [split(line, delimiter) for line in lines]
    counts = Counter(len(fields) for fields in taken if len(fields) > 1)
    if not counts:
        return _NONE
    # The widest of the counts that are about as common as the commonest: rows with a field too few may be many.
    most = max(counts.values())
    due = max(count for count, times in counts.items() if times >= 0.6 * most)
    rows = [fields for fields in taken if due - 1 <= len(fields) <= due + 1]
    weight = _WEIGHT.get(delimiter, 1.0)
    cells = good = sum(map(len, rows))
    for fields in rows:
        good -= sum(1 for cell in fields if not is_number(cell) and not is_stamp(cell))
        if round(good / len(lines) * weight, 6) < least:
            return _NONE
    return round(good / len(lines) * weight, 6), weight, good / cells
