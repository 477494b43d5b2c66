"""Numbers as they stand in a file: which text is a number, and how fine it was written."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal
from math import gcd

# A serial or a lot may consist of digits, lead with zeros or hold an E between digits. So what leads with idle zeros is
# text, and an exponent counts only behind a decimal mark: 000417, 12E4 and 1E1000 are codes, 1.2E-3 is not.
_WHOLE = "(?:0|[1-9][0-9]*)"
_NUMBER = {
    mark: re.compile(
        rf"[+\-−]?(?:{_WHOLE}|(?:{_WHOLE}{re.escape(mark)}[0-9]*|{re.escape(mark)}[0-9]+)(?:[eE][+\-]?[0-9]{{1,3}})?)"
    )
    for mark in ".,"
}
# No measurement is larger; the square of one that is would be no finite number.
_LARGEST = Decimal("1e100")
_TORN = re.compile(r"[<>~]?\s*[+\-−]?[\d.,][^\s]*")
# Below this many different readings their common step may be chance; only idle zeros at the end are then taken off.
ENOUGH_DISTINCT = 4


def read_number(cell: str, mark: str) -> Decimal | None:
    """Decimal of a cell with this decimal mark, None where the cell is no number that anything can measure.

    Examples
    --------
    >>> read_number(" 34,95 ", ","), read_number("000417", "."), read_number("12E4", ".")
    (Decimal('34.95'), None, None)
    """
    text = cell.strip()
    if not _NUMBER[mark].fullmatch(text):
        return None
    number = Decimal(text.replace(mark, ".").replace("−", "-"))
    return number if abs(number) < _LARGEST else None


def looks_torn(cell: str) -> bool:
    """Whether a cell that is no number was meant as one: 34.9x, <0.01, 1O.2."""
    text = cell.strip()
    digits = sum(sign in "0123456789.,+-−<>~" for sign in text)
    return bool(_TORN.fullmatch(text)) and 2 * digits >= len(text)


def step_of(numbers: Iterable[Decimal]) -> Decimal:
    """Smallest step that all readings are written in: 0.1 for 41.0 and 41.1, 0.05 for a gauge that shows fives. [u]

    Examples
    --------
    >>> step_of([Decimal("41.00"), Decimal("41.10")])
    Decimal('0.1')
    """
    distinct = sorted(set(numbers))
    finest = min((number.as_tuple().exponent for number in distinct), default=0)
    unit = Decimal(1).scaleb(int(finest))
    whole = [int(number / unit) for number in distinct]
    if len(whole) >= ENOUGH_DISTINCT:
        return gcd(*(value - whole[0] for value in whole[1:])) * unit
    while any(whole) and all(value % 10 == 0 for value in whole):
        whole = [value // 10 for value in whole]
        unit *= 10
    return unit.normalize()
