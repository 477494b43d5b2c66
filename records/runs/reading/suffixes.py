"""Units that stand in the cells, each behind its number, as in 20.5 °C."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from .cells import is_blank, is_error, is_number, sampled
from .headings import Heading, heading_of
from .units import unit_of

_SAMPLE = 120
_BEHIND = re.compile(r"(?P<number>[^\s%°℃℉A-Za-zµμ\"]+)\s*(?P<unit>[%°℃℉A-Za-zµμ\"][^\d,;]*)")


def without_units(cells: Sequence[str], heading: Heading) -> tuple[Sequence[str], Heading]:
    """The numbers of a column alone, its heading with their unit; both as they are where no one unit stands behind.

    A cell with another unit than the others stays as it is: it is told as no number, never read as if it had theirs.
    """
    filled = [cell.strip() for cell in sampled(cells, _SAMPLE) if not (is_blank(cell) or is_error(cell))]
    seen = Counter(unit for unit in map(_unit_behind, filled) if unit)
    if not seen or sum(seen.values()) < 0.5 * len(filled):
        return cells, heading
    unit = max(seen, key=lambda unit: seen[unit])
    if heading.unit is None:
        heading = heading_of(heading.heading, unit)
    elif heading.unit != unit_of(unit):
        return cells, heading
    return [_number_of(cell) if _unit_behind(cell) == unit else cell for cell in cells], heading


def _unit_behind(cell: str) -> str:
    """The unit behind the number of a cell, nothing where there is none. A bare % is part of its number."""
    match = _BEHIND.fullmatch(cell.strip())
    if match is None or match["unit"] == "%" or not is_number(match["number"]):
        return ""
    return match["unit"].strip() if unit_of(match["unit"]) else ""


def _number_of(cell: str) -> str:
    match = _BEHIND.fullmatch(cell.strip())
    return match["number"] if match else cell
