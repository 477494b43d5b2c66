"""What a scanner types, brought to one form: the code of a thing, and what else stood in the symbol.

Understood are a bare code, a message of ISO/IEC 15434 format 06 with data identifiers of ANSI MH10.8.2, a GS1 message
(with its separators, or with identifiers in brackets) and a GS1 Digital Link. Whatever can be read in two ways is
refused with what was read: nothing is put right in silence.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from biip import ParseError
from biip.gs1_digital_link_uris import GS1DigitalLinkURI
from biip.gs1_messages import GS1Message

from plant.codes import fold
from records.ledger.refusals import Refused

GS, RS, EOT = "\x1d", "\x1e", "\x04"
HEADER = f"[)>{RS}06{GS}"
LONGEST = 400
# The symbology that a scanner may put in front, as ISO/IEC 15424 has it.
_SYMBOLOGY = re.compile(r"\][A-Za-z][0-9A-Za-z]")
_OF_GS1 = ("]d2", "]Q3", "]C1", "]e0")
_FIELD = re.compile(r"(\d{0,3}[A-Z])(.+)", re.DOTALL)
# Data identifiers that name the thing itself: a serial, a supplier's or a customer's lot.
_NAMING = ("S", "1T", "T")
_COPY = "Z"
# The same among application identifiers: serial, lot, individual asset.
_NAMING_AIS = ("21", "10", "8004")


@dataclass(frozen=True)
class Scan:
    """A scan that was understood. ``copy`` is the number of the label, where it carries one."""

    code: str
    form: str
    copy: int | None = None


def read_scan(text: str) -> Scan:
    """The code that a scanned or typed text names. Refuses ``scan`` for a symbol that can't be read for certain.

    Examples
    --------
    >>> read_scan(" tw-26-000396-8").code
    'TW-26-000396-8'
    >>> read_scan("(01)09521234544043(21)TW-26-000396-8").code
    'TW-26-000396-8'
    """
    told = text.strip(" \t\r\n")
    if len(told) > LONGEST:
        raise Refused("scan", "This is longer than any label: %(read)s. Scan the label once more.", read=_shown(told))
    prefix = told[:3] if _SYMBOLOGY.match(told) else ""
    body = told[len(prefix) :]
    if body.startswith("[)>"):
        return _of_15434(body)
    if body.lower().startswith(("http://", "https://")):
        return _of_link(body)
    if body.startswith("(") or prefix in _OF_GS1 or GS in body:
        return _of_gs1(body)
    return Scan(fold(body), "plain")


def label_message(code: str, *, is_unit: bool, part: str, copy: int, good_until: str = "") -> bytes | str:
    """What stands in a label of the house: serial or lot, part, number of the label, last good day (YYYYMMDD).

    A code with letters that such a message can't hold stands alone.

    Examples
    --------
    >>> label_message("PT-26-000371-0", is_unit=False, part="RMX", copy=1)
    b'[)>\\x1e06\\x1d1TPT-26-000371-0\\x1d1PRMX\\x1dZ1\\x1e\\x04'
    """
    fields = [("S" if is_unit else "1T") + code, "1P" + part, f"{_COPY}{copy}"]
    if good_until:
        fields.append("14D" + good_until)
    message = HEADER + GS.join(fields) + RS + EOT
    return message.encode("ascii") if message.isascii() else code


def _of_15434(body: str) -> Scan:
    if not body.startswith(HEADER) or body.count(GS) < 1:
        raise Refused(
            "scan",
            "The separators of this label were lost on the way: %(read)s. Set the scanner up to send them, or type the "
            "code that stands beside the symbol.",
            read=_shown(body),
        )
    found: dict[str, str] = {}
    for part in body[len(HEADER) :].rstrip(EOT).rstrip(RS).split(GS):
        match = _FIELD.fullmatch(part)
        if not match:
            raise Refused("scan", "A field of this label can't be read: %(read)s. Scan it again.", read=_shown(body))
        found.setdefault(match[1], match[2])
    copy = found.get(_COPY, "")
    return Scan(
        _the_one({fold(found[name]) for name in _NAMING if name in found}, body),
        "15434",
        int(copy) if copy.isascii() and copy.isdecimal() else None,
    )


def _of_gs1(body: str) -> Scan:
    try:
        message = GS1Message.parse_hri(body) if body.startswith("(") else GS1Message.parse(body.lstrip(GS))
    except ParseError as wrong:
        raise Refused("scan", "This GS1 symbol can't be read: %(read)s. Scan it again.", read=_shown(body)) from wrong
    return _of_message(message, body, "gs1")


def _of_link(body: str) -> Scan:
    try:
        message = GS1DigitalLinkURI.parse(body).as_gs1_message()
    except ParseError as wrong:
        words = "This link names nothing of the house: %(read)s. Scan the label itself."
        raise Refused("scan", words, read=_shown(body)) from wrong
    return _of_message(message, body, "link")


def _of_message(message: GS1Message, body: str, form: str) -> Scan:
    wrong = [element for element in message.element_strings if element.gtin_error]
    if wrong:
        raise Refused(
            "scan", "The check digit of this symbol does not fit: %(read)s. Scan it again.", read=_shown(body)
        )
    for name in _NAMING_AIS:
        named = {fold(element.value) for element in message.element_strings if element.ai.ai == name}
        if named:
            return Scan(_the_one(named, body), form)
    raise Refused("scan", "This symbol names no serial and no lot: %(read)s. Scan another.", read=_shown(body))


def _the_one(named: set[str], body: str) -> str:
    if len(named) != 1:
        words = "This symbol names no thing for certain: %(read)s. Type the code that stands beside it."
        raise Refused("scan", words, read=_shown(body))
    return named.pop()


def layout_hint(text: str) -> str:
    """What a text that is no code tells of the scanner's keyboard; empty where it tells nothing.

    Examples
    --------
    >>> bool(layout_hint("FRZß0417")), layout_hint("FRZ-0417")
    (True, '')
    """
    if text.isascii():
        return ""
    return "The scanner's keyboard layout looks wrong: scan its set-up label, or type the code."


def _shown(body: str) -> str:
    """A text with its control characters made visible, no longer than a line."""
    seen = "".join(sign if sign.isprintable() else "·" for sign in body)
    return seen if len(seen) <= 60 else f"{seen[:59]}…"
