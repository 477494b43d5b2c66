"""Fields of an entry as sent, each read as what it should be or refused with its name. No Django.

A field that nobody asks for is refused too: a mistyped name would lose a fact without a word.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from plant.quantities import Quantity, read_quantity
from plant.times import read_time
from records.ledger.refusals import Refused

LONGEST_CODE = 40
LONGEST_WORDS = 2000
MOST_ROWS = 200
MALFORMED = "malformed"


def strict_json(body: bytes | str) -> object:
    """What JSON says. Refuses ``malformed`` with where it breaks off, and whatever could be read in two ways."""
    try:
        return json.loads(body, parse_constant=_no_number, object_pairs_hook=_named_once)
    except json.JSONDecodeError as wrong:
        raise Refused(
            MALFORMED, "This is no JSON: it breaks off in line %(line)s. Send it again.", line=wrong.lineno
        ) from wrong
    except (ValueError, RecursionError) as wrong:
        raise Refused(MALFORMED, "This is no JSON in UTF-8. Send it again.") from wrong


def _no_number(text: str) -> object:
    raise Refused(MALFORMED, "%(text)s is no number that can be kept.", text=text)


def _named_once(pairs: Sequence[tuple[str, object]]) -> dict[str, object]:
    told = dict(pairs)
    if len(told) != len(pairs):
        raise Refused(MALFORMED, "A field is named twice; nobody can tell which one is meant.")
    return told


class Fields:
    """What was sent under one heading. ``where`` names the heading in a refusal."""

    def __init__(self, told: object, zone: ZoneInfo, where: str = "") -> None:
        if not isinstance(told, Mapping):
            raise Refused(MALFORMED, "%(where)s must hold named fields.", where=where or "The entry")
        self._told = told
        self._zone = zone
        self._where = where
        self._asked: set[str] = set()

    def text(self, name: str, *, needed: bool = False, longest: int = LONGEST_CODE) -> str:
        """Words of a field, without outer blanks; empty where it is left out."""
        value = self._take(name)
        if value is None:
            value = ""
        if not isinstance(value, str):
            raise self._wrong(name, "must be text")
        return self._checked(name, value, needed, longest)

    def words(self, name: str) -> str:
        """Free words of a field."""
        return self.text(name, longest=LONGEST_WORDS)

    def texts(self, name: str, *, needed: bool = False, longest: int = LONGEST_CODE) -> list[str]:
        """A list of words, such as codes scanned one after the other."""
        return [self._checked(name, one, True, longest) for one in self._list(name, needed)]

    def rows(self, name: str, *, needed: bool = False) -> list[Fields]:
        """A list of headings with fields of their own."""
        return [
            Fields(one, self._zone, f"{self._named(name)}, line {n},")
            for n, one in enumerate(self._list(name, needed), start=1)
        ]

    def heading(self, name: str) -> Fields:
        """Named fields below a heading; none where it is left out."""
        told = self._take(name)
        return Fields({} if told is None else told, self._zone, f"{self._named(name)}:")

    def amount(self, name: str) -> Quantity:
        """An amount with its unit, such as 180 g."""
        return read_quantity(self.text(name, needed=True))

    def moment(self, name: str) -> datetime | None:
        """A time; one without an offset is the works' own."""
        text = self.text(name)
        return read_moment(text, self._zone) if text else None

    def whole(self, name: str, *, most: int) -> int:
        """A whole number no further from nought than ``most``; nought where it is left out."""
        value = self._take(name)
        if value is None:
            return 0
        if not isinstance(value, int) or isinstance(value, bool) or abs(value) > most:
            raise self._wrong(name, "must be a whole number, and not a huge one")
        return value

    def truth(self, name: str) -> bool:
        """True or false; false where it is left out."""
        value = self._take(name)
        if value not in (None, True, False) or (isinstance(value, int) and not isinstance(value, bool)):
            raise self._wrong(name, "must be true or false")
        return bool(value)

    def raw(self, name: str) -> object:
        """A field as it was sent, to be read later."""
        return self._take(name)

    def end(self) -> None:
        """Refuse what was sent and not asked for."""
        for name in self._told:
            if name not in self._asked:
                raise self._wrong(str(name)[:LONGEST_CODE], "is no field that is known here")

    def _take(self, name: str) -> object:
        self._asked.add(name)
        return self._told.get(name)

    def _list(self, name: str, needed: bool) -> list[object]:
        value = self._take(name)
        if value is None:
            value = []
        if not isinstance(value, list) or len(value) > MOST_ROWS:
            raise self._wrong(name, f"must be a list of at most {MOST_ROWS}")
        if needed and not value:
            raise self._wrong(name, "is missing")
        return value

    def _checked(self, name: str, value: object, needed: bool, longest: int) -> str:
        if not isinstance(value, str):
            raise self._wrong(name, "must be text")
        # Neither engine keeps a nought byte or half a sign: the rest of the entry would be lost with it.
        if "\x00" in value or any("\ud800" <= sign <= "\udfff" for sign in value):
            raise self._wrong(name, "holds signs that can't be kept")
        value = value.strip()
        if len(value) > longest:
            raise self._wrong(name, f"is longer than {longest} signs")
        if needed and not value:
            raise self._wrong(name, "is missing")
        return value

    def _named(self, name: str) -> str:
        return f"{self._where} {name}".strip()

    def _wrong(self, name: str, how: str) -> Refused:
        return Refused(MALFORMED, "%(field)s %(how)s.", field=self._named(name), how=how)


def read_moment(text: str, zone: ZoneInfo) -> datetime:
    """Instant of a written time; years beyond the calendar are refused as no time."""
    try:
        return read_time(text, zone)
    except OverflowError as wrong:
        raise Refused("not-a-time", "“%(text)s” is no time. Write it as 2026-11-24T14:31.", text=text) from wrong
