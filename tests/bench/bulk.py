"""Whole columns into a table at once: COPY on PostgreSQL, one statement for many rows on SQLite.

As the program's role, which may add rows. Numbers are taken from the table's own sequence.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from django.db import connection, connections, models

from tests import engines


def reserve(model: type[models.Model], count: int) -> int:
    """First of so many free numbers of a table, one after the other."""
    table = model._meta.db_table
    with connection.cursor() as cursor:
        if engines.IS_POSTGRESQL:
            numbers = "select coalesce(min(nextval(pg_get_serial_sequence(%s, 'id'))), 1) from generate_series(1, %s)"
            cursor.execute(numbers, [table, count])
            return int(cursor.fetchone()[0])
        cursor.execute(f"select coalesce(max(id), 0) + 1 from {table}")
        return int(cursor.fetchone()[0])


def put(model: type[models.Model], count: int, columns: dict[str, Any]) -> None:
    """So many rows; a column is an array, a list or one value for all, and its default where it is not named."""
    fields, blank = model._meta.concrete_fields, model()
    known = {field.attname for field in fields}
    if not columns.keys() <= known:
        raise ValueError(f"{model.__name__} has no {sorted(columns.keys() - known)}")
    filled = []
    for field in fields:
        value = columns.get(field.attname, getattr(blank, field.attname))
        if not isinstance(value, np.ndarray | list):
            value = [field.get_db_prep_save(value, connection)] * count
        filled.append(_plain(value))
    rows = zip(*filled, strict=True)
    names = ", ".join(f'"{field.column}"' for field in fields)
    table = f'"{model._meta.db_table}"'
    connection.ensure_connection()
    if engines.IS_POSTGRESQL:
        with (
            connection.connection.cursor() as cursor,
            cursor.copy(f"copy {table} ({names}) from stdin") as copy,
        ):
            for row in rows:
                copy.write_row(row)
        return
    places = ", ".join("?" * len(fields))
    connection.connection.executemany(f"insert into {table} ({names}) values ({places})", rows)


def analyse() -> None:
    """Let PostgreSQL count its rows, as it does by itself after a while; only the owner may ask for it.

    Rows not committed yet are left uncounted: the owner would see none and note the tables as empty.
    """
    if engines.IS_POSTGRESQL and not connection.in_atomic_block:
        owner = connections["owner"].copy("default")
        try:
            with owner.cursor() as cursor:
                cursor.execute("analyze")
        finally:
            owner.close()


def times(moments: np.ndarray) -> list[str]:
    """Microseconds since 1970 as both engines read a time."""
    return [str(moment) for moment in moments.astype("M8[us]").tolist()]


def or_nothing(numbers: np.ndarray) -> list[int | None]:
    """Numbers, with nothing in place of those below nought."""
    return [None if number < 0 else number for number in numbers.tolist()]


def _plain(values: np.ndarray | list) -> list:
    return values.tolist() if isinstance(values, np.ndarray) else values
