"""Who decides when the first person is away: named by the manager, shown where somebody waits for a decision."""

from datetime import date

import pytest
from django.urls import reverse

from plant.people.actions import name_deputy
from plant.people.deputies import DECISIONS, deciders_on
from plant.people.models import Deputy
from plant.people.rights import RIGHTS
from records.items.actions import place_hold
from records.ledger.refusals import Refused
from records.quality.bench import matters
from tests import builders
from tests.builders import a_person, moment, said
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 2)


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(moment(5))


def named(decision="hold lifted", holder="review", deputy="second", from_on=TODAY, until_on=None, hours=1) -> Deputy:
    people = {"holder": a_person(holder), "deputy": a_person(deputy)}
    return name_deputy(decision, **people, from_on=from_on, until_on=until_on, said=said(hours))


def test_every_decision_that_can_be_named_is_an_act():
    assert set(DECISIONS) <= set(RIGHTS)


def test_a_newer_word_takes_the_place_of_the_one_before_and_a_last_day_ends_it():
    named()
    later = named(deputy=builders.ALL_ROLES, until_on=TODAY, hours=2)
    assert later.version == 2
    assert deciders_on(TODAY) == {"hold lifted": "review of the works; when away Everybody"}
    assert deciders_on(date(2026, 3, 3)) == {}
    assert deciders_on(date(2026, 3, 1)) == {}


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ({"decision": "lunch"}, "unknown"),
        ({"deputy": "review"}, "itself"),
        ({"until_on": date(2026, 3, 1)}, "days-upside-down"),
        ({"deputy": "operator"}, "not-allowed"),
    ],
)
def test_refusals(told, code):
    with pytest.raises(Refused) as refused:
        named(**told)
    assert refused.value.code == code


def test_the_bench_and_the_held_screen_say_who_decides_and_the_deputy():
    builders.a_front("F1")
    place_hold("F1", reason="doubt", said=said(2))
    held = reverse("floor:unit_here", args=["MOULD-1", "F1"])
    words = "review of the works; when away Second"
    assert words not in tablet().get(held).text
    named()
    assert [matter.decides for matter in matters()] == [words]
    assert words in tablet("review").get(reverse("quality:bench")).text
    assert words in tablet().get(held).text
    assert tablet().get("/floor/snapshot/").json()["decides"] == words
