"""A copy of the whole database at one moment, while others write; and such a copy put into an empty database."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from installing import CannotStart

DUMP = {"postgresql": "database.dump", "sqlite": "database.sqlite3"}


@contextlib.contextmanager
def copied(file: Path) -> Iterator[None]:
    """Copy the database into a file; inside the block the program's connection reads exactly what the copy holds."""
    from django.db import connection

    with _dumped(file) if connection.vendor == "postgresql" else _duplicated(file):
        yield


@contextlib.contextmanager
def _dumped(file: Path) -> Iterator[None]:
    """PostgreSQL: the dump reads the snapshot of a transaction that stays open for the block."""
    from django.db import connection, transaction

    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("set transaction isolation level repeatable read, read only")
        # The connection waits for the dump, which takes its time.
        cursor.execute("set local statement_timeout = 0")
        cursor.execute("set local idle_in_transaction_session_timeout = 0")
        cursor.execute("select pg_export_snapshot()")
        snapshot = cursor.fetchone()[0]
        dump = ["--format=custom", "--no-owner", "--no-acl", f"--snapshot={snapshot}", f"--file={file}"]
        _postgresql("pg_dump", *dump, database=connection.settings_dict)
        yield


@contextlib.contextmanager
def _duplicated(file: Path) -> Iterator[None]:
    """SQLite: its online copy reads one moment, and nobody waits for it."""
    from django.db import connection

    original = connection.settings_dict["NAME"]
    source = f"file:{original}?mode=ro"
    with (
        contextlib.closing(sqlite3.connect(source, uri=True)) as there,
        contextlib.closing(sqlite3.connect(file)) as here,
    ):
        there.backup(here)
    with read_from(str(file)):
        yield


@contextlib.contextmanager
def read_from(name: str) -> Iterator[None]:
    """The program's connection leads to another database of its engine inside the block."""
    from django.db import connection

    original = connection.settings_dict["NAME"]
    connection.close()
    connection.settings_dict["NAME"] = name
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = original


def put_in(file: Path) -> None:
    """Put a copy into the empty database of the settings: all of it, or nothing."""
    from django.db import connection, connections

    if connection.vendor == "sqlite":
        target = Path(connection.settings_dict["NAME"])
        target.parent.mkdir(parents=True, exist_ok=True)
        draft = target.with_name(f".{target.name}.draft")
        shutil.copyfile(file, draft)
        draft.rename(target)
        return
    owner = connections["owner"].settings_dict
    whole = ["--single-transaction", "--exit-on-error", "--clean", "--if-exists", "--no-owner", "--no-acl"]
    _postgresql("pg_restore", *whole, f"--dbname={owner['NAME']}", str(file), database=owner)
    with connections["owner"].cursor() as cursor:
        cursor.execute("analyze")  # a dump lacks what queries are planned by


def _postgresql(program: str, *args: str, database: dict[str, Any]) -> None:
    """Run a program of PostgreSQL; the password goes through the environment, where a list of processes lacks it."""
    if shutil.which(program) is None:
        raise CannotStart(f"{program} is not installed. Install it with: apt-get install postgresql-client")
    address = {
        "PGHOST": database["HOST"],
        "PGPORT": str(database["PORT"] or ""),
        "PGUSER": database["USER"],
        "PGPASSWORD": database["PASSWORD"],
        "PGDATABASE": database["NAME"],
    }
    environment = os.environ | {name: value for name, value in address.items() if value}
    done = subprocess.run([program, *args], env=environment, stderr=subprocess.PIPE, text=True, check=False)
    if done.returncode != 0:
        words = " ".join(done.stderr.split()) or f"it ended with {done.returncode}."
        raise CannotStart(f"{program} failed: {words}")


def counts() -> dict[str, int]:
    """Rows of every table."""
    from django.db import connection

    with connection.cursor() as cursor:
        found = {}
        for table in sorted(connection.introspection.table_names(cursor)):
            cursor.execute(f"select count(*) from {connection.ops.quote_name(table)}")
            found[table] = cursor.fetchone()[0]
    return found


def tree() -> dict[str, Any]:
    """The newest signed head of the book, and the last entry."""
    from django.db.models import Max

    from records.ledger.canonical import time_text
    from records.ledger.models import Entry, TreeHead

    head = TreeHead.objects.order_by("-size").first()
    last = Entry.objects.aggregate(last=Max("pk"))["last"] or 0
    if head is None:
        return {"size": 0, "root": None, "signed_at": None, "key": None, "last_entry": last}
    root, at = bytes(head.root).hex(), time_text(head.signed_at)
    return {"size": head.size, "root": root, "signed_at": at, "key": head.key_id, "last_entry": last}
