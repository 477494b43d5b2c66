"""Amounts and readings as whole numbers of a small step, read from written digits and printed back.

A number is shifted by decimal arithmetic, never by binary floating point, so that 34.9 + 0.05 is 34.95 on every
engine. What is finer than a step, or of another kind than asked, is refused with words.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from records.ledger.refusals import Refused

# kind -> unit as written -> steps in one of it. The first unit of a kind is the one it is shown in.
# Steps: length nm, mass ug, time ms, temperature mK, pressure Pa, angle microdegree, force mN, ratio parts per billion.
UNITS: dict[str, dict[str, int]] = {
    "length": {"mm": 10**6, "um": 10**3, "µm": 10**3, "nm": 1, "cm": 10**7, "m": 10**9},
    "mass": {"g": 10**6, "kg": 10**9, "mg": 10**3, "ug": 1, "t": 10**12},
    "time": {"min": 60_000, "s": 1000, "ms": 1, "h": 3_600_000, "d": 86_400_000},
    "temperature": {"degC": 1000, "°C": 1000, "C": 1000, "K": 1000},
    "pressure_abs": {"mbar": 100, "bar": 100_000, "Pa": 1, "hPa": 100, "kPa": 1000},
    "pressure_gauge": {"mbar": 100, "bar": 100_000, "Pa": 1, "hPa": 100, "kPa": 1000},
    "angle": {"deg": 10**6, "°": 10**6},
    "force": {"N": 1000, "kN": 10**6, "mN": 1},
    "count": {"pcs": 1, "pc": 1},
    "ratio": {"%": 10**7, "phr": 10**7, "1": 10**9, "ppb": 1},
}
KINDS = tuple(UNITS)
TEXT = "text"  # kind of what is read in words, such as a programme's revision
CELSIUS_OFFSET_MK = 273_150
# RFC 8785 numbers are doubles; beyond this a payload could not carry the number exactly.
LARGEST = 2**53 - 1

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
_WITH_UNIT = re.compile(r"\s*(?P<number>[+\-−]?[\d.,]+)\s*(?P<unit>[^\d\s.,][^\s]*)\s*")


@dataclass(frozen=True)
class Quantity:
    """A whole number of steps of one kind, with the text it was read from."""

    steps: int
    unit_kind: str
    written: str = ""


def kind_of_unit(unit: str) -> str:
    """Kind that a unit belongs to; pressure counts as absolute. Refuses ``wrong-kind`` for a unit not known here."""
    for kind, units in UNITS.items():
        if unit in units:
            return kind
    raise Refused("wrong-kind", "%(unit)s is no unit that is used here. Write one of: g, kg, mm, pcs.", unit=unit)


def read_decimal(text: str) -> Decimal:
    """Decimal of written digits, comma or point. Refuses ``not-a-number``."""
    plain = text.strip().replace("−", "-")
    if not _NUMBER.fullmatch(plain):
        raise Refused("not-a-number", "“%(text)s” can't be read as a number. Read it again.", text=text.strip())
    return Decimal(plain.replace(",", "."))


def steps_of(text: str, unit: str, unit_kind: str, *, difference: bool = False) -> int:
    """Whole steps of a written number in ``unit``.

    A temperature in °C is shifted to kelvin unless it is a ``difference``. Refuses ``not-a-number``, ``wrong-kind``,
    ``too-fine``, ``too-low`` for a temperature below absolute zero, and ``too-large``.
    """
    units = UNITS[unit_kind]
    if unit not in units:
        raise Refused(
            "wrong-kind",
            "%(unit)s is no unit of %(kind)s. Write it in %(units)s.",
            unit=unit,
            kind=unit_kind.replace("_", " "),
            units=", ".join(units),
        )
    # A fraction, since decimal arithmetic would round away what is written beyond 28 digits.
    steps = Fraction(read_decimal(text)) * units[unit]
    if steps.denominator != 1:
        raise Refused(
            "too-fine",
            "%(text)s %(unit)s has more decimals than can be kept. Leave the last off.",
            text=text.strip(),
            unit=unit,
        )
    whole = int(steps)
    if unit_kind == "temperature" and unit != "K" and not difference:
        whole += CELSIUS_OFFSET_MK
        if whole < 0:
            raise Refused(
                "too-low", "%(text)s %(unit)s is below absolute zero. Read it again.", text=text.strip(), unit=unit
            )
    if abs(whole) > LARGEST:
        raise Refused(
            "too-large", "%(text)s %(unit)s is more than can be true. Read it again.", text=text.strip(), unit=unit
        )
    return whole


def read_quantity(text: str, unit_kind: str | None = None) -> Quantity:
    """Quantity from text with a unit, "0.18 kg". Refuses as ``steps_of``."""
    match = _WITH_UNIT.fullmatch(text)
    if not match:
        raise Refused("not-a-number", "“%(text)s” is no number with a unit, such as 180 g.", text=text.strip())
    unit = match["unit"]
    kind = unit_kind or kind_of_unit(unit)
    return Quantity(steps_of(match["number"], unit, kind), kind, text.strip())


def millionths(text: str) -> int:
    """Whole millionths of a written number, for values in units that are not measured in here.

    Refuses ``not-a-number``, ``too-fine`` and ``too-large``.

    Examples
    --------
    >>> millionths("1,14"), print_millionths(1_140_000)
    (1140000, '1.14')
    """
    steps = Fraction(read_decimal(text)) * 10**6
    if steps.denominator != 1:
        raise Refused("too-fine", "%(text)s has more decimals than can be kept. Leave the last off.", text=text.strip())
    if abs(steps) > LARGEST:
        raise Refused("too-large", "%(text)s is more than can be true. Read it again.", text=text.strip())
    return int(steps)


def print_millionths(steps: int) -> str:
    """Written number of whole millionths."""
    return print_decimal(Decimal(steps) / 10**6)


def print_decimal(value: Decimal) -> str:
    """Plain digits without exponent or idle zeros: 11999.999, 0, -50."""
    text = format(value, "f")
    return (text.rstrip("0").rstrip(".") or "0") if "." in text else text


def print_steps(steps: int, unit: str, unit_kind: str, *, difference: bool = False) -> str:
    """Written number of whole steps in ``unit``: exact, save minutes, hours and days, which are cut at 28 digits."""
    if unit_kind == "temperature" and unit != "K" and not difference:
        steps -= CELSIUS_OFFSET_MK
    return print_decimal(Decimal(steps) / UNITS[unit_kind][unit])


def print_amount(steps: int, unit: str, unit_kind: str) -> str:
    """An amount with its unit, a thousand grams and more in kilograms.

    Examples
    --------
    >>> print_amount(19_980_000_000, "g", "mass"), print_amount(310_000_000, "g", "mass")
    ('19.98 kg', '310 g')
    """
    if unit == "g" and abs(steps) >= UNITS["mass"]["kg"]:
        unit = "kg"
    return f"{print_steps(steps, unit, unit_kind)} {unit}" if unit else str(steps)


def print_share(ppb: int) -> str:
    """Share as text between 0 and 1 from parts per billion: 0.090909091."""
    return print_decimal(Decimal(ppb) / 10**9)
