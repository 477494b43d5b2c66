"""Printed codes of the house: KIND-YY-NUMBER-CHECK, what each kind means, and how a typed code is understood.

CHECK follows ISO/IEC 7064 MOD 11,10 over the eight digits of year and number (published example 0794 with check
digit 5, from memory). The kind is not in it: it is checked against what is asked for.
"""

from __future__ import annotations

import re

from records.ledger.refusals import Refused

# Never O or I, and no prefix twice.
KINDS: dict[str, str] = {
    "TW": "frame",
    "FT": "front triangle",
    "RT": "rear triangle",
    "PF": "preform",
    "FB": "fibre lot",
    "SP": "spool",
    "RB": "resin",
    "HB": "hardener",
    "PT": "pot",
    "TK": "tank",
    "BN": "bin",
    "AD": "adhesive",
    "AH": "adhesive hardener",
    "BD": "binder",
    "NS": "frame insert lot",
    "BL": "bladder",
    "CP": "retained cup",
    "CU": "coupon",
    "ML": "mould",
    "MS": "mould insert set",
    "MD": "mandrel",
    "JG": "jig",
    "CT": "cutter",
    "GA": "gauge",
    "RC": "recorder",
    "TB": "tablet",
    "ST": "station",
    "PB": "badge",
    "RN": "run",
    "RP": "recipe",
    "NC": "nonconformance",
    "RL": "recall",
    "CN": "consignment",
    "SH": "shipment",
    "ES": "emergency sheet",
}

_HOUSE = re.compile(r"([A-Z]{2})-?(\d{2})-?(\d{1,6})-?(\d)", re.ASCII)
LARGEST_NUMBER = 999_999
# Letters that are taken for figures.
ALIKE = str.maketrans("OQILSZB", "0011528")


def fold(code: str) -> str:
    """A code as it is compared: outer blanks and case don't count."""
    return code.strip().upper()


def check_digit(digits: str) -> str:
    """Check digit of a row of digits by ISO/IEC 7064 MOD 11,10.

    Examples
    --------
    >>> check_digit("079")
    '2'
    >>> check_digit("0794")
    '5'
    """
    product = 10
    for digit in digits:
        product = 2 * ((product + int(digit)) % 10 or 10) % 11
    return str((11 - product) % 10)


def house_code(kind: str, year: int, number: int) -> str:
    """Code of the house for a kind, a year and a running number.

    Examples
    --------
    >>> house_code("TW", 2026, 396)
    'TW-26-000396-8'
    """
    if kind not in KINDS:
        raise ValueError(f"kind must be one of the house's prefixes, got {kind}")
    if not 0 < number <= LARGEST_NUMBER:
        raise ValueError(f"number must lie in 1..{LARGEST_NUMBER}, got {number}")
    body = f"{year % 100:02d}{number:06d}"
    return f"{kind}-{body[:2]}-{body[2:]}-{check_digit(body)}"


def series_and_number(code: str) -> tuple[str, int]:
    """Prefix and year of a code of the house, and its running number.

    Examples
    --------
    >>> series_and_number("TW-26-000396-8")
    ('TW-26', 396)
    """
    return code[:5], int(code[6:12])


def read_typed(text: str) -> str:
    """A typed or scanned code, put right where dashes or leading zeros were left out.

    A code that has the form of the house but whose check digit does not fit is refused ``check-digit``; anything
    else is handed back folded, as suppliers' codes have no form.
    """
    folded = fold(text)
    match = _HOUSE.fullmatch(folded)
    if not match or match[1] not in KINDS:
        return folded
    kind, year, number, check = match.groups()
    body = f"{year}{int(number):06d}"
    if check_digit(body) != check:
        raise Refused(
            "check-digit",
            "No such code: %(code)s. The check digit does not fit. Look again, or type it.",
            code=folded,
        )
    return f"{kind}-{year}-{body[2:]}-{check}"


def certain(text: str) -> str:
    """The code of the house that a text is for certain: known kind, check digit that fits. Empty for any other text.

    Examples
    --------
    >>> certain("tw26396-8"), certain("TW-26-000396-3"), certain("XX-26-000396-8")
    ('TW-26-000396-8', '', '')
    """
    try:
        read = read_typed(text)
    except Refused:
        return ""
    return read if read[2:3] == "-" and _HOUSE.fullmatch(read) and read[:2] in KINDS else ""


def with_right_check(text: str) -> str:
    """The code that year and number of a typed one have by their right check digit; empty for what has no such form.

    Examples
    --------
    >>> with_right_check("tw26396-3")
    'TW-26-000396-8'
    """
    match = _HOUSE.fullmatch(fold(text))
    if not match or match[1] not in KINDS or not int(match[3]):
        return ""
    return house_code(match[1], int(match[2]), int(match[3]))


def alike(code: str) -> str:
    """What look-alike codes have in common: letters and digits, signs that are mistaken for each other made one."""
    return "".join(sign for sign in fold(code) if sign.isalnum()).translate(ALIKE)


def short(code: str) -> str:
    """A code of the house as it stands in a drawing: kind and number; the table has it whole.

    Examples
    --------
    >>> short("PT-26-000371-0"), short("POT-7")
    ('PT 371', 'POT-7')
    """
    kind, *rest = code.split("-")
    if len(rest) == 3 and len(kind) == 2 and rest[1].isdigit():
        return f"{kind} {int(rest[1])}"
    return code if len(code) <= 9 else f"{code[:8]}…"
