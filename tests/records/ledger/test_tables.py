"""A store that is thrown away has its tables at once; a plant's come by migrations. Both must be the same."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.core.management import call_command
from django.db import connections

from records.ledger.tables import make_tables
from tests import engines

OF_SQLITE = ("select type, name, tbl_name, sql from sqlite_master where name not like 'sqlite_%' and sql is not null",)
OF_POSTGRESQL = (
    "select 'column', table_name, column_name, data_type, character_maximum_length, is_nullable, column_default,"
    " is_identity from information_schema.columns where table_schema = 'public'",
    "select 'rule', conrelid::regclass::text, conname, pg_get_constraintdef(oid) from pg_constraint"
    " where connamespace = 'public'::regnamespace",
    "select 'index', tablename, indexname, indexdef from pg_indexes where schemaname = 'public'",
    "select 'trigger', tgrelid::regclass::text, tgname, pg_get_triggerdef(oid), tgenabled from pg_trigger"
    " where not tgisinternal",
    "select 'right', table_name, grantee, privilege_type from information_schema.role_table_grants"
    " where table_schema = 'public'",
)
PLAIN = (
    "select app, name from django_migrations",
    "select app_label, model from django_content_type",
    "select codename from auth_permission",
)
# Django's migrations give this key the width that is usual in this program, its model the one usual in Django; no group
# is ever made here.
KEY_OF_NO_USE = ("column", "auth_group_permissions", "id")


@pytest.mark.long
@pytest.mark.django_db(transaction=True, databases="__all__")
def test_a_store_made_at_once_is_the_one_that_migrations_make(tmp_path):
    with empty_store(tmp_path, "migrated") as using:
        call_command("migrate", verbosity=0)
        migrated = shape(using)
    with empty_store(tmp_path, "at_once") as using:
        make_tables(using)
        at_once = shape(using)
    assert len(at_once) > 1000
    assert at_once - migrated == set()
    assert migrated - at_once == set()


@contextmanager
def empty_store(folder: Path, name: str) -> Iterator[str]:
    """The program's connections lead to a database that holds nothing; by which of them its owner writes."""
    own = connections["default"].settings_dict["NAME"]
    with engines.another(folder, name, migrated=False) as addresses:
        engines.point_to(urlsplit(addresses["DATABASE_URL"]).path[1:])
        try:
            yield "owner" if engines.IS_POSTGRESQL else "default"
        finally:
            engines.point_to(own)


def shape(using: str) -> set[tuple]:
    """Everything that the engine knows of the tables, but for the order of columns."""
    with connections[using].cursor() as cursor:
        told = set()
        for asked in (*(OF_POSTGRESQL if engines.IS_POSTGRESQL else OF_SQLITE), *PLAIN):
            cursor.execute(asked)
            told |= {tuple(map(in_any_order, row)) for row in cursor.fetchall()}
        return {row for row in told if row[:3] != KEY_OF_NO_USE}


def in_any_order(told: object) -> object:
    """A statement that makes a table with the parts between its outer brackets sorted; anything else as it is."""
    if not (isinstance(told, str) and told.startswith("CREATE TABLE")):
        return told
    depth, parts = 0, [""]
    for sign in re.sub(r"\s+", " ", told[told.index("(") + 1 : told.rindex(")")]):
        depth += {"(": 1, ")": -1}.get(sign, 0)
        parts = [*parts, ""] if sign == "," and depth == 0 else [*parts[:-1], parts[-1] + sign]
    return tuple(sorted(part.strip() for part in parts))
