"""Statements whose text is made once, and rows that are inserted by them.

PostgreSQL plans such a text once a connection and afterwards only carries it out: to plan a join of four tables takes
ten times as long as the join. SQLite's driver keeps the texts by itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.models import AutoField, Field, Model


@contextmanager
def carried_out(sql: str, values: Sequence[Any]) -> Iterator[Any]:
    """The cursor after a statement whose text comes again; its values are such as ``as_sent`` makes."""
    connection = connections[DEFAULT_DB_ALIAS]
    with _cursor(connection) as cursor:
        cursor.execute(sql, values)
        yield cursor


def _cursor(connection: Any) -> Any:
    """On PostgreSQL a cursor that sends text and values apart: Django's own puts the values into the text.

    That one serves where statements are logged, since of the other only the name of a plan would be seen.
    """
    if connection.vendor != "postgresql" or connection.queries_logged:
        return connection.cursor()
    import psycopg

    connection.ensure_connection()
    return connection._prepare_cursor(psycopg.Cursor(connection.connection))


def as_sent(value: Any, vendor: str) -> Any:
    """A value as it is sent apart from its text.

    PostgreSQL takes its type from its place: by the size of a number, and by whether a time is told, the same text
    would be planned anew.

    Examples
    --------
    >>> as_sent(3, "postgresql"), as_sent(3, "sqlite"), as_sent(None, "postgresql")
    ('3', 3, None)
    """
    if vendor != "postgresql" or isinstance(value, bool):
        return value
    if isinstance(value, int):
        return str(int(value))  # a member of a list of choices is a number too
    return str(value) if isinstance(value, date) else value


@dataclass(frozen=True)
class Insert:
    """The statement that inserts one row of a table; it brings the row's number where the database makes it."""

    sql: str
    fields: tuple[Field, ...]
    makes_number: bool

    def values(self, row: Model) -> list[Any]:
        """What the row has in these columns, as the driver takes it."""
        connection = connections[DEFAULT_DB_ALIAS]
        stored = (field.get_db_prep_save(field.pre_save(row, add=True), connection) for field in self.fields)
        return [as_sent(value, connection.vendor) for value in stored]


@cache
def insert_into(model: type[Model], ending: str = "") -> Insert:
    """How a row is inserted; ``ending`` says what else is asked of the database in the same breath."""
    key = model._meta.pk
    makes_number = isinstance(key, AutoField)
    fields = tuple(field for field in model._meta.concrete_fields if not (makes_number and field.primary_key))
    columns = ", ".join(f'"{field.column}"' for field in fields)
    places = ", ".join(["%s"] * len(fields))
    ending = ending or (f'returning "{key.column}"' if makes_number else "")
    sql = f'insert into "{model._meta.db_table}" ({columns}) values ({places}) {ending}'
    return Insert(sql.rstrip(), fields, makes_number)


def insert(row: Model) -> None:
    """Insert one new row. Django would make the text anew each time, which takes longer than the database does."""
    if not row._state.adding:
        raise TypeError(f"{type(row).__name__} stands already: write a newer version instead of changing it.")
    statement = insert_into(type(row))
    row._prepare_related_fields_for_save(operation_name="save")  # type: ignore[attr-defined]
    with carried_out(statement.sql, statement.values(row)) as cursor:
        if statement.makes_number:
            row.pk = cursor.fetchone()[0]
    row._state.adding, row._state.db = False, DEFAULT_DB_ALIAS
