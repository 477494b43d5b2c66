"""The database under test: made once, as ``migrate`` would, copied for each test process, on either engine.

On PostgreSQL the owner makes, migrates and empties it; everything else runs as the program's role, which can only read
and add on record tables. The suite runs on SQLite unless DATABASE_URL and OWNER_DATABASE_URL name a PostgreSQL.
"""

import contextlib
import fcntl
import os
import shutil
import sqlite3
import sys
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from urllib.parse import quote, urlsplit

import psycopg
from django.apps import apps
from django.conf import settings
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.loader import MigrationLoader
from psycopg import sql

from records.ledger import patterns, tables, triggers
from records.ledger.tables import make_tables

IS_POSTGRESQL = "postgresql" in settings.DATABASES["default"]["ENGINE"]
# Any fixed number: it names the lock under which one process makes the database that the others copy.
MAKER_LOCK = 0x7E57
# What migrations put in: a flush leaves it, since nothing makes it again.
KEPT = {"django_migrations", "django_content_type", "auth_permission"}


def fingerprint() -> str:
    """Short digest of everything that a migrated database depends on."""
    names = {type(m).__module__ for m in MigrationLoader(None, ignore_no_migrations=True).disk_migrations.values()}
    names |= {model.__module__ for model in apps.get_models()} | {triggers.__name__, patterns.__name__, tables.__name__}
    seen = sha256()
    for name in sorted(names):
        seen.update(Path(sys.modules[name].__file__).read_bytes())
    return seen.hexdigest()[:12]


@contextlib.contextmanager
def database(folder: Path, process: str) -> Iterator[None]:
    """The program's connections lead to a migrated database of this process alone inside the block."""
    made = _on_postgresql(process) if IS_POSTGRESQL else _on_sqlite(folder)
    with made:
        yield
        for connection in connections.all(initialized_only=True):
            connection.close()


def point_to(name: str) -> None:
    """Let every connection, in every thread, lead to the database of this name."""
    for connection in connections.all():
        connection.close()
        connection.settings_dict["NAME"] = name


@contextlib.contextmanager
def _on_sqlite(folder: Path) -> Iterator[None]:
    """A file, not a database in memory: shared memory locks whole tables and knows no write-ahead log."""
    store = settings.VAR_DIR / "test"
    store.mkdir(parents=True, exist_ok=True)
    original = store / f"{fingerprint()}.sqlite3"
    with (store / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not original.exists():
            for old in store.glob("*.sqlite3*"):
                old.unlink()
            draft = store / "draft.sqlite3"
            point_to(str(draft))
            make_tables("default")
            connections["default"].close()
            draft.rename(original)
        copy = folder / "test.sqlite3"
        with contextlib.closing(sqlite3.connect(original)) as there, contextlib.closing(sqlite3.connect(copy)) as here:
            there.backup(here)
    point_to(str(copy))
    yield


@contextlib.contextmanager
def _on_postgresql(process: str) -> Iterator[None]:
    address = dict(settings.DATABASES["owner"])
    base = address["NAME"]
    original, draft = f"{base}_migrated_{fingerprint()}", f"{base}_migrated_draft"
    name = f"test_{base}_{process}_{os.getpid()}"
    with _maintenance(address) as server:
        server.execute("select pg_advisory_lock(%s)", [MAKER_LOCK])
        there = {row[0] for row in server.execute("select datname from pg_database")}
        if original not in there:
            for old in there:
                if old.startswith(f"{base}_migrated_"):
                    _run(server, "drop database {}", old)
            _run(server, "create database {}", draft)
            point_to(draft)
            make_tables("owner")
            point_to(draft)
            _run(server, "alter database {} rename to {}", draft, original)
        _run(server, "create database {} template {}", name, original)
    point_to(name)
    try:
        yield
    finally:
        point_to(base)  # where the next one begins, as the benches make several in turn
        with _maintenance(address) as server:
            _drop(server, name)


@contextlib.contextmanager
def another(folder: Path, name: str, *, migrated: bool) -> Iterator[dict[str, str]]:
    """The settings that lead a program of its own to one more database, gone after the block; ``database`` must stand.

    Without ``migrated`` it holds nothing at all.
    """
    if not IS_POSTGRESQL:
        file = folder / f"{name}.sqlite3"
        if migrated:
            shutil.copyfile(settings.VAR_DIR / "test" / f"{fingerprint()}.sqlite3", file)
        yield {"DATABASE_URL": f"sqlite:///{file}"}
        return
    address = dict(settings.DATABASES["owner"])
    base, own = urlsplit(settings.OWNER_DATABASE_URL).path[1:], f"test_{name}_{os.getpid()}"
    template = f"{base}_migrated_{fingerprint()}" if migrated else "template0"
    with _maintenance(address) as server:
        _run(server, "create database {} template {}", own, template)
    try:
        addresses = {"DATABASE_URL": settings.DATABASE_URL, "OWNER_DATABASE_URL": settings.OWNER_DATABASE_URL}
        yield {setting: urlsplit(url)._replace(path=f"/{own}").geturl() for setting, url in addresses.items()}
    finally:
        with _maintenance(address) as server:
            _drop(server, own)


def _maintenance(address: dict) -> psycopg.Connection:
    """The owner's connection to the database that OWNER_DATABASE_URL names; nothing is written into that one."""
    return _connected(address, address["NAME"])


def _connected(address: dict, database: str) -> psycopg.Connection:
    user, password = quote(address["USER"]), quote(address["PASSWORD"])
    place = f"{address['HOST']}:{address['PORT'] or 5432}"
    return psycopg.connect(f"postgresql://{user}:{password}@{place}/{database}", autocommit=True)


def _drop(server: psycopg.Connection, name: str) -> None:
    """Drop a database, whoever is still connected to it."""
    with _connected(settings.DATABASES["default"], server.info.dbname) as program:
        # The owner may end no session of the program's role; a thread that a test started may have left one open.
        program.execute(
            "select pg_terminate_backend(pid, 10000) from pg_stat_activity"
            " where datname = %s and usename = current_user and pid <> pg_backend_pid()",
            [name],
        )
    _run(server, "drop database {} with (force)", name)


def _run(server: psycopg.Connection, statement: str, *names: str) -> None:
    server.execute(sql.SQL(statement).format(*map(sql.Identifier, names)))


def empty() -> None:
    """Take every row out, as only a test may: the triggers are dropped, and stand again when it is done.

    In place of Django's flush, which the triggers and the missing rights refuse.
    """
    # A connection of its own and by this name, since a test case bars every other one.
    connection = connections["owner" if IS_POSTGRESQL else "default"].copy("default")
    try:
        _empty(connection)
    finally:
        connection.close()


def filled_tables(connection: BaseDatabaseWrapper) -> list[str]:
    """Tables in which something stands, those apart that migrations fill."""
    with connection.cursor() as cursor:
        cursor.execute(which_are_filled(connection))
        return [row[0] for row in cursor.fetchall()]


def which_are_filled(connection: BaseDatabaseWrapper) -> str:
    """The statement that asks it."""
    tables = sorted(set(connection.introspection.table_names()) - KEPT)
    return " union all ".join(f"select '{t}' where exists (select 1 from \"{t}\")" for t in tables)


def _empty(connection: BaseDatabaseWrapper) -> None:
    filled = filled_tables(connection)
    if not filled:
        return
    connection.set_autocommit(False)
    triggers.remove(connection, among=filled)
    with connection.cursor() as cursor:
        if IS_POSTGRESQL:
            cursor.execute("set constraints all deferred")
        else:
            cursor.execute("pragma defer_foreign_keys = on")
        for table in filled:
            cursor.execute(f'delete from "{table}"')
    triggers.install(connection, among=filled)
    connection.commit()
