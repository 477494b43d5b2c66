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
from django.utils.translation import gettext_noop as _

from plant.codes import fold
from plant.messages import EOT, GS, HEADER, RS
from plant.misreads import LAYOUT, Doubt, doubt_of, is_other_layout, run_together, shown, stand_in
from records.ledger.refusals import Refused

LONGEST = 400
# The symbology that a scanner may put in front, as ISO/IEC 15424 has it, and the same with caps lock on.
_SYMBOLOGY = re.compile(r"\][A-Za-z][0-9A-Za-z]")
_OF_GS1 = ("]d2", "]Q3", "]C1", "]e0")
_CAPS = tuple(prefix.swapcase() for prefix in _OF_GS1)
_FIELD = re.compile(r"(\d{0,3}[A-Z])(.+)", re.DOTALL)
_SMALL_FIELD = re.compile(r"\d{0,3}[a-z].+", re.DOTALL)
# A GS1 message whose scanner sends no prefix begins with the number of what it is.
_BARE_GS1 = re.compile(r"01\d{14}(?:1[0123567]|21).+", re.ASCII | re.DOTALL)
# Data identifiers that name the thing itself: a serial, a supplier's or a customer's lot.
_NAMING = ("S", "1T", "T")
_COPY = "Z"
# The same among application identifiers: serial or individual asset, else lot. 90 is mutually defined, as Z is.
_SERIALS, _LOT, _COPY_AI = ("21", "8004"), ("10",), "90"
_COPY_OF_LABEL = re.compile(r"L(\d{1,4})", re.ASCII)

CAPS = _(
    "Capitals and small letters have changed places: %(read)s. Turn caps lock off at the scanner and the tablet, and "
    "scan it again."
)
SEPARATORS = _(
    "The separators of this label were lost on the way: %(read)s. Set the scanner up to send them, or type the "
    "code that stands beside the symbol."
)
STOOD_IN = _(
    "The separators of this label come as %(sign)s: %(read)s. Set the scanner up to send them as GS (sign 29), or type "
    "the code that stands beside the symbol."
)
UNREADABLE = _("A field of this label can’t be read: %(read)s. Scan it again, or type the code that stands beside it.")
NAMES_NOTHING = _("This symbol names no serial and no lot: %(read)s. Scan another.")


@dataclass(frozen=True)
class Scan:
    """A scan that was understood. ``copy`` is the number of the label, where it carries one; ``doubt`` says why the
    code may be another one, which counts where it is not on file just so."""

    code: str
    form: str
    copy: int | None = None
    doubt: Doubt | None = None


def read_scan(text: str) -> Scan:
    """The code that a scanned or typed text names. Refuses ``scan`` for a symbol that can't be read for certain.

    The fact ``how`` of a refusal is a stable name of what went wrong.

    Examples
    --------
    >>> read_scan(" tw-26-000396-8").code
    'TW-26-000396-8'
    >>> read_scan("(01)09521234544043(21)TW-26-000396-8").code
    'TW-26-000396-8'
    """
    told = text.strip(" \t\r\n")
    if len(told) > LONGEST:
        raise _no("too-long", _("This is longer than any label: %(read)s. Scan the label once more."), told)
    if is_other_layout(told):
        raise _no("layout", LAYOUT, told)
    prefix = told[:3] if _SYMBOLOGY.match(told) else ""
    body = told[len(prefix) :]
    if body.startswith("[)>"):
        return _of_15434(body)
    if body.lower().startswith(("http://", "https://")):
        return _of_link(body)
    if prefix in _CAPS:
        raise _no("caps", CAPS, told)
    if body.startswith("(") or prefix in _OF_GS1 or GS in body or _BARE_GS1.fullmatch(body):
        return _of_gs1(body)
    return Scan(fold(body), "plain", doubt=doubt_of(body))


def _no(how: str, words: str, body: str, **facts: str) -> Refused:
    return Refused("scan", words, how=how, read=shown(body), **facts)


def opened(text: str) -> str:
    """The code of a symbol that is certain; any other text as it came.

    Examples
    --------
    >>> opened("(01)09521234544043(21)TW-26-000396-8"), opened(" lot 7"), opened("(01)0952")
    ('TW-26-000396-8', ' lot 7', '(01)0952')
    """
    try:
        scan = read_scan(text)
    except Refused:
        return text
    return text if scan.form == "plain" or scan.doubt else scan.code


def _of_15434(body: str) -> Scan:
    if not body.startswith(HEADER):
        sign = stand_in(body)
        raise _no("separator", STOOD_IN if sign else SEPARATORS, body, sign=sign)
    found: dict[str, list[str]] = {}
    for part in body[len(HEADER) :].rstrip(EOT).rstrip(RS).split(GS):
        match = _FIELD.fullmatch(part)
        if not match:
            how, words = ("caps", CAPS) if _SMALL_FIELD.fullmatch(part) else ("field", UNREADABLE)
            raise _no(how, words, body)
        found.setdefault(match[1], []).append(match[2])
    copy = found.get(_COPY, [""])[0]
    named = [code for name in _NAMING for code in found.get(name, [])]
    return Scan(_the_one(named, body), "15434", int(copy) if copy.isascii() and copy.isdecimal() else None)


def _of_gs1(body: str) -> Scan:
    if sign := stand_in(body):
        raise _no("separator", STOOD_IN, body, sign=sign)
    try:
        message = GS1Message.parse_hri(body) if body.startswith("(") else GS1Message.parse(body.lstrip(GS))
    except ParseError as wrong:
        raise _no("gs1", UNREADABLE, body) from wrong
    return _of_message(message, body, "gs1", is_open=not body.startswith("(") and not body.endswith(GS))


def _of_link(body: str) -> Scan:
    try:
        message = GS1DigitalLinkURI.parse(body).as_gs1_message()
    except ParseError as wrong:
        words = _("This link names nothing of the house: %(read)s. Scan the label itself.")
        raise _no("link", words, body) from wrong
    return _of_message(message, body, "link")


def _of_message(message: GS1Message, body: str, form: str, *, is_open: bool = False) -> Scan:
    """``is_open``: what comes last was not closed by a separator, so more may hide behind it."""
    fields = [(element.ai.ai, element.value) for element in message.element_strings]
    if any(element.gtin_error for element in message.element_strings):
        words = _("The check digit of this symbol does not fit: %(read)s. Scan it again.")
        raise _no("check-digit", words, body)
    copies = [match[1] for ai, value in fields if ai == _COPY_AI and (match := _COPY_OF_LABEL.fullmatch(value))]
    for names in (_SERIALS, _LOT):
        named = [value for ai, value in fields if ai in names]
        if named:
            is_last = is_open and fields[-1][0] in names
            doubt = run_together(fields[-1][1], body) if is_last else None
            return Scan(_the_one(named, body), form, int(copies[0]) if copies else None, doubt)
    raise _no("names-nothing", NAMES_NOTHING, body)


def _the_one(named: list[str], body: str) -> str:
    """The code that all of them are."""
    codes = sorted({fold(code) for code in named})
    if not codes:
        raise _no("names-nothing", NAMES_NOTHING, body)
    if len(codes) > 1:
        words = _("This symbol names two things, %(one)s and %(other)s: %(read)s. Type the code that stands beside it.")
        raise _no("two-names", words, body, one=codes[0], other=codes[1])
    return codes[0]


def layout_hint(text: str) -> str:
    """What a text that is no code tells of its way here; empty where it tells nothing.

    Examples
    --------
    >>> bool(layout_hint("FRZß0417")), layout_hint("FRZ-0417")
    (True, '')
    """
    return str(doubt_of(text) or "")
