"""What was done by voice: whoever was called notes that they phoned or were told, and whoever waits for it reads it."""

import json
from uuid import uuid4

import pytest

from plant.people.actions import set_language
from plant.people.models import Person
from plant.people.rights import RIGHTS, Role
from records.floor.actions import call_lead, note_by_voice
from records.floor.calls import sentence
from records.floor.handing import lines_now
from records.floor.models import ByVoice, Call
from records.items.actions import place_hold
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.ledger.verifying import verify
from records.steps.actions import send_out
from tests import builders
from tests.builders import moment, said
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(moment(5))


def press(badge: str, key: object, says: str, words: str = ""):
    """The press on the page, as a browser sends it."""
    client, address = tablet(badge), f"/floor/calls/{key}/told/"
    form = client.get(address).context["form"]
    told = {name: form[name].value() for name in ("key", "drawn_at")}
    return client.post(address, told | {"says": says, "words": words})


def held_at_the_painter() -> object:
    builders.a_finished_front("F1")
    send_out(["F1"], to="Painter", said=said(3))
    return place_hold("F1", reason="doubt", said=said(4)).entry.key


def lines(about: str) -> list[str]:
    return [line.says for line in lines_now(clock.now()) if line.about == about]


def test_stores_notes_that_they_phoned_and_whoever_stands_before_it_reads_so():
    key = held_at_the_painter()
    (row,) = tablet("stores").get("/floor/calls/waiting/").json()["calls"]
    assert row["address"] == f"/floor/calls/{key}/told/"
    assert press("stores", key, "phoned", "Spoke to the foreman.").status_code == 302
    note = "stores of the works, 13:00: I phoned: they leave it as it is. Spoke to the foreman."
    assert note in tablet("operator").get("/floor/at/MOULD-1/unit/F1/").text
    assert lines("hold") == [f"a doubt about the record, since 2 Mar 12:00; {note}"]
    assert note in tablet("review").get(row["address"]).text
    assert verify().faults == ()


def test_a_call_that_was_told_by_voice_says_so_to_the_one_who_called_and_still_waits_for_an_answer():
    call = call_lead("MOULD-1", said=said(5, by="operator"))
    assert "I was told of it" in tablet("stores").get("/floor/calls/").text
    press("stores", call.entry.key, "told")
    told = "stores of the works, 13:00: I was told by voice and see to it."
    assert sentence(Call.objects.get(), clock.now()).endswith(told)
    assert lines("call")[0].endswith(told)
    assert tablet("operator").get(f"/floor/calls/{call.entry.key}/").json()["state"] == "waiting"
    assert "Answer it" in tablet("lead").get("/floor/calls/").text


def test_a_call_that_nobody_heard_is_no_longer_told_as_such_once_somebody_was_told_by_voice(clock_at):
    call = call_lead("MOULD-1", said=said(4, by="operator"))
    assert sentence(call, clock.now()) == "Nobody has been told. Call by voice."
    note_by_voice(call.entry, says="told", said=said(5, by="stores"))
    assert sentence(call, clock.now()) == "stores of the works, 13:00: I was told by voice and see to it."


def test_the_latest_of_several_notes_stands_and_all_are_kept():
    key = held_at_the_painter()
    press("stores", key, "no-answer")
    press("stores", key, "phoned")
    assert ByVoice.objects.count() == 2
    page = tablet("operator").get("/floor/at/MOULD-1/unit/F1/").text
    assert "I phoned: they leave it as it is." in page
    assert "nobody answered" not in page


def test_every_role_that_can_be_called_may_and_an_auditor_may_not():
    assert RIGHTS["told by voice"] == frozenset(Role) - {Role.AUDITOR}
    call = call_lead("MOULD-1", said=said(5, by="operator"))
    assert tablet("auditor").get(f"/floor/calls/{call.entry.key}/told/").status_code == 403
    assert "I was told of it" not in tablet("auditor").get("/floor/calls/").text
    with pytest.raises(Refused) as refused:
        note_by_voice(call.entry, says="told", said=said(5, by="auditor"))
    assert refused.value.code == "not-allowed"


def test_what_can_not_be_noted_is_refused_and_a_repeat_changes_nothing():
    call = call_lead("MOULD-1", said=said(5, by="operator"))
    lot = builders.a_lot("R9")
    for of, says, words, code in (
        (call.entry, "sung", "", "unknown"),
        (call.entry, "own", "  ", "no-words"),
        (lot.entry, "told", "", "unknown"),
    ):
        with pytest.raises(Refused) as refused:
            note_by_voice(of, says=says, words=words, said=said(5, by="stores"))
        assert refused.value.code == code
    once = said(5, by="stores")
    assert note_by_voice(call.entry, says="told", said=once) == note_by_voice(call.entry, says="told", said=once)
    assert ByVoice.objects.count() == 1


def test_it_is_said_in_the_language_of_whoever_reads_it():
    key = held_at_the_painter()
    press("stores", key, "no-answer")
    set_language(Person.objects.get(badge="operator"), "de", said=said(4, by="operator"))
    assert "Telefoniert: niemand hat abgenommen." in tablet("operator").get("/floor/at/MOULD-1/unit/F1/").text
    page = tablet("operator").get(f"/floor/calls/{key}/told/").text
    assert "In your own words" not in page
    assert "I phoned" not in page


def told_by_tablet(key: object, says: str, words: str = "", badge: str = "stores") -> dict:
    """The note as a tablet keeps and sends it."""
    (answer,) = send(tablet(badge), entry("voice", hours=6, done=True, of=str(key), says=says, words=words))
    return answer


def test_a_note_that_was_kept_on_a_tablet_goes_the_way_of_every_entry_and_counts_from_when_it_was_made():
    key = held_at_the_painter()
    with clock.at(moment(8)):
        assert told_by_tablet(key, "phoned", "Spoke to the foreman.")["outcome"] == "taken"
        note = "stores of the works, 14:00: I phoned: they leave it as it is. Spoke to the foreman."
        assert lines("hold") == [f"a doubt about the record, since 2 Mar 12:00; {note}"]
    assert ByVoice.objects.get().at == moment(6)
    assert verify().faults == ()


@pytest.mark.parametrize(("says", "code"), [("own", "no-words"), ("nothing of the list", "unknown")])
def test_what_a_tablet_may_not_say_is_refused_as_on_the_page(says, code):
    answer = told_by_tablet(held_at_the_painter(), says)
    assert (answer["outcome"], answer["code"]) == ("refused", code)


def test_a_note_about_nothing_on_file_is_refused_with_words():
    answer = told_by_tablet(uuid4(), "told")
    assert (answer["code"], answer["words"]) == ("unknown", "This is neither a call nor a hold.")


def test_a_tablet_takes_along_what_may_be_told_about_and_what_may_be_said():
    held = held_at_the_painter()
    call = call_lead("MOULD-1", said=said(5, by=Person.objects.get(badge="operator"))).entry.key
    builders.a_front("F2")
    stopped = place_hold("F2", reason="doubt", said=said(4)).entry.key
    taken = tablet("operator").get("/floor/snapshot/?device=TB-1").json()
    assert [(one["key"], one["what"]["en"]) for one in taken["calls"]] == [
        (str(call), "operator of the works calls you to MOULD-1.")
    ]
    (unit,) = [unit for unit in taken["units"] if unit["code"] == "F2"]
    assert [hold["key"] for hold in unit["holds"]] == [str(stopped)]
    assert str(held) not in str(taken)  # what is away is not on the tablet
    assert [value for value, _ in taken["choices"]["voice"]] == ByVoice.Says.values


def test_the_page_carries_the_note_as_an_entry_for_the_outbox():
    key = held_at_the_painter()
    told = json.loads(tablet("stores").get(f"/floor/calls/{key}/told/").context["entry"])
    assert told == {
        "kind": "voice",
        "payload": {"of": str(key), "says": "", "words": ""},
        "done": True,
        "label": "told by voice",
    }
