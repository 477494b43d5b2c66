"""What many tests tell in the same way is told once by the real actions, and put back row by row from then on.

A telling is kept by what stood before it: an empty database, or what tellings of this shelf had left there. The first
statement that may write anything else makes it unknown what stands, and from then on each telling is a real one. The
rows are exactly those that it left in the database, under the same clock.
"""

import pickle
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from functools import cache, wraps
from typing import Any, NamedTuple, ParamSpec, TypeVar

from django.db import connection, transaction

from records.ledger.clock import clock
from records.ledger.statements import carried_out
from tests import engines

P, R = ParamSpec("P"), TypeVar("R")
Rows = dict[str, dict[Hashable, tuple]]
# A statement that begins otherwise may change what stands.
READS = {"SELECT", "SAVEPOINT", "RELEASE"}
# What stands, where no telling led there: nothing, nobody has looked yet, anything.
NOTHING, UNSEEN, UNKNOWN = 0, -1, -2


class Change(NamedTuple):
    """Rows that a telling put in or changed: ``begin``, ``each`` row in its places, ``between`` them the sign."""

    begin: str
    each: str
    between: str
    rows: list[tuple]


class Told(NamedTuple):
    """What a telling left, and the answer it gave."""

    number: int
    put_back: Callable[[Any], object]
    answer: bytes


class _Standing:
    """What stands in the database: the number of the last telling that led there."""

    def __init__(self) -> None:
        self.number = UNKNOWN
        self.is_followed = False

    def look(self, execute: Callable, statement: str, params: Any, many: bool, context: dict) -> Any:
        begins = statement.split(None, 1)[0].upper()
        if begins not in READS:
            self.number = UNSEEN if begins == "ROLLBACK" else UNKNOWN
        return execute(statement, params, many, context)

    def seen(self) -> int:
        """The number, after a look at the database where it takes one."""
        if self.number == UNSEEN or not self.is_followed:
            self.number = UNKNOWN if _filled() else NOTHING
        return self.number


_standing = _Standing()
_shelf: dict[Hashable, Told] = {}


def clear() -> None:
    """Keep nothing any more: another database counts its rows from one again, whatever is put back."""
    _shelf.clear()


@contextmanager
def followed() -> Iterator[None]:
    """Tellings upon others are kept inside the block, in which one test runs that is rolled back at its end."""
    _standing.is_followed, _standing.number = True, UNSEEN
    try:
        with connection.execute_wrapper(_standing.look):
            yield
    finally:
        _standing.is_followed, _standing.number = False, UNKNOWN


def kept(tell: Callable[P, R]) -> Callable[P, R]:
    """The same telling, of which a process keeps what it left. It leaves rows and nothing else."""

    @wraps(tell)
    def told(*what: P.args, **how: P.kwargs) -> R:
        before = _standing.seen()
        if before == UNKNOWN:
            return tell(*what, **how)
        return _told_upon(before, tell, *what, **how)

    return told


def _told_upon(before: int, tell: Callable[P, R], *what: P.args, **how: P.kwargs) -> R:
    arguments = repr((what, how))
    if " at 0x" in arguments:
        raise TypeError(f"{tell.__qualname__} can't be kept: nobody can tell {arguments} from another.")
    key = (before, tell.__module__, tell.__qualname__, arguments, clock._set)
    found = _shelf.get(key)
    if found is None:
        rows = _rows()
        answer = tell(*what, **how)
        changes = _changes(rows, _rows())
        if changes is None:
            return answer
        found = _shelf[key] = Told(len(_shelf) + 1, _way_back(changes), pickle.dumps(answer))
    else:
        # Foreign keys are looked at when all is back.
        with transaction.atomic(), connection.cursor() as cursor:
            found.put_back(cursor)
        answer = pickle.loads(found.answer)
    _standing.number = found.number if _standing.is_followed else UNKNOWN
    return answer


class Table(NamedTuple):
    """How the rows of a table are read, put in and changed; the place of its key among the columns."""

    read: str
    put_in: str
    row: str
    change: str
    key: int


@cache
def _table(name: str) -> Table:
    with connection.cursor() as cursor:
        key = connection.introspection.get_primary_key_column(cursor, name)
        # Django's own description reads a table's statement on SQLite, and stumbles over a rule that ends in a list.
        cursor.execute(f'select * from "{name}" limit 0')
        columns = [f'"{column[0]}"' for column in cursor.description]
    # On SQLite a plain column would be read as the type that it is declared as, not as it is stored.
    read = columns if engines.IS_POSTGRESQL else [f"+{column}" for column in columns]
    return Table(
        f'select {", ".join(read)} from "{name}"',
        f'insert into "{name}" ({", ".join(columns)}) values ',
        f"({', '.join(['%s'] * len(columns))})",
        f'update "{name}" set {", ".join(f"{column} = %s" for column in columns)} where "{key}" = %s',
        columns.index(f'"{key}"'),
    )


@cache
def _which_are_filled() -> str:
    return engines.which_are_filled(connection)


def _filled() -> list[str]:
    """The tables in which something stands, by a statement that a connection plans once."""
    with carried_out(_which_are_filled(), ()) as cursor:
        return [name for (name,) in cursor.fetchall()]


def _rows() -> Rows:
    """Every row of every table that is filled, by table and key."""
    found = {}
    with connection.cursor() as cursor:
        for name in _filled():
            table = _table(name)
            cursor.execute(table.read)
            found[name] = {row[table.key]: row for row in cursor.fetchall()}
    return found


def _changes(before: Rows, after: Rows) -> list[Change] | None:
    """What leads from one to the other; None where a row was taken out."""
    if any(before[name].keys() - after.get(name, {}).keys() for name in before):
        return None
    changes = []
    for name, rows in after.items():
        table, stood = _table(name), before.get(name, {})
        put_in = [row for key, row in rows.items() if key not in stood]
        changed = [(*row, key) for key, row in rows.items() if key in stood and stood[key] != row]
        changes += [Change(table.put_in, table.row, ", ", put_in), Change("", table.change, "; ", changed)]
    return [change for change in changes if change.rows]


def _way_back(changes: list[Change]) -> Callable[[Any], object]:
    """What puts it back by a cursor. PostgreSQL gets it in one piece: it plans and answers as often as it is asked."""
    if not engines.IS_POSTGRESQL:
        return lambda cursor: [cursor.executemany(change.begin + change.each, change.rows) for change in changes]
    text = "; ".join(
        change.begin + change.between.join(connection.ops.compose_sql(change.each, row) for row in change.rows)
        for change in changes
    )
    return lambda cursor: text and cursor.execute(text)
