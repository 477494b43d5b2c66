"""No way to change or delete a record row that does not meet a trigger."""

from collections.abc import Iterator

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import DatabaseError, connection, models, transaction

from records.items.models import Place
from records.ledger import guard, triggers
from records.ledger.patterns import Fact
from records.ledger.triggers import record_models
from tests import engines
from tests.records.ledger.book import faults, note_shelf, owner, said
from tests.records.ledger.filling import fill

WORDS = "record rows are never changed or deleted"
TABLES = sorted(model._meta.db_table for model in record_models())


@pytest.fixture
def shelf() -> Place:
    return note_shelf("SHELF-1", said=said())


@pytest.fixture
def reinstalled() -> Iterator[None]:
    """Whatever the test drops stands again afterwards."""
    yield
    with owner() as cursor:
        triggers.install(cursor.db)
    assert triggers.missing(connection) == []


def refused(statement: str, *values: object) -> None:
    with pytest.raises(DatabaseError, match=WORDS), owner() as cursor:
        cursor.execute(statement, values)


def test_every_record_of_every_room_is_append_only():
    """A room that keeps records elsewhere than in a Fact, a Version or a State must say why here."""
    own = {"Entry", "EntryBody", "Leaf", "Node", "SigningKey", "TreeHead"}
    assert {model.__name__ for model in record_models() if not issubclass(model, Fact)} == own
    assert {model for model in apps.get_models() if issubclass(model, Fact)} <= set(record_models())


@pytest.mark.django_db(transaction=True)
def test_a_row_of_any_record_table_is_neither_changed_nor_deleted_by_the_owner():
    fill()
    for model in (m for m in record_models() if m._base_manager.exists()):
        table, column = model._meta.db_table, model._meta.pk.column
        refused(f'update "{table}" set "{column}" = "{column}"')
        refused(f'delete from "{table}"')


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("change", [lambda rows: rows.update(code="X"), lambda rows: rows.delete()])
def test_neither_do_querysets(shelf, change):
    with pytest.raises(DatabaseError), transaction.atomic():
        change(Place.objects.filter(pk=shelf.pk))
    assert Place.objects.get().code == "SHELF-1"


@pytest.mark.django_db(transaction=True)
def test_an_update_that_meets_no_row_meets_no_trigger(shelf):
    """Django's save of a model with a given key tries one first; a trigger for each statement would refuse it."""
    with owner() as cursor:
        cursor.execute("update items_place set code = 'X' where id = -1")
        assert cursor.rowcount == 0


@pytest.mark.sqlite
@pytest.mark.django_db(transaction=True)
def test_replace_does_not_walk_past_the_trigger(shelf):
    refused(
        "replace into items_place (id, kind, code, entry_id) values (%s, 'shelf', 'X', %s)", shelf.pk, shelf.entry_id
    )
    assert Place.objects.get().code == "SHELF-1"


@pytest.mark.sqlite
@pytest.mark.django_db(transaction=True)
def test_a_table_rebuild_drops_triggers_and_the_next_migrate_puts_them_back(shelf):
    """What a migration does to a table on SQLite when it adds a column that is not null."""
    column = models.CharField(max_length=3, default="x")
    column.set_attributes_from_name("added")
    with connection.schema_editor() as editor:
        editor.add_field(Place, column)
    assert set(triggers.missing(connection)) == {"items_place_no_update", "items_place_no_delete"}
    with connection.schema_editor() as editor:
        editor.remove_field(Place, column)
    assert triggers.missing(connection) != []
    call_command("migrate", verbosity=0)
    assert triggers.missing(connection) == []
    assert Place.objects.get().code == "SHELF-1"


@pytest.mark.postgresql
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("statement", ["truncate items_place cascade", "truncate ledger_entry cascade"])
def test_truncate_meets_a_trigger_by_cascade_too(shelf, statement):
    refused(statement)


@pytest.mark.postgresql
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("statement", ["update items_place set code = 'X'", "delete from items_place"])
def test_a_replication_role_does_not_pass_the_trigger(shelf, statement):
    """Only a superuser may take that role; the definition ENABLE ALWAYS is what holds there."""
    with connection.cursor() as cursor:
        cursor.execute("select distinct tgenabled from pg_trigger where not tgisinternal")
        assert cursor.fetchall() == [("A",)]
    with owner() as cursor:
        cursor.execute("select has_parameter_privilege('session_replication_role', 'set')")
        if cursor.fetchone() == (True,):
            cursor.execute("set session_replication_role = replica")
        with pytest.raises(DatabaseError, match=WORDS):
            cursor.execute(statement)


WEAKENED = {
    "sqlite": [
        'drop trigger "items_place_no_update"',
        'drop trigger "items_place_no_delete"',
    ],
    "postgresql": [
        'drop trigger "items_place_no_update" on items_place',
        "alter table items_place disable trigger items_place_no_truncate",
        "alter table items_place enable trigger items_place_no_delete",
        "create or replace trigger items_place_no_update before update on items_place "
        "for each row when (false) execute function framethread_refuse_change()",
        "create or replace trigger items_place_no_update before update of code on items_place "
        "for each row execute function framethread_refuse_change()",
        "create or replace trigger items_place_no_delete after delete on items_place "
        "for each row execute function framethread_refuse_change()",
        "create or replace function framethread_refuse_change() returns trigger language plpgsql "
        "as 'begin return new; end;'",
    ],
}


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("statement", WEAKENED["postgresql" if engines.IS_POSTGRESQL else "sqlite"])
def test_a_trigger_that_is_missing_or_weakened_is_named_and_the_program_does_not_start(reinstalled, statement):
    guard.refuse_to_start_unguarded()
    with owner() as cursor:
        cursor.execute(statement)
    assert len(triggers.missing(connection)) == 1
    assert [f.kind for f in faults()] == ["trigger-missing"]
    with pytest.raises(guard.ImproperlyConfigured, match="1 triggers are missing or changed"):
        guard.refuse_to_start_unguarded()


@pytest.mark.sqlite
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("pragma", ["recursive_triggers", "foreign_keys"])
def test_the_program_does_not_start_without_the_pragmas_that_hold_records(pragma):
    with connection.cursor() as cursor:
        cursor.execute(f"pragma {pragma} = off")
        try:
            with pytest.raises(guard.ImproperlyConfigured, match=f"runs without {pragma}"):
                guard.refuse_to_start_unguarded()
        finally:
            cursor.execute(f"pragma {pragma} = on")


@pytest.mark.postgresql
@pytest.mark.django_db(transaction=True)
def test_the_program_does_not_start_with_the_owners_role():
    with owner() as cursor:
        assert guard.weaknesses(cursor.db) != []


@pytest.mark.postgresql
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("right", ["update", "delete", "truncate", "trigger"])
def test_the_program_does_not_start_with_one_right_too_many_on_one_record_table(right):
    role = connection.settings_dict["USER"]
    with owner() as cursor:
        cursor.execute(f'grant {right} on items_link to "{role}"')
        try:
            with pytest.raises(guard.ImproperlyConfigured, match="owner's rights"):
                guard.refuse_to_start_unguarded()
        finally:
            cursor.execute(f'revoke {right} on items_link from "{role}"')
    guard.refuse_to_start_unguarded()


@pytest.mark.sqlite
@pytest.mark.django_db
def test_the_program_does_not_start_on_a_database_without_tables(tmp_path, monkeypatch):
    other = connection.copy("default")
    other.settings_dict = other.settings_dict | {"NAME": str(tmp_path / "empty.sqlite3")}
    monkeypatch.setattr(guard, "connection", other)
    with pytest.raises(guard.ImproperlyConfigured, match="no tables yet"):
        guard.refuse_to_start_unguarded()
    other.close()


@pytest.mark.postgresql
@pytest.mark.django_db
@pytest.mark.parametrize("table", TABLES)
def test_the_programs_role_reads_and_adds_and_no_more(table):
    with connection.cursor() as cursor:
        cursor.execute(
            "select has_table_privilege(%s, 'select'), has_table_privilege(%s, 'insert'),"
            " has_table_privilege(%s, 'update, delete, truncate, trigger, references')",
            [table] * 3,
        )
        assert cursor.fetchone() == (True, True, False)
