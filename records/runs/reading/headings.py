"""Headings of columns: the name as written with its unit taken off, and what the column measures."""

from __future__ import annotations

import re
from dataclasses import dataclass

from .units import Unit, qualified, quantity_of_name, unit_of

_BRACKETS = re.compile(r"\s*[\[({]([^\[\](){}]*(?:\([ag]\))?[^\[\](){}]*)[\])}]\s*$")
# Serial numbers of logger and sensor that some exports add to every name.
_SERIALS = re.compile(r"\s*\([^()]*S/?N:?[^()]*\)\s*$")
_COMMA = re.compile(r"\s*,\s*([^,]{1,16})$")
_IN = re.compile(r"(?i)\s+in\s+(\S{1,12})$")
_COLON = re.compile(r"\s*:\s*(\S{1,8})$")
_SLASH = re.compile(r"\s*/\s*(\S{1,8})$")
_UNDERSCORE = re.compile(r"_([A-Za-z%°µ]{1,8})$")
_BLANK = re.compile(r"\s+(°[CF]|℃|%RH|%|mbar|bar|kPa|psi|inHg|degC|degF|V|mV)$")


@dataclass(frozen=True)
class Heading:
    """A column's heading taken apart. ``odd_unit`` is a unit text that nothing here understands."""

    name: str
    heading: str
    unit: Unit | None
    quantity: str | None
    odd_unit: str | None = None


def heading_of(text: str, unit_below: str = "") -> Heading:
    """Name, unit and quantity of a heading, with the cell below it where the file has a row of units."""
    written = " ".join(text.split()) if "\n" in text else text.strip()
    bare = _SERIALS.sub("", written)
    name, unit, odd = _name_and_unit(bare)
    if unit is None and unit_below.strip():
        unit = unit_of(unit_below)
        odd = unit_below.strip() if unit is None and _looks_like_unit(unit_below) else odd
    if unit is not None:
        unit = qualified(unit, f"{bare} {unit_below}")
    quantity = quantity_of_name(name)
    if unit is not None and unit.quantity != "other":
        quantity = unit.quantity
    elif unit is not None and quantity is None:
        quantity = "other"
    return Heading(name, written, unit, quantity, None if unit else odd)


def _name_and_unit(text: str) -> tuple[str, Unit | None, str | None]:
    odd = None
    match = _BRACKETS.search(text)
    if match and match.start() > 0:
        unit = unit_of(match[1])
        if unit:
            return text[: match.start()].rstrip(), unit, None
        if text.rstrip().endswith("]"):  # square brackets hold a unit, round ones may hold a remark
            odd = match[1].strip() or None
            return text[: match.start()].rstrip(), None, odd
    for pattern in (_COMMA, _IN, _COLON, _SLASH, _BLANK):
        match = pattern.search(text)
        unit = unit_of(match[1]) if match and match.start() > 0 else None
        if match and unit:
            return text[: match.start()].rstrip(), unit, None
    match = _UNDERSCORE.search(text)
    unit = unit_of(match[1]) if match else None
    if unit:  # an identifier such as tc1_C stays whole
        return text, unit, None
    # A name that is itself a unit, such as Volts; one letter alone is a name.
    unit = unit_of(text) if len(text) > 2 else None
    return text, unit if unit and unit.quantity not in ("other", "time") else None, odd


def _looks_like_unit(text: str) -> bool:
    plain = text.strip()
    return 0 < len(plain) <= 12 and not any(sign in plain for sign in ":.") and any(sign.isalpha() for sign in plain)
