"""A number that is more likely a slip than a reading: too far off its band, or inside it once one slip is undone.

A slip is a decimal mark left out or one place off (a factor of ten), or inches for millimetres (25.4, exact by the
international yard and pound agreement of 1959, from memory). No Django.
"""

from __future__ import annotations

from decimal import Decimal

from plant.quantities import print_decimal

TENS = tuple(Decimal(10) ** n for n in (-1, -2, -3, 1))
INCH = Decimal("25.4")
FAR_WIDTHS = 2  # as interface and desk have it: past twice the band's width


def is_far(value: Decimal, low: Decimal | None, high: Decimal | None) -> bool:
    """Whether a value outside lies past twice the band's width; past twice the limit where there is but one.

    Examples
    --------
    >>> is_far(Decimal("52.6"), Decimal(55), Decimal(65)), is_far(Decimal(594), Decimal(55), Decimal(65))
    (False, True)
    >>> is_far(Decimal("0.9"), None, Decimal("0.8")), is_far(Decimal(8), None, Decimal("0.8"))
    (False, True)
    """
    limit = low if low is not None and value < low else high
    if limit is None:
        return False
    width = high - low if low is not None and high is not None else abs(limit)
    return width > 0 and abs(value - limit) > FAR_WIDTHS * width


def meant(value: Decimal, low: Decimal | None, high: Decimal | None, *, inches: bool = False) -> list[str]:
    """What a value outside its band may have been meant to be, the likeliest first; nothing where no slip explains it.

    Examples
    --------
    >>> meant(Decimal(594), Decimal(55), Decimal(65))
    ['59.4']
    >>> meant(Decimal("2.874"), Decimal("72.85"), Decimal("73.15"), inches=True)
    ['73']
    >>> meant(Decimal("52.6"), Decimal(55), Decimal(65))
    []
    """
    two_sided = low is not None and high is not None
    if not two_sided and not is_far(value, low, high):
        return []  # any number lies inside a band of one limit once it is made small enough
    tried = [value * ten for ten in TENS]
    if inches:
        tried += [_rounded(value * INCH, low, high), _rounded(value / INCH, low, high)]
    found = [one for one in tried if (low is None or one >= low) and (high is None or one <= high)]
    return list(dict.fromkeys(print_decimal(one) for one in found))[:1]


def _rounded(value: Decimal, *limits: Decimal | None) -> Decimal:
    """A value to the decimals of the limits."""
    finest = min((limit.as_tuple().exponent for limit in limits if limit is not None), default=0)
    return value.quantize(Decimal(1).scaleb(min(int(finest), 0)))
