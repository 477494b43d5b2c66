"""What stands in the symbol of a label: a GS1 message where the works has a company prefix, else ISO/IEC 15434.

A serial or lot, the part, the days that are known, and the number of the label, so that an old copy is known again.
Data identifiers are those of ANSI MH10.8.2, application identifiers those of the GS1 General Specifications.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

# Separators of ISO/IEC 15434 and the head of a message with data identifiers.
GS, RS, EOT = "\x1d", "\x1e", "\x04"
HEADER = f"[)>{RS}06{GS}"
# A serial or lot of GS1: at most 20 signs; of its 82 those that survive every keyboard (a rule of the house).
_FITS_GS1 = re.compile(r"[A-Z0-9-]{1,20}", re.ASCII)


# What the set-up test label of a scanner names: letters that change places on other keyboards, a hyphen, capitals; its
# message has brackets and separators besides.
SCANNER_TEST = "SCANNER-TEST-YZ-0"


@dataclass(frozen=True)
class Named:
    """What a label names. ``reference`` counts the parts of the works; ``made_on`` and ``good_until`` where known."""

    code: str
    is_unit: bool
    copy: int
    part: str = ""
    reference: int = 0
    made_on: date | None = None
    good_until: date | None = None


@dataclass(frozen=True)
class Message:
    """Text or bytes of a symbol, and which: ``15434``, ``gs1``, ``plain`` or ``link``."""

    text: bytes | str
    form: str


def message_of(named: Named, company_prefix: str = "") -> Message:
    """The message of a label; a code with signs that none of the forms can hold stands alone.

    Examples
    --------
    >>> message_of(Named("PT-26-000371-0", is_unit=False, copy=1, part="RMX")).text
    b'[)>\\x1e06\\x1d1TPT-26-000371-0\\x1d1PRMX\\x1dZ1\\x1e\\x04'
    >>> message_of(Named("TW-26-000396-8", is_unit=True, copy=2, reference=408), "952123454").text
    '(01)09521234544081(21)TW-26-000396-8(90)L2'
    """
    gtin = gtin_of(company_prefix, named.reference) if company_prefix and named.reference else ""
    if gtin and _FITS_GS1.fullmatch(named.code):
        return Message(_of_gs1(named, gtin), "gs1")
    fields = [("S" if named.is_unit else "1T") + named.code]
    fields += ["1P" + named.part] if named.part else []
    fields += [f"Z{named.copy}"]
    fields += [f"16D{named.made_on:%Y%m%d}"] if named.made_on else []
    fields += [f"14D{named.good_until:%Y%m%d}"] if named.good_until else []
    message = HEADER + GS.join(fields) + RS + EOT
    return Message(message.encode("ascii"), "15434") if message.isascii() else Message(named.code, "plain")


def _of_gs1(named: Named, gtin: str) -> str:
    days = f"(11){named.made_on:%y%m%d}" if named.made_on else ""
    days += f"(17){named.good_until:%y%m%d}" if named.good_until else ""
    return f"(01){gtin}{days}({'21' if named.is_unit else '10'}){named.code}(90)L{named.copy}"


def owner_link(named: Named, company_prefix: str, address: str, token: str) -> Message | None:
    """The link by which an owner finds the page of the frame; none without an address to put in front.

    With a company prefix and a serial that fits it is a GS1 Digital Link: that standard leaves the path in front of the
    first key to whoever serves it, so that the token stands there, and the serial alone opens nothing.

    Examples
    --------
    >>> frame = Named("TW-26-000396-8", is_unit=True, copy=1, reference=408)
    >>> owner_link(frame, "952123454", "https://id.example", "7K2M").text
    'https://id.example/f/7K2M/01/09521234544081/21/TW-26-000396-8'
    >>> owner_link(frame, "", "https://id.example", "7K2M").text
    'https://id.example/f/7K2M/'
    """
    if not (address and named.is_unit):
        return None
    page = f"{address.rstrip('/')}/f/{token}/"
    gtin = gtin_of(company_prefix, named.reference) if company_prefix and named.reference else ""
    is_gs1 = gtin and _FITS_GS1.fullmatch(named.code)
    return Message(f"{page}01/{gtin}/21/{named.code}" if is_gs1 else page, "link")


def gtin_of(company_prefix: str, reference: int) -> str:
    """Number of a part in fourteen figures: prefix of the company, running number of the part, check digit.

    Empty where the running number is too long for the prefix.

    Examples
    --------
    >>> gtin_of("952123454", 408), gtin_of("952123454", 4080)
    ('09521234544081', '')
    """
    room = 12 - len(company_prefix)
    if len(str(reference)) > room:
        return ""
    digits = f"{company_prefix}{reference:0{room}d}"
    return f"0{digits}{gs1_check_digit(digits)}"


def gs1_check_digit(digits: str) -> str:
    """Check digit of GTIN, GLN and SSCC: from the right, weights 3, 1, 3, 1; what is missing to the next ten.

    GS1 General Specifications, section 7.9 (number from memory); worked examples in ``tests/reference/identification``.

    Examples
    --------
    >>> gs1_check_digit("629104150021")
    '3'
    """
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(digits)))
    return str(-total % 10)
