"""The program does not run where a record could be changed."""

from __future__ import annotations

from django.core.exceptions import ImproperlyConfigured
from django.db import connection
from django.db.backends.base.base import BaseDatabaseWrapper

from . import triggers


def weaknesses(connection: BaseDatabaseWrapper) -> list[str]:
    """Sentences that say by what way a record could be changed; empty when there is none."""
    found = []
    missing = triggers.missing(connection)
    if missing:
        found.append(f"{len(missing)} triggers are missing or changed, {missing[0]} first. Run manage.py migrate.")
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            for pragma in ("recursive_triggers", "foreign_keys"):
                cursor.execute(f"pragma {pragma}")
                if cursor.fetchone() != (1,):
                    found.append(f"The database runs without {pragma}. Start it by the program's settings.")
        else:
            tables = [model._meta.db_table for model in triggers.record_models()]
            cursor.execute(
                "select exists (select from pg_class where relname = any(%s) and pg_table_is_visible(oid) "
                "and (pg_has_role(relowner, 'usage') "
                "or has_table_privilege(oid, 'UPDATE, DELETE, TRUNCATE, TRIGGER')))",
                [tables],
            )
            if cursor.fetchone() == (True,):
                found.append("The program would run with the owner's rights. Give DATABASE_URL the program's own role.")
    return found


def refuse_to_start_unguarded() -> None:
    """Raise when a record could be changed. A database without tables is refused as well."""
    with connection.cursor() as cursor:
        tables = connection.introspection.table_names(cursor)
    if "ledger_entry" not in tables:
        raise ImproperlyConfigured("The database has no tables yet. Run manage.py migrate first.")
    found = weaknesses(connection)
    if found:
        raise ImproperlyConfigured(" ".join(found))
