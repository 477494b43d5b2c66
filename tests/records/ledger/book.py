"""Short acts for tests of the book itself, and the owner's hand behind the program's back."""

import json
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID, uuid4

from django.db import connection, connections
from django.db.backends.utils import CursorWrapper

from plant.people.models import Person
from records.items.models import Place
from records.ledger import merkle
from records.ledger.acts import Free, Said, act
from records.ledger.models import Entry, EntryBody
from records.ledger.verifying import Fault, verify
from records.ledger.words import keep_words
from tests import engines

MANY = 613
NINE = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
MORNING = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)
REFERENCE = Path(__file__).parents[2] / "reference" / "integrity"


def reference(name: str) -> dict:
    return json.loads((REFERENCE / name).read_text("utf-8"))


def said(key: UUID | None = None, *, done: bool = False, by: Person | None = None) -> Said:
    return Said(by or Person.objects.program(), key or uuid4(), MORNING, done=done)


def note_shelf(code: str, *, said: Said, party: str = "") -> Place:
    """The smallest act: it writes one row."""
    with act("works opened", said, code=code, party=Free(party)) as a:
        if a.made:
            return Place.objects.get(entry=a.entry)
        return a.write(Place(kind=Place.Kind.SHELF, code=code, party=keep_words(party)))


def taken(number: int, seconds: float) -> Entry:
    """An entry with a number and the time at which it was taken, as two writers at once make them."""
    moment = NINE + timedelta(seconds=seconds)
    entry = Entry.objects.create(
        pk=number,
        key=uuid4(),
        kind="none",
        by=Person.objects.program(),
        made_at=moment,
        happened_at=moment,
        taken_at=moment,
        asked=b"",
    )
    EntryBody.objects.create(entry=entry, payload=str(number), leaf_hash=merkle.leaf_hash(str(number).encode()))
    return entry


def shelves(count: int) -> list[Place]:
    return [note_shelf(f"SHELF-{n}", said=said()) for n in range(count)]


@contextmanager
def owner() -> Iterator[CursorWrapper]:
    """What only the owner of the database can do, on a connection of its own that holds no foreign keys on SQLite."""
    # By this name, since a test case bars every other one.
    hand = connections["owner" if engines.IS_POSTGRESQL else "default"].copy("default")
    try:
        with hand.cursor() as cursor:
            if not engines.IS_POSTGRESQL:
                cursor.execute("pragma foreign_keys = off")
            yield cursor
    finally:
        hand.close()


@contextmanager
def without_triggers(*tables: str) -> Iterator[CursorWrapper]:
    """The owner's hand on record tables whose triggers are off for as long as it is at work."""
    with owner() as cursor:
        kept = [_drop(cursor, table) for table in tables]
        yield cursor
        for table, statements in zip(tables, kept, strict=True):
            for statement in statements:
                cursor.execute(statement)
            if engines.IS_POSTGRESQL:
                for event in ("update", "delete", "truncate"):
                    cursor.execute(f'alter table "{table}" enable always trigger "{table}_no_{event}"')


def _drop(cursor: CursorWrapper, table: str) -> list[str]:
    if engines.IS_POSTGRESQL:
        cursor.execute(f'alter table "{table}" disable trigger user')
        return []
    cursor.execute("select name, sql from sqlite_master where type = 'trigger' and tbl_name = %s", [table])
    found = cursor.fetchall()
    for name, _ in found:
        cursor.execute(f'drop trigger "{name}"')
    return [statement for _, statement in found]


def change(table: str, statement: str, *values: object) -> None:
    """One statement of the owner on a record table, past its triggers."""
    with without_triggers(table) as cursor:
        cursor.execute(statement, values)


def faults(**options: object) -> list[Fault]:
    return list(verify(**options).faults)


def in_threads(*works: Callable[[], object]) -> list:
    """What each work gives, each in a thread and on a connection of its own, all at once."""

    def alone(work: Callable[[], object]) -> object:
        try:
            return work()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(works)) as pool:
        return [future.result() for future in [pool.submit(alone, work) for work in works]]
