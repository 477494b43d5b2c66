"""The ground of the tests themselves: what a test must be refused, and what it may do."""

from uuid import uuid4

import pytest
from django.db import DatabaseError, connection, connections, transaction

from plant.people.models import Person
from records.ledger import guard, triggers
from records.ledger.clock import clock
from records.ledger.models import Entry
from tests import engines


def an_entry() -> Entry:
    moment = clock.now()
    by = Person.objects.program()
    return Entry.objects.create(
        key=uuid4(), kind="none", by=by, made_at=moment, happened_at=moment, taken_at=moment, asked=b""
    )


@pytest.mark.django_db
def test_the_database_of_tests_is_guarded_as_the_plants_is():
    guard.refuse_to_start_unguarded()
    assert triggers.missing(connection) == []


@pytest.mark.django_db
def test_every_table_is_there():
    with connection.cursor() as cursor:
        assert {"ledger_entry", "people_person", "axes_accessattempt"} <= set(
            connection.introspection.table_names(cursor)
        )


@pytest.mark.django_db
@pytest.mark.parametrize("statement", ["update ledger_entry set kind = 'other'", "delete from ledger_entry"])
def test_a_record_row_can_be_neither_changed_nor_deleted(statement):
    an_entry()
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)
    assert Entry.objects.get().kind == "none"


@pytest.mark.postgresql
@pytest.mark.django_db
def test_acts_run_without_the_owners_rights():
    with connection.cursor() as cursor:
        cursor.execute("select current_user, has_table_privilege('ledger_entry', 'UPDATE, DELETE, TRUNCATE')")
        assert cursor.fetchone() == (connections["default"].settings_dict["USER"], False)


@pytest.mark.sqlite
@pytest.mark.django_db
def test_a_transaction_on_sqlite_takes_the_write_lock_at_once():
    with connection.cursor() as cursor:
        cursor.execute("pragma journal_mode")
        assert cursor.fetchone() == ("wal",)
    assert connection.settings_dict["OPTIONS"]["transaction_mode"] == "IMMEDIATE"


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("time", ["first", "second"])
def test_a_transactional_test_begins_with_an_empty_book(time):
    assert not Entry.objects.exists()
    an_entry()


@pytest.mark.django_db(transaction=True)
def test_the_triggers_stand_again_when_a_test_has_emptied_the_tables():
    an_entry()
    engines.empty()
    assert not Entry.objects.exists()
    assert not Person.objects.exists()
    assert triggers.missing(connection) == []


def test_the_clock_is_set_until_the_test_is_over(clock_at):
    moment = clock_at("2026-03-02T08:00:00+01:00")
    assert clock.now() == moment
    later = clock_at("2026-03-02T09:00:00+01:00")
    assert clock.now() == later
