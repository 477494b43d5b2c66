"""Departures: noted, decided, countersigned by another person."""

from functools import partial
from typing import ClassVar

import pytest

from records.items.actions import place_hold
from records.ledger.models import Flag
from records.ledger.refusals import Conflict
from records.ledger.verifying import verify
from records.quality.actions import answer_flag, countersign_departure, decide_departure, note_departure
from records.quality.models import Countersign, Disposition, FlagAnswer, Nonconformance
from records.steps.actions import log_step
from tests import builders
from tests.builders import said
from tests.records.items.test_at_once import both, two_connections
from tests.refusing import refuses

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def front(db):
    builders.a_works(holds={})
    return builders.a_front("F1")


def note(**told):
    stated = {"item": "F1", "defect": "void", "words": "left side"} | told
    return note_departure(stated.pop("item"), **stated, said=said(1)).code


def decide(code, *, choice="as-is", words="cosmetic", by="everybody"):
    return decide_departure(code, choice=choice, words=words, said=said(2, by=by))


def test_a_departure_has_a_number_of_the_house_and_words_apart():
    code = note()
    kept = Nonconformance.objects.get()
    assert (code, kept.item.code, kept.defect, str(kept.words)) == ("NC-26-000001-5", "F1", "void", "left side")
    assert note() == "NC-26-000002-3"


@pytest.mark.parametrize(
    ("told", "code", "words"),
    [
        ({"item": "GHOST"}, "unknown", "GHOST"),
        ({"defect": "ugly"}, "unknown", "from the list"),
        ({"words": "  "}, "no-reason", "what you see"),
    ],
)
def test_a_departure_that_can_not_be_is_refused(told, code, words):
    with refuses(code, words):
        note(**told)


@pytest.mark.parametrize(
    ("told", "code", "words"),
    [
        ({"code": "NC-26-000009-8"}, "unknown", "NC-26-000009-8"),
        ({"choice": "hide"}, "unknown", "from the list"),
        ({"words": " "}, "no-reason", "The auditor"),
    ],
)
def test_a_decision_that_can_not_be_is_refused(told, code, words):
    stated = {"code": note()} | told
    with refuses(code, words):
        decide(stated.pop("code"), **stated)
    assert not Disposition.objects.exists()


def test_it_is_decided_once():
    code = note()
    decide(code.lower())
    with pytest.raises(Conflict) as refused:
        decide(code, choice="scrap")
    assert refused.value.code == "decided"


def test_another_person_countersigns_and_once():
    code = note()
    with refuses("unknown", "not decided"):
        countersign_departure(code, said=said(3))
    decide(code)
    with refuses("second-person", "Another person"):
        countersign_departure(code, said=said(3))
    signed = countersign_departure(code, said=said(3, by="second"))
    assert (signed.decider.badge, signed.signer.badge) == ("everybody", "second")
    with pytest.raises(Conflict):
        countersign_departure(code, said=said(4, by="review"))
    assert Countersign.objects.count() == 1
    assert verify().faults == ()


class TestTwoAtOnce:
    """Two of Review answer the same mark: the second is told so."""

    pytestmark: ClassVar = two_connections

    def test_the_second_answer_to_a_mark_given_at_the_same_moment_is_told_and_makes_no_fault(self):
        place_hold("F1", reason="dry-patch", said=said(0.5))
        log_step("F1", step="trim", said=said(1, done=True))
        flag = Flag.objects.earliest("pk")
        told = {"found": "stands", "words": "looked at"}
        first, second = (partial(answer_flag, flag, **told, said=said(2, by=badge)) for badge in ("review", "second"))
        assert both(first, second) == "answered"
        assert FlagAnswer.objects.count() == 1
