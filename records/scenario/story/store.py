"""A throw-away store for a story: a temporary SQLite file, or a database of its own on PostgreSQL."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

from django.conf import settings
from django.db import connections

from records.ledger.commands import CannotAnswer
from records.ledger.tables import make_tables


@contextmanager
def throw_away_store(engine: str) -> Iterator[None]:
    """The program's connection leads to an empty store inside the block; it is gone afterwards."""
    with tempfile.TemporaryDirectory(prefix="story-") as folder:
        key_file, settings.SIGNING_KEY_FILE = settings.SIGNING_KEY_FILE, Path(folder) / "key.pem"
        try:
            with _sqlite(Path(folder)) if engine == "sqlite" else _postgresql():
                yield
        finally:
            settings.SIGNING_KEY_FILE = key_file


def _point(alias: str, changes: dict) -> dict:
    """Lead a connection elsewhere; what it was is handed back."""
    connections[alias].close()
    before = dict(connections.databases[alias])
    connections.databases[alias].update(changes)
    del connections[alias]
    return before


@contextmanager
def _sqlite(folder: Path) -> Iterator[None]:
    from plant.settings import database

    owner = connections.databases.pop("owner", None)
    before = _point("default", database(f"sqlite:///{folder / 'story.sqlite3'}"))
    try:
        make_tables("default")
        yield
    finally:
        _point("default", before)
        if owner is not None:
            connections.databases["owner"] = owner


@contextmanager
def _postgresql() -> Iterator[None]:
    if "owner" not in connections.databases or connections["default"].vendor != "postgresql":
        raise CannotAnswer("A story on PostgreSQL needs DATABASE_URL and OWNER_DATABASE_URL; set both.")
    name = f"story_{uuid4().hex[:12]}"
    _as_owner(f'create database "{name}"')
    before = {alias: _point(alias, {"NAME": name}) for alias in ("owner", "default")}
    try:
        make_tables("owner")
        connections["owner"].close()
        yield
    finally:
        for alias, was in before.items():
            _point(alias, was)
        _as_owner(f'drop database "{name}" with (force)')


def _as_owner(statement: str) -> None:
    with connections["owner"].cursor() as cursor:
        cursor.execute(statement)
    connections["owner"].close()
