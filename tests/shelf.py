"""What many tests begin with is told once by the real actions, and put back row by row from then on.

The rows are exactly those that the telling left in the database, under the same clock; a telling that finds something
in a table is never replaced.
"""

from collections.abc import Callable, Hashable
from functools import wraps
from typing import NamedTuple

from django.db import connection, transaction

from records.ledger.clock import clock
from tests import engines


class Table(NamedTuple):
    """All rows of a table, with the statement that puts one back."""

    insert: str
    rows: list[tuple]


SHELVES: list[dict] = []


def clear() -> None:
    """Keep nothing any more: another database counts its rows from one again, whatever is put back."""
    for shelf in SHELVES:
        shelf.clear()


def kept(tell: Callable[..., object]) -> Callable[..., None]:
    """The same telling, of which a process keeps what it left in an empty database."""
    shelf: dict[Hashable, list[Table]] = {}
    SHELVES.append(shelf)

    @wraps(tell)
    def told(**how: object) -> None:
        key = (repr(how), clock._set)
        if engines.filled_tables(connection):
            tell(**how)
        elif key in shelf:
            _put_back(shelf[key])
        else:
            tell(**how)
            shelf[key] = [_taken(name) for name in engines.filled_tables(connection)]

    return told


def _taken(name: str) -> Table:
    with connection.cursor() as cursor:
        described = connection.introspection.get_table_description(cursor, name)
        columns = [f'"{column.name}"' for column in described]
        # On SQLite a plain column would be read as the type that it is declared as, not as it is stored.
        read = columns if engines.IS_POSTGRESQL else [f"+{column}" for column in columns]
        cursor.execute(f'select {", ".join(read)} from "{name}"')
        rows = cursor.fetchall()
    places = ", ".join(["%s"] * len(columns))
    return Table(f'insert into "{name}" ({", ".join(columns)}) values ({places})', rows)


def _put_back(tables: list[Table]) -> None:
    # Foreign keys are looked at when all is back.
    with transaction.atomic(), connection.cursor() as cursor:
        for table in tables:
            cursor.executemany(table.insert, table.rows)
