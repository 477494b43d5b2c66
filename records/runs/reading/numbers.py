"""From cells to numbers: the decimal mark is found from all cells of a column, and what is no number is told."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .cells import is_blank, is_error, is_number
from .log import Floats

_THOUSANDS = {".": re.compile(r"\d{1,3}(?:,\d{3})+(?!\d)"), ",": re.compile(r"\d{1,3}(?:\.\d{3})+(?!\d)")}
_BLANKS = re.compile(r"(?<=\d)[ '\u00a0\u202f](?=\d{3})")
_MINUS = "−"
# A whole column passes in one step when it holds nothing but these signs.
_PLAIN = re.compile(r"[\d.eE+\-\n ]*")


@dataclass(frozen=True)
class Numbers:
    """Numbers of a column, nan where there is none; positions of cells that name a fault or are words."""

    values: Floats
    errors: tuple[int, ...] = ()
    words: tuple[int, ...] = ()


def decimal_mark(cells: Sequence[str]) -> str | None:
    """The decimal mark that the cells of a column use, None when no cell has a fraction.

    One that stands twice in a cell, or before the other, groups thousands. A comma before exactly three digits counts
    as decimal unless points decide: recorders rarely group, and half of Europe writes the comma.
    """
    commas = points = grouped = 0
    for cell in cells:
        comma, point = cell.rfind(","), cell.rfind(".")
        if comma >= 0 and point >= 0:
            commas += comma > point
            points += point > comma
        elif comma >= 0:
            grouped += cell.count(",") > 1
            commas += cell.count(",") == 1
        elif point >= 0:
            points += cell.count(".") == 1
    if grouped:
        return "."
    if not commas and not points:
        return None
    if commas and points:
        mixed = [cell for cell in cells if "," in cell]
        if all(_THOUSANDS["."].match(cell.strip().lstrip("+-")) for cell in mixed):
            return "."
    return "," if commas > points else "."


def numbers_of(cells: Sequence[str], mark: str | None) -> Numbers:
    """Numbers of a column under a decimal mark."""
    joined = "\n".join(cells)
    if mark == "," and "." not in joined:
        joined = joined.replace(",", ".")
    if _PLAIN.fullmatch(joined):
        quick = [cell.strip() or "nan" for cell in joined.split("\n")]
        try:
            return Numbers(np.array(list(map(float, quick))))
        except ValueError:
            pass  # a sign alone, a date: looked at cell by cell
    values = np.full(len(cells), np.nan)
    errors, words = [], []
    for n, cell in enumerate(cells):
        number = number_of(cell, mark)
        if number is not None:
            values[n] = number
        elif is_error(cell):
            errors.append(n)
        elif not is_blank(cell):
            words.append(n)
    return Numbers(values, tuple(errors), tuple(words))


def number_of(cell: str, mark: str | None) -> float | None:
    """The number in a cell, None when there is none under this decimal mark."""
    if not is_number(cell):
        return None
    text = _BLANKS.sub("", cell.strip().replace(_MINUS, "-").rstrip("% "))
    mark = mark or "."
    other = "," if mark == "." else "."
    if other in text:
        if not _THOUSANDS[mark].match(text.lstrip("+-")):
            return None
        text = text.replace(other, "")
    text = text.replace(mark, ".")
    try:
        number = float(text.replace("d", "e").replace("D", "e"))
    except ValueError:
        return None
    return number if np.isfinite(number) else None
