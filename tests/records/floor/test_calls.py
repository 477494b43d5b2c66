"""A call for the lead: heard at once or by nobody, answered once, passed on to the deputy after its time."""

from datetime import timedelta

import pytest

from plant.people.models import Person
from records.floor.actions import answer_call, call_lead
from records.floor.calls import calls_for, sentence, state_of
from records.floor.models import Call
from records.ledger.clock import clock
from records.ledger.models import Flag
from records.ledger.refusals import Refused
from tests import builders
from tests.builders import moment, said
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db
HERE = "MOULD-1"


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(moment(5))


def words_of(call):
    return sentence(call, clock.now())


def a_call(**told):
    return call_lead(HERE, said=said(5, by="operator"), **told)


def test_a_call_waits_and_then_tells_who_answered_what():
    call = a_call()
    assert (call.was_heard, words_of(call)) == (True, "Called 13:00. Nobody has answered yet.")
    answer_call(call, says="cool", words="Ten minutes.", said=said(5.05, by="lead"))
    answered = Call.objects.with_answers().get()
    assert state_of(answered, clock.now()) == "answered"
    assert words_of(answered) == "Called 13:00, lead of the works answered 13:03: Let it cool. Ten minutes."


def test_a_call_without_an_answer_goes_to_the_deputy_and_says_so(settings):
    call = a_call()
    deputy, lead = Person.objects.get(badge="review"), Person.objects.get(badge="lead")
    assert (calls_for(lead, moment(5)), calls_for(deputy, moment(5))) == ([call], [])
    later = moment(5) + timedelta(minutes=settings.CALL_PASSES_ON_MIN)
    assert calls_for(deputy, later) == [call]
    assert sentence(call, later) == "Called 13:00. Nobody has answered for 5 min: the deputy is called too."


def test_a_call_that_comes_in_late_was_heard_by_nobody_and_says_so():
    (answer,) = send(tablet("operator"), entry("call", hours=4.9, done=True, station=HERE))
    call = Call.objects.get()
    assert (call.was_heard, words_of(call)) == (False, "Nobody has been told. Call by voice.")
    assert (answer["outcome"], answer["flags"]) == ("flagged", ["not-heard"])
    assert "nobody heard it" in answer["words"]
    assert calls_for(Person.objects.get(badge="lead"), clock.now()) == []


def test_a_call_is_never_refused_for_what_it_names():
    builders.a_front("F1")
    answers = send(
        tablet("operator"),
        entry("call", hours=5, done=True, station="NOWHERE", about="FT-99"),
        entry("call", hours=5, done=True, station=HERE, about="F1"),
    )
    assert [answer["outcome"] for answer in answers] == ["taken", "taken"]
    first, second = Call.objects.order_by("pk")
    assert (first.station, first.unit, second.station.code, second.unit.code) == (None, None, HERE, "F1")
    assert not Flag.objects.exists()


@pytest.mark.parametrize(("says", "code"), [("dance", "unknown"), ("own", "no-words")])
def test_an_answer_says_something(says, code):
    call = a_call()
    with pytest.raises(Refused) as refused:
        answer_call(call, says=says, said=said(5, by="lead"))
    assert refused.value.code == code


def test_a_call_is_answered_once():
    call = a_call()
    answer_call(call, says="coming", said=said(5, by="lead"))
    with pytest.raises(Refused) as refused:
        answer_call(call, says="cool", said=said(5, by="second"))
    assert refused.value.code == "answered"


def test_the_poll_of_the_tablet_and_of_the_lead_are_small():
    call = a_call()
    address = f"/floor/calls/{call.entry.key}/"
    assert tablet("operator").get(address).json() == {"state": "waiting", "words": words_of(call)}
    told = tablet("lead").get("/floor/calls/waiting/").json()["calls"]
    assert [row["words"] for row in told] == ["operator of the works calls you to MOULD-1."]
    assert tablet("operator").get("/floor/calls/waiting/").json() == {"calls": []}


def test_a_lead_answers_by_one_press():
    call = a_call()
    lead, address = tablet("lead"), f"/floor/calls/{call.entry.key}/answer/"
    assert "Let it cool." in lead.get(address).content.decode()
    page = lead.get(address).context["form"]
    sent = {"key": page["key"].value(), "drawn_at": page["drawn_at"].value(), "says": "cool"}
    assert lead.post(address, sent).status_code == 302
    assert Call.objects.get().answer.says == "cool"


def test_without_a_script_the_press_is_a_plain_form():
    operator = tablet("operator")
    sent = {"key": str(said().key), "station": HERE, "unit": ""}
    page = operator.post("/floor/calls/new/", sent, follow=True).content.decode()
    assert "Called 13:00. Nobody has answered yet." in page
    operator.post("/floor/calls/new/", sent)
    assert Call.objects.count() == 1
