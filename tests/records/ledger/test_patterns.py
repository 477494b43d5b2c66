"""Facts, versions and states: what counts of a line, and what the tables do not let in."""

from datetime import date

import pytest
from django.apps import apps
from django.core.exceptions import FieldDoesNotExist
from django.db import IntegrityError, connection

from plant.people.models import Person, Qualification
from records.items.models import Place, Receipt
from records.ledger.acts import act
from records.ledger.marks import Mark
from records.ledger.models import Entry
from records.ledger.patterns import StepsField, Version, whole
from records.ledger.verifying.states import state_models
from tests.records.ledger.book import note_shelf, said
from tests.records.ledger.filling import fill

pytestmark = pytest.mark.django_db
SPRING, SUMMER = date(2026, 3, 2), date(2026, 6, 1)


def qualify(**changes) -> Qualification:
    content = {"person": Person.objects.program(), "what": "bond", "from_on": SPRING} | changes
    with act("qualification given", said()) as a:
        return a.write(Qualification(**content))


def correct(row: Qualification, **changes) -> Qualification:
    with act("qualification given", said()) as a:
        return a.write(row.next_version(**changes))


def test_a_newer_version_repeats_the_whole_content_with_the_change():
    first = qualify()
    second = correct(first, until_on=SUMMER)
    third = correct(second, what="polish")
    assert (second.first_id, second.version, second.what, second.until_on) == (first.pk, 2, "bond", SUMMER)
    assert (third.first_id, third.version, third.what, third.until_on) == (first.pk, 3, "polish", SUMMER)
    assert {row.line for row in (first, second, third)} == {first.pk}


def test_a_version_may_change_what_it_points_to():
    other = Person.objects.create(badge="B-01")
    assert correct(qualify(), person=other).person == other


def test_of_each_line_the_highest_version_counts():
    one, other = qualify(), qualify(what="polish")
    second = correct(one, until_on=SUMMER)
    assert set(Qualification.objects.newest()) == {second, other}


def test_a_withdrawn_line_is_newest_but_does_not_stand_and_an_ended_one_does():
    gone, ended, standing = qualify(), qualify(), qualify()
    gone = correct(gone, status=Version.Status.WITHDRAWN)
    ended = correct(ended, status=Version.Status.ENDED)
    assert set(Qualification.objects.newest()) == {gone, ended, standing}
    assert set(Qualification.objects.standing()) == {ended, standing}


def test_at_a_mark_the_highest_version_known_by_then_counts():
    first = qualify()
    second = correct(first, until_on=SUMMER)
    third = correct(second, status=Version.Status.WITHDRAWN)
    newest = Qualification.objects.newest
    assert list(newest(Mark(first.entry_id - 1))) == []
    assert list(newest(Mark(first.entry_id))) == [first]
    assert list(newest(Mark(third.entry_id, late=(second.entry_id, third.entry_id)))) == [first]
    assert list(newest(Mark(third.entry_id, late=(third.entry_id,)))) == [second]
    assert list(Qualification.objects.standing(Mark(second.entry_id))) == [second]
    assert list(Qualification.objects.standing(Mark(third.entry_id))) == []


def test_of_two_corrections_of_the_same_version_the_second_is_refused_by_the_table():
    first = qualify()
    correct(first, until_on=SUMMER)
    with pytest.raises(IntegrityError):
        correct(first, until_on=date(2026, 7, 1))
    assert Qualification.objects.count() == 2


@pytest.mark.parametrize("version", [0, 2])
def test_the_first_of_a_line_is_version_1(version):
    with pytest.raises(IntegrityError):
        qualify(version=version)


def test_a_later_version_is_not_version_1():
    first = qualify()
    with pytest.raises(IntegrityError):
        qualify(first=first, version=1)


def test_a_change_of_a_column_that_is_not_there_is_a_mistake_of_the_program():
    with pytest.raises(FieldDoesNotExist, match="colour"):
        qualify().next_version(colour="red")


def test_a_fact_is_known_at_a_mark_or_not():
    one, other = note_shelf("SHELF-1", said=said()), note_shelf("SHELF-2", said=said())
    assert list(Place.objects.known(Mark(one.entry_id))) == [one]
    assert list(Place.objects.known(None).order_by("pk")) == [one, other]


def test_every_column_of_steps_holds_whole_numbers_only():
    for model in apps.get_models():
        columns = [field.name for field in model._meta.concrete_fields if isinstance(field, StepsField)]
        held = {check.condition for check in model._meta.constraints if check.name.endswith("_whole")}
        assert held == {check.condition for check in whole(*columns, table="any")}, model.__name__


@pytest.mark.sqlite
def test_sqlite_does_not_keep_a_fraction_in_a_column_of_steps():
    """It would take 34.95 into a whole-number column as it is."""
    fill()
    row = Receipt.objects.order_by("pk")[0]
    columns = "entry_id, version, status, item_id, supplier, supplier_lot, amount, written, at, delivery_note"
    values = [row.entry_id, 1, 0, row.item_id, "x", "x", 34.95, "34.95", row.at, ""]
    with pytest.raises(IntegrityError, match="receipt_amount_whole"), connection.cursor() as cursor:
        cursor.execute(f"insert into items_receipt ({columns}) values ({', '.join(['%s'] * len(values))})", values)


def test_every_state_is_written_under_an_entry_and_can_be_rebuilt():
    for model in state_models():
        assert model._meta.get_field("entry").related_model is Entry
        assert list(model.from_records()) == []
