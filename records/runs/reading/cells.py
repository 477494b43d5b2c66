"""What one cell holds: a number, a stamp, a sign for no reading, or words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import TypeVar

T = TypeVar("T")
# Multiples of the golden ratio fill a line evenly without a step.
_GOLDEN = 0.6180339887498949

# No reading, said without a fault: left empty or a word for "nothing". Common practice, no source.
BLANK_WORDS = frozenset({"", "nan", "na", "n/a", "#n/a", "null", "none", "-", "."})
# The instrument says that it can't measure: open input, over range, fault. Common practice, no source.
ERROR_WORDS = frozenset(
    {
        "ol", "-ol", "+ol", "o.l", "over", "overrange", "over range", "over-range", "overflow", "ovf", "ovfl", "ovr",
        "or", "under", "underrange", "under range", "under-range", "underflow", "ur", "err", "error", "fault", "fail",
        "failed", "open", "opn", "burnout", "short", "bad", "invalid", "inval", "inf", "+inf", "-inf", "break",
        "tc open", "no probe", "noprobe", "no sensor", "nosensor", "disconnected", "#wert!", "#value!", "#ref!",
        "#div/0!", "#num!", "?",
    }
)  # fmt: skip
_DASHES = re.compile(r"[-*#?_.=/\\]{2,}|[—–]+")
_NUMBER = re.compile(
    r"""(?x) [+\-−]?
    (?: \d{1,3} (?: [ '\u00a0\u202f] \d{3} )+ (?: [.,]\d+ )?    # 1 002.4
      | \d+ (?: [.,] \d+ )* [.,]?                              # 12  12.5  12,5  1,002.4  1.002,4  12.
      | [.,] \d+ )
    (?: [eEdD] [+-]? \d+ )? \s*%?"""
)
# Most cells: no stamp looks like this, so that nothing more need be asked.
_PLAIN = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?")
_DATE = (
    r"(?:\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|\d{1,2}[-. ]{0,2}[^\W\d]{3,9}\.?[-. ,]{1,2}\d{2,4}"
    r"|[^\W\d]{3,9}\.? \d{1,2},? \d{4})"
)
_TIME = (
    r"\d{1,4}:\d{1,2}(?::\d{1,2}(?:[.,:]\d+)?)?(?:\s*[AaPp]\.?\s?[Mm]\.?)?"
    r"(?:\s*(?:Z|UTC|GMT|[A-Z]{3,4}|(?:UTC|GMT)?[+\-−]\d{1,2}(?::?\d{2})?))?"
)
# A day of the week before a date says nothing that the date doesn't. English and German, as recorders write them.
WEEKDAY = r"(?:(?:[Mm]on|[Tt]ue|[Ww]ed|[Tt]hu|[Ff]ri|[Ss]at|[Ss]un|Mo|Di|Mi|Do|Fr|Sa|So)[a-z]{0,8}\.?,?\s+)"
# A time of day with points or an h in place of colons: only behind a date, else it may be a number or a date.
DOTTED_TIME = r"(?P<h>\d{1,2})[.h](?P<mi>[0-5]\d)(?:[.m](?P<s>[0-5]\d)s?)?"
_DOTTED = re.sub(r"\?P<\w+>", "?:", DOTTED_TIME)
_STAMP = re.compile(
    rf"""\s*{WEEKDAY}?(?:{_DATE}(?:[ \u00a0\u202fT,_\-]+{_TIME}|[ T]+{_DOTTED})?"""
    rf"""|[^\W\d]{{3,9}} +\d{{1,2}} {_TIME} \d{{4}}"""
    rf"""|(?:\d+(?:\s*d\s*|\.))?{_TIME}(?:[ ,\-]+(?:{_DATE}|\d{{1,2}}[/.]\d{{1,2}}\.?))?"""
    rf"""|\d{{1,2}}[/.]\d{{1,2}}\.?[ \-]+{_TIME}|\d{{8}}[T _\-]\d{{4,6}}(?:\.\d+)?Z?)\s*"""
)
# One of these stands in every stamp.
_SIGN = re.compile(r"[-:/ .T_]")
# Every stage of reading asks about the same cells, and readings come again.
_REMEMBERED = 8192


def sampled(items: Sequence[T], most: int) -> Sequence[T]:
    """All items, or ``most`` of them spread evenly but at no fixed step, so that no rhythm in the file is missed."""
    if len(items) <= most:
        return items
    return [items[n] for n in sorted({int(k * _GOLDEN % 1 * len(items)) for k in range(most)})]


@lru_cache(_REMEMBERED)
def is_number(cell: str) -> bool:
    """Whether the cell is a number, whatever its decimal mark."""
    if _PLAIN.fullmatch(cell):
        return True
    text = cell.strip()
    return bool(text) and text[0] in "+-−.,0123456789" and _NUMBER.fullmatch(text) is not None and not is_stamp(text)


@lru_cache(_REMEMBERED)
def is_stamp(cell: str) -> bool:
    """Whether the cell looks like a date, a time of day or a time gone by."""
    return len(cell) > 4 and _SIGN.search(cell) is not None and _STAMP.fullmatch(cell) is not None


def is_blank(cell: str) -> bool:
    """Whether the cell says "no reading" without naming a fault."""
    return cell.strip().casefold() in BLANK_WORDS


def is_error(cell: str) -> bool:
    """Whether the cell is an instrument's word for a fault."""
    text = cell.strip().casefold()
    return text in ERROR_WORDS or _DASHES.fullmatch(text) is not None


def kind_of(cell: str) -> str:
    """N number, S stamp, E no reading, T words."""
    if is_number(cell):
        return "N"
    if is_stamp(cell):
        return "S"
    return "E" if is_blank(cell) or is_error(cell) else "T"
