"""Triggers that refuse UPDATE, DELETE and TRUNCATE on record tables, and the rights of the program's role.

They are installed anew after every migration, since a table rebuild on SQLite drops them without a word. On
PostgreSQL they are ENABLE ALWAYS, so that a replication role does not pass them, and for each row, since Django's
save first tries an update of no rows.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from django.apps import AppConfig, apps
from django.conf import settings
from django.db import connections, models
from django.db.backends.base.base import BaseDatabaseWrapper

WORDS = "record rows are never changed or deleted"
FUNCTION = "framethread_refuse_change"


def record_models(app_label: str | None = None) -> list[type[models.Model]]:
    """Models whose tables are append-only."""
    return [
        model
        for model in apps.get_models()
        if getattr(model, "append_only", False) and app_label in (None, model._meta.app_label)
    ]


def wanted(connection: BaseDatabaseWrapper, model: type[models.Model]) -> Iterator[tuple[str, str]]:
    """Name and defining statement of each trigger that a record table must have."""
    table = model._meta.db_table
    if connection.vendor == "sqlite":
        for event in ("update", "delete"):
            name = f"{table}_no_{event}"
            yield (
                name,
                f'CREATE TRIGGER "{name}" BEFORE {event.upper()} ON "{table}" '
                f"BEGIN SELECT RAISE(ABORT, '{table}: {WORDS}'); END",
            )
        return
    for event, each in (("update", "ROW"), ("delete", "ROW"), ("truncate", "STATEMENT")):
        name = f"{table}_no_{event}"
        yield (
            name,
            f'CREATE TRIGGER "{name}" BEFORE {event.upper()} ON "{table}" '
            f"FOR EACH {each} EXECUTE FUNCTION {FUNCTION}()",
        )


def present(connection: BaseDatabaseWrapper) -> dict[str, str]:
    """Triggers that stand in the database: name and definition (SQLite), or name and enabled state (PostgreSQL)."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("select name, sql from sqlite_master where type = 'trigger'")
        else:
            cursor.execute(
                "select t.tgname, t.tgenabled::text || '|' || p.proname || '|' || t.tgtype::text || '|' || c.relname "
                # A condition or a list of columns would let some changes pass.
                "|| case when t.tgqual is null and t.tgattr = '' then '' else '|in part' end "
                "from pg_trigger t join pg_proc p on p.oid = t.tgfoid join pg_class c on c.oid = t.tgrelid "
                "join pg_namespace n on n.oid = c.relnamespace "
                "where not t.tgisinternal and n.nspname = any(current_schemas(false))"
            )
        return dict(cursor.fetchall())


# tgtype bits of PostgreSQL: row 1, before 2, delete 8, update 16, truncate 32 (catalogue pg_trigger).
_TYPE = {"update": 1 | 2 | 16, "delete": 1 | 2 | 8, "truncate": 2 | 32}


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Names of triggers that are not there, or not as they should be."""
    there = present(connection)
    absent = []
    for model in record_models():
        for name, statement in wanted(connection, model):
            if connection.vendor == "sqlite":
                right = statement
            else:
                right = f"A|{FUNCTION}|{_TYPE[name.rsplit('_', 1)[1]]}|{model._meta.db_table}"
            if there.get(name) != right:
                absent.append(name)
    if connection.vendor == "postgresql" and not _function_is_right(connection):
        absent.append(FUNCTION)
    return absent


_BODY = f"BEGIN RAISE EXCEPTION '%: {WORDS}', TG_TABLE_NAME USING ERRCODE = 'restrict_violation'; END;"


def _function_is_right(connection: BaseDatabaseWrapper) -> bool:
    with connection.cursor() as cursor:
        cursor.execute("select prosrc from pg_proc where proname = %s", [FUNCTION])
        return cursor.fetchall() == [(_BODY,)]


def due(connection: BaseDatabaseWrapper) -> int:
    """How many triggers must stand."""
    return sum(len(list(wanted(connection, model))) for model in record_models())


def install(
    connection: BaseDatabaseWrapper, app_label: str | None = None, among: Collection[str] | None = None
) -> None:
    """Put every trigger in place, afresh, or those of some tables."""
    with connection.cursor() as cursor:
        tables = set(connection.introspection.table_names(cursor) if among is None else among)
        if connection.vendor == "postgresql":
            # ALTER TABLE and CREATE TRIGGER are refused while deferred foreign keys are pending.
            cursor.execute("set constraints all immediate")
            cursor.execute(f"create or replace function {FUNCTION}() returns trigger language plpgsql as $${_BODY}$$")
        for model in record_models(app_label):
            table = model._meta.db_table
            if table not in tables:
                continue
            for name, statement in wanted(connection, model):
                if connection.vendor == "sqlite":
                    cursor.execute(f'DROP TRIGGER IF EXISTS "{name}"')
                    cursor.execute(statement)
                else:
                    cursor.execute(f'DROP TRIGGER IF EXISTS "{name}" ON "{table}"')
                    cursor.execute(statement)
                    cursor.execute(f'ALTER TABLE "{table}" ENABLE ALWAYS TRIGGER "{name}"')


def remove(connection: BaseDatabaseWrapper, among: Collection[str] | None = None) -> None:
    """Drop every trigger, or those of some tables: for a test that empties them, and nothing else."""
    with connection.cursor() as cursor:
        for model in record_models():
            if among is not None and model._meta.db_table not in among:
                continue
            for name, _ in wanted(connection, model):
                on = f' ON "{model._meta.db_table}"' if connection.vendor == "postgresql" else ""
                cursor.execute(f'DROP TRIGGER IF EXISTS "{name}"{on}')


def grant(connection: BaseDatabaseWrapper, role: str) -> None:
    """Give the program's role what it needs: everything on state tables, reading and adding on record tables."""
    records = {model._meta.db_table for model in record_models()}
    with connection.cursor() as cursor:
        cursor.execute(f'grant usage on schema public to "{role}"')
        cursor.execute(f'grant usage, select on all sequences in schema public to "{role}"')
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f'revoke all on "{table}" from "{role}"')
            rights = "select, insert" if table in records else "select, insert, update, delete"
            if table == "django_migrations":
                rights = "select"
            cursor.execute(f'grant {rights} on "{table}" to "{role}"')


def install_for_app(sender: AppConfig, using: str, **_: Any) -> None:
    """After a migration: triggers of the room, and rights once every room has its tables."""
    connection = connections[using]
    install(connection, sender.label)
    # The signal comes once for each app that has models, in their order.
    is_last = sender is [config for config in apps.get_app_configs() if config.models_module][-1]
    if is_last and connection.vendor == "postgresql":
        role = settings.DATABASES["default"].get("USER")
        if role and role != connection.settings_dict.get("USER"):
            grant(connection, role)
