"""A second person signs beside the maker: somebody else, whose role may do the act."""

from dataclasses import replace

import pytest

from plant.people.seconding import second_person
from records.ledger.acts import act
from records.ledger.models import Flag
from records.ledger.refusals import Refused
from tests import builders
from tests.builders import a_person, said

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works():
    builders.a_works()


def test_another_person_who_may_do_the_act_is_the_second():
    with act("hold placed", replace(said(1, by="operator"), done=True, second=a_person("lead"))) as a:
        assert second_person(a).badge == "lead"
        a.flag("told")


@pytest.mark.parametrize("second", ["operator", "visitor", "auditor", None])
def test_nobody_oneself_or_whoever_may_not_do_it_is_none(second):
    told = replace(said(1, by="operator"), second=a_person(second) if second else None)
    with pytest.raises(Refused) as refused, act("hold placed", told) as a:
        second_person(a)
    assert refused.value.code == "second-person"
    with act("hold placed", replace(told, done=True)) as a:
        assert second_person(a) is None
    assert Flag.objects.get().code == "second-person"


def test_the_second_may_be_asked_for_another_right_than_the_act_itself():
    with pytest.raises(Refused), act("hold placed", replace(said(1, by="operator"), second=a_person("lead"))) as a:
        second_person(a, "hold lifted")
