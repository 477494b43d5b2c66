"""Record rows held against the payloads that name them, and entries against their payloads' heads."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from hashlib import sha256
from operator import itemgetter
from typing import Any
from uuid import UUID

from django.db import models
from django.db.models import OuterRef, Subquery

from ..canonical import is_bulk
from ..models import Entry, PrivateWords
from ..patterns import Fact, WordsField
from ..triggers import record_models
from .faults import Fault, body_missing, shown

Row = tuple[Any, ...]


class Unreadable(str):
    """Stands for a stored value that is none of its column's kind."""


def as_stored(field: models.Field) -> Callable[[Any], Any] | None:
    """How a payload's value becomes what the database gives for a column; none where it is the same."""
    if isinstance(field, models.DateTimeField):
        return datetime.fromisoformat
    if isinstance(field, models.DateField):
        return date.fromisoformat
    if isinstance(field, models.UUIDField):
        return UUID
    if isinstance(field, (models.BinaryField, WordsField)):
        return bytes.fromhex
    return None


@dataclass(frozen=True)
class Table:
    """A table of rows that payloads name, with the columns that they carry."""

    model: type[models.Model]
    fields: tuple[models.Field, ...]
    named: tuple[str, ...]

    @classmethod
    def of(cls, model: type[models.Model]) -> Table:
        """Table of records: every column but the entry, the key first."""
        fields = sorted((f for f in model._meta.concrete_fields if f.name != "entry"), key=lambda f: not f.primary_key)
        return cls(model, tuple(fields), tuple(f.attname for f in fields))

    @property
    def name(self) -> str:
        return self.model._meta.db_table

    @cached_property
    def columns(self) -> tuple[Any, ...]:
        """What is read for each field: words as their commitment, or nothing where they are gone."""
        return tuple(
            Subquery(PrivateWords.objects.filter(pk=OuterRef(f.attname)).values("commitment"))
            if isinstance(f, WordsField)
            else f.attname
            for f in self.fields
        )

    @cached_property
    def pick(self) -> Callable[[dict[str, Any]], Sequence[Any]]:
        """Values of a payload's row in the order of the columns."""
        if len(self.named) == 1:
            return lambda row: (row[self.named[0]],)
        return itemgetter(*self.named)

    @cached_property
    def conversions(self) -> tuple[tuple[int, Callable[[Any], Any]], ...]:
        found = ((n, as_stored(field)) for n, field in enumerate(self.fields))
        return tuple((n, convert) for n, convert in found if convert)

    @cached_property
    def bulk(self) -> tuple[int, ...]:
        """Columns of which the payload carries the SHA-256."""
        return tuple(n for n, field in enumerate(self.fields, 1) if is_bulk(field))

    def rows(self, after: int | None, upto: int | None) -> dict[int, Row]:
        """Rows of the entries behind one number and up to another: by key, each its entry and its columns."""
        rows = self.model._base_manager.all()
        if after is not None:
            rows = rows.filter(entry_id__gt=after)
        if upto is not None:
            rows = rows.filter(entry_id__lte=upto)
        try:
            found = list(rows.values_list("entry_id", *self.columns))
        except ValueError:
            # SQLite keeps any text in a column of times; then row by row, so that the one is named.
            found = [self._carefully(pk) for pk in rows.values_list("pk", flat=True)]
        if self.bulk:
            found = [self._with_hashes(row) for row in found]
        return {row[1]: row for row in found}

    def _carefully(self, pk: int) -> Row:
        return tuple(self._value(pk, column) for column in ("entry_id", *self.columns))

    def _value(self, pk: int, column: Any) -> Any:
        try:
            return self.model._base_manager.filter(pk=pk).values_list(column, flat=True)[0]
        except ValueError:
            return Unreadable("something that can't be read")

    def _with_hashes(self, row: Row) -> Row:
        values = list(row)
        for n in self.bulk:
            values[n] = None if values[n] is None else sha256(values[n]).digest()
        return tuple(values)


class Rows:
    """All record tables, compared window by window of entry numbers."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []
        self.compared = 0
        self._tables = {t.name: t for t in map(Table.of, record_models()) if issubclass(t.model, Fact)}
        self._header = Table(Entry, *_header_fields())
        self._missing: dict[tuple[str, int], int] = {}
        self._extra: dict[tuple[str, int], int] = {}

    def compare(self, bodies: list[tuple[int, str, bool]], *, after: int | None, upto: int | None) -> None:
        """Entries, payloads and rows behind one entry number and up to another.

        With each body comes whether it is as hashed; one that is not says nothing about rows.
        """
        headers = self._headers(after, upto)
        rows = {name: table.rows(after, upto) for name, table in self._tables.items()}
        doubtful = set()
        for entry, text, is_true in bodies:
            header = headers.pop(entry, None)
            if header is None:
                words = "The payload stands, its entry does not."
                self.faults.append(Fault("row-missing", self._header.name, words, row=entry, entry=entry))
            if not is_true:
                doubtful.add(entry)
                continue
            payload = _parsed(text)
            if payload is None:
                doubtful.add(entry)
                words = "The payload is as hashed, but it is none that this program writes."
                self.faults.append(Fault("body-changed", "ledger_entrybody", words, row=entry, entry=entry))
                continue
            if header is not None and not _is_equal(self._header, payload, header):
                self._tell(self._header, payload, header, entry)
            for named in payload["rows"]:
                self._compare_row(named, entry, rows)
        self.faults.extend(map(body_missing, headers))
        for name, left in rows.items():
            self._extra.update({(name, pk): row[0] for pk, row in left.items() if row[0] not in doubtful})

    def _headers(self, after: int | None, upto: int | None) -> dict[int, Row]:
        entries = Entry.objects.all()
        if after is not None:
            entries = entries.filter(pk__gt=after)
        if upto is not None:
            entries = entries.filter(pk__lte=upto)
        return {row[0]: row for row in entries.values_list("pk", *self._header.columns)}

    def _compare_row(self, named: dict[str, Any], entry: int, rows: dict[str, dict[int, Row]]) -> None:
        self.compared += 1
        table = self._tables.get(named["t"])
        pk = named.get(table.named[0] if table else "id", 0)
        pk = pk if isinstance(pk, int) else 0
        row = rows[table.name].pop(pk, None) if table else None
        if table is None or row is None:
            self._missing[named["t"], pk] = entry
        elif row[0] != entry:
            rows[table.name][pk] = row
            self._missing[named["t"], pk] = entry
        elif not _is_equal(table, named, row):
            self._tell(table, named, row, entry)

    def _tell(self, table: Table, named: dict[str, Any], row: Row, entry: int) -> None:
        """Name each column that differs; one that came after the row was written may be empty or at its default."""
        for n, (field, attname) in enumerate(zip(table.fields, table.named, strict=True), 1):
            stored = row[n]
            if attname not in named:
                if stored is None or stored == field.get_default():
                    continue
                words = f"The row says {shown(stored)}, the ledger nothing."
            else:
                convert, told = as_stored(field), named[attname]
                if stored == _converted(convert, told):
                    continue
                words = _words(field, stored, _converted(convert, told))
            pk = row[1] if table is not self._header else entry
            self.faults.append(Fault("row-changed", table.name, words, row=pk, entry=entry, column=field.attname))

    def finish(self) -> list[Fault]:
        """All faults, rows that stand under another entry than the one that names them told as such."""
        for (table, pk), entry in self._missing.items():
            if (table, pk) in self._extra:
                words = f"The row says {self._extra.pop((table, pk)):,}, the ledger {entry:,}."
                self.faults.append(Fault("row-changed", table, words, row=pk, entry=entry, column="entry_id"))
            else:
                words = "The entry names this row; it is not there."
                self.faults.append(Fault("row-missing", table, words, row=pk, entry=entry))
        for (table, pk), entry in self._extra.items():
            words = "No entry names this row."
            self.faults.append(Fault("row-extra", table, words, row=pk, entry=entry))
        return self.faults


def _parsed(text: str) -> dict[str, Any] | None:
    """A payload with its rows, or nothing: whoever can write hashes as well may write anything."""
    try:
        payload = json.loads(text)
    except ValueError:
        return None
    rows = payload.get("rows") if isinstance(payload, dict) else None
    is_payload = isinstance(rows, list) and all(isinstance(row, dict) and isinstance(row.get("t"), str) for row in rows)
    return payload if is_payload else None


def _converted(convert: Callable[[Any], Any] | None, told: Any) -> Any:
    if convert is None or told is None:
        return told
    try:
        return convert(told)
    except (AttributeError, TypeError, ValueError):  # a value of another kind differs from whatever is stored
        return Unreadable(told)


def _header_fields() -> tuple[tuple[models.Field, ...], tuple[str, ...]]:
    fields = tuple(f for f in Entry._meta.concrete_fields if not f.primary_key)
    return fields, tuple(f.name for f in fields)


def _is_equal(table: Table, named: dict[str, Any], row: Row) -> bool:
    try:
        told = list(table.pick(named))
    except KeyError:
        return False
    for n, convert in table.conversions:
        told[n] = _converted(convert, told[n])
    return tuple(told) == row[1:]


def _words(field: models.Field, stored: Any, told: Any) -> str:
    if isinstance(field, WordsField):
        return "The row points to other words than the ledger says, or to none."
    return f"The row says {shown(stored)}, the ledger {shown(told)}."
