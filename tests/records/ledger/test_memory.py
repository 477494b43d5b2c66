"""What acts have looked up: read once, never older than the act that changed the set-up, gone with a failure."""

import pytest

from plant.equipment.models import Station
from plant.equipment.queries import station_by_code
from records.items.making import place_named
from records.items.models import Place
from records.ledger.acts import act
from records.ledger.memory import only_writer, remembered, remembering
from records.ledger.refusals import Refused
from tests import builders
from tests.builders import said


def counting():
    """A look-up, and how often it was asked."""
    asked = []
    return lambda: asked.append(1) or len(asked)


def test_outside_an_act_nothing_is_remembered():
    look_up = counting()
    assert [remembered("a", look_up), remembered("a", look_up)] == [1, 2]


def test_an_act_looks_up_once_and_the_next_one_again():
    look_up = counting()
    for due in (1, 2):
        with remembering():
            assert [remembered("a", look_up), remembered("a", look_up)] == [due, due]


def test_the_one_writer_looks_up_once_until_the_end_of_the_block():
    look_up = counting()
    with only_writer():
        for _ in range(2):
            with remembering():
                assert remembered("a", look_up) == 1
        assert remembered("a", look_up) == 1
    assert remembered("a", look_up) == 2


def test_what_a_failed_act_looked_up_is_forgotten():
    look_up = counting()

    def fail():
        with remembering():
            remembered("a", look_up)
            raise ZeroDivisionError

    with only_writer():
        with pytest.raises(ZeroDivisionError):
            fail()
        assert remembered("a", look_up) == 2


@pytest.mark.django_db
def test_an_act_that_writes_set_up_makes_the_one_writer_look_again():
    builders.a_works()
    look_up = counting()
    with only_writer():
        with act("equipment added", said(1, by="engineer")) as a:
            remembered("a", look_up)
            a.write(Station(code="NEW-1"))
        assert remembered("a", look_up) == 2
        assert station_by_code("new-1").code == "NEW-1"


@pytest.mark.django_db
def test_a_place_of_a_refused_act_is_not_taken_for_one_on_file():
    builders.a_works()

    def be_refused():
        with act("item moved", said(1)) as a:
            assert place_named(a, "STORE") == place_named(a, "STORE")
            raise Refused("held", "No.")

    with only_writer():
        with pytest.raises(Refused, match="No"):
            be_refused()
        with act("item moved", said(2)) as a:
            place = place_named(a, "STORE")
        assert Place.objects.filter(pk=place.pk).exists()
