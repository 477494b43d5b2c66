"""A call for the lead: heard at once or by nobody, answered once, passed on to the deputy after its time."""

import json
from datetime import timedelta

import pytest

from plant.people.actions import add_person, name_deputy
from plant.people.models import Person
from records.floor.actions import answer_call, call_lead, see_notice
from records.floor.calls import calls_for, ringing, sentence, state_of
from records.floor.models import Call, Seen
from records.ledger.clock import clock
from records.ledger.models import Flag, Unplaced
from records.ledger.refusals import Refused
from tests import builders
from tests.builders import moment, said
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db
HERE = "MOULD-1"
WAITS = "Called 13:00. It rings for Everybody, lead of the works and 1 more: nobody has seen it yet."


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
    assert (call.was_heard, words_of(call)) == (True, WAITS)
    answer_call(call, says="cool", words="Ten minutes.", said=said(5.05, by="lead"))
    answered = Call.objects.with_answers().get()
    assert state_of(answered, [], clock.now()) == "answered"
    assert words_of(answered) == "Called 13:00, lead of the works answered 13:03: Let it cool. Ten minutes."


def person(badge):
    return Person.objects.get(badge=badge)


def minutes(n):
    return moment(5) + timedelta(minutes=n)


def a_deputy():
    """Somebody of Review who is named to stand in for the lead."""
    deputy = add_person("PB-9", name="Deputy", roles=["review"], said=said(0, by="manager"))
    told = {"holder": person("lead"), "deputy": deputy, "from_on": moment(0).date()}
    name_deputy("call answered", **told, said=said(0, by="manager"))


def test_a_call_without_an_answer_goes_to_the_named_deputy_and_only_then_to_the_role(settings):
    after = settings.CALL_PASSES_ON_MIN
    a_deputy()
    call = a_call()
    rings = {
        n: [badge for badge in ("lead", "PB-9", "review") if calls_for(person(badge), minutes(n))]
        for n in (0, after, 2 * after)
    }
    assert rings == {0: ["lead"], after: ["lead", "PB-9"], 2 * after: ["lead", "PB-9", "review"]}
    see_notice(call.entry, said=said(5, by="lead"))
    assert sentence(call, minutes(after)) == (
        "Called 13:00. lead of the works saw it 13:00, no answer yet. After 5 min it rings for Deputy too."
    )
    assert "After 10 min it rings for review of the works" in sentence(call, minutes(2 * after))


def test_where_no_deputy_is_named_a_call_goes_to_the_role(settings):
    call = a_call()
    assert (calls_for(person("lead"), moment(5)), calls_for(person("review"), moment(5))) == ([call], [])
    assert calls_for(person("review"), minutes(settings.CALL_PASSES_ON_MIN)) == [call]


def test_a_call_that_no_page_has_shown_within_a_minute_says_that_nobody_has_been_told():
    call = a_call()
    how = ringing([call], minutes(1))
    assert state_of(call, how.told(call), minutes(1)) == "untold"
    untold = "Called 13:00. Nobody has been told: no page of theirs has shown it. Call by voice."
    assert sentence(call, minutes(1)) == untold


def test_a_page_that_has_shown_a_call_says_so_once_and_only_for_those_whom_it_rings_for():
    call = a_call()
    sent = {"data": f'{{"keys": ["{call.entry.key}", "no key", 7]}}', "content_type": "application/json"}
    for _ in range(2):
        assert tablet("lead").post("/floor/calls/seen/", **sent).status_code == 200
    assert tablet("stores").post("/floor/calls/seen/", **sent).status_code == 200
    seen = Seen.objects.get()
    assert (seen.person.badge, seen.of, seen.at) == ("lead", call.entry, moment(5))
    assert words_of(call) == "Called 13:00. lead of the works saw it 13:00, no answer yet."
    assert tablet("lead").post("/floor/calls/seen/", "no text", content_type="text/plain").status_code == 400


def test_the_list_of_calls_names_who_is_told_and_who_has_seen_it():
    call = a_call()
    see_notice(call.entry, said=said(5, by="lead"))
    page = tablet("lead").get("/floor/calls/").content.decode()
    assert "lead of the works saw it 13:00" in page


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
    assert WAITS in page
    with clock.at(moment(5) + timedelta(seconds=3)):
        again = operator.post("/floor/calls/new/", sent, follow=True).content.decode()
    assert WAITS in again
    assert (Call.objects.count(), Unplaced.objects.count()) == (1, 0)


def test_a_call_from_a_station_that_there_is_not_is_made_all_the_same():
    sent = {"key": str(said().key), "station": "no/such", "unit": ""}
    assert tablet("operator").post("/floor/calls/new/", sent).headers["Location"] == "/floor/"
    assert Call.objects.get().station is None


def test_an_answer_is_an_entry_taken_once_and_a_second_one_of_another_lead_is_told_apart():
    call = a_call()
    told = {"of": str(call.entry.key), "says": "cool", "words": "Ten minutes."}
    first = entry("answer", hours=5.1, **told)
    assert [send(tablet("lead"), first)[0]["outcome"] for _ in range(2)] == ["taken", "taken"]
    answered = Call.objects.with_answers().get()
    assert words_of(answered) == "Called 13:00, lead of the works answered 13:06: Let it cool. Ten minutes."
    (second,) = send(tablet("review"), entry("answer", hours=5.2, **told | {"says": "go-on"}))
    overtaken = "Somebody has answered the call to MOULD-1 already. Nobody reads this answer: if it counts still,"
    assert (second["outcome"], second["words"]) == ("conflict", f"{overtaken} say it by voice.")
    (nothing,) = send(tablet("lead"), entry("answer", **told | {"of": "6f1c1f0e-6a53-4d0c-9d0a-5b9f2f1f6c11"}))
    assert (nothing["outcome"], nothing["words"]) == ("refused", "There is no such call.")
    (barred,) = send(tablet("operator"), entry("answer", **told))
    assert barred["code"] == "not-allowed"


def test_the_page_of_an_answer_goes_the_way_of_every_entry():
    call = a_call()
    page = tablet("lead").get(f"/floor/calls/{call.entry.key}/answer/")
    assert json.loads(page.context["entry"])["payload"] == {"of": str(call.entry.key), "says": "", "words": ""}
    assert 'data-puts="says words"' in page.text
    assert [row["call"] for row in tablet("lead").get("/floor/snapshot/?device=TB-1").json()["calls"]] == [True]
