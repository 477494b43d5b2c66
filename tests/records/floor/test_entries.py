"""The one address that takes entries: each is answered by itself, once, and nothing that happened is lost."""

import json
from uuid import uuid4

import pytest
from django.test import Client

from plant.people.actions import change_roles, close_badge
from plant.people.models import Person
from records.floor.sitting import sitting_of
from records.items.models import Hold, Item, Link
from records.items.queries import item_by_code
from records.ledger.models import Entry, EntryBody, Flag, Unplaced
from records.ledger.verifying import verify
from records.steps.models import StepRecord
from tests import builders
from tests.records.floor.told import ADDRESS, entry, lot, send, tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def test_each_kind_of_entry_calls_its_action():
    builders.a_spool("SP1")
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    builders.a_lot("N1", "INS-BB", "50 pcs")
    client = tablet()
    made = {"station": "MOULD-1", "tools": ["ML-1"]}
    answers = send(
        client,
        entry("wind", unit="T1", part="TUBE", spools=[lot("SP1", "20 g")], station="WIND-1", tools=["MD-1"]),
        entry("wind", unit="T2", part="TUBE", spools=[lot("SP1", "20 g")], tools=["MD-1"]),
        entry("mix", pot="P1", mix="EPOXY", components=[lot("R1", "100 g"), lot("H1", "30 g")], station="MOULD-1"),
        entry("mould", hours=1.2, unit="F1", part="OSIER-F", preforms=["T1"], fill=[lot("P1", "15 g")], **made),
        entry("mould", hours=1.3, unit="B1", part="OSIER-R", preforms=["T2"], fill=[lot("P1", "15 g")], **made),
        entry("step", hours=2, unit="F1", operation="vent", station="MOULD-1"),
        entry(
            "measure", hours=2, unit="F1", lines=[{"characteristic": "bore", "readings": ["34.92"], "gauge": "GA-1"}]
        ),
        entry("move", hours=3, item="F1", station="TRIM-1"),
        entry("send-out", hours=3, units=["B1"], to="Painter"),
        entry("come-back", hours=4, units=["B1"], station="STORE"),
        entry("tank-charge", tank="TK-1", **lot("R1", "100 g")),
        entry("tank-draw", hours=2, tank="TK-1", into="D1", amount="100 g"),
        entry("tank-clean", hours=3, tank="TK-1"),
        entry("hold", hours=4, item="F1", reason="doubt", words="label is wet"),
    )
    assert [(answer["outcome"], answer["words"]) for answer in answers[:-1]] == [("taken", "")] * 13
    assert (answers[-1]["held"], answers[0]["made"]) == (["F1"], "T1")


def test_a_tank_told_clean_without_a_link_while_its_log_says_that_something_is_in_it_is_marked():
    builders.a_lot("R1", quantity="20 kg")
    charged, cleaned = entry("tank-charge", tank="TK-1", **lot("R1", "5 kg")), entry("tank-clean", hours=2, tank="TK-1")
    first, second = send(tablet(), charged, cleaned)
    assert (first["outcome"], second["outcome"], second["flags"]) == ("taken", "flagged", ["not-empty"])


def test_a_frame_is_bonded():
    builders.a_finished_front("F1")
    builders.a_finished_rear("B1")
    builders.some_glue("G1")
    told = entry("bond", part="OSIER", front="F1", rear="B1", adhesive=[lot("G1", "5 g")], tools=["JG-1"])
    (answer,) = send(tablet(), told)
    assert item_by_code(answer["made"]).part.number == "OSIER"
    assert Link.objects.filter(child=item_by_code(answer["made"])).count() == 3


def test_the_same_entry_twice_is_one_fact():
    builders.a_front("F1")
    told = entry("step", unit="F1", operation="vent")
    first, second = send(tablet(), told)[0], send(tablet(), told)[0]
    assert (first["repeat"], second["repeat"]) == (False, True)
    assert {**first, "repeat": True} == second
    assert StepRecord.objects.filter(operation__name="vent").count() == 1


def test_the_same_key_with_other_content_is_a_conflict_and_kept_apart():
    builders.a_front("F1")
    told = entry("move", item="F1", station="TRIM-1")
    send(tablet(), told)
    (answer,) = send(tablet(), told | {"payload": {"item": "F1", "station": "STORE"}})
    assert (answer["outcome"], answer["code"]) == ("conflict", "conflict")
    assert "The first is kept" in answer["words"]
    assert Unplaced.objects.get().code == "conflict"


def test_a_gate_refuses_what_has_not_happened_and_keeps_nothing():
    builders.a_front("F1")
    before = Entry.objects.count()
    (answer,) = send(tablet(), entry("step", unit="F1", operation="trim"))
    assert (answer["outcome"], answer["code"]) == ("refused", "out-of-order")
    assert "That comes first" in answer["words"]
    assert Entry.objects.count() == before


def test_what_has_happened_is_kept_flagged_and_held():
    builders.a_front("F1")
    (answer,) = send(tablet(), entry("step", unit="F1", operation="trim", done=True))
    assert (answer["outcome"], answer["flags"], answer["held"]) == ("flagged", ["out-of-order"], ["F1"])
    assert answer["words"] == "Kept, and F1 is held because vent of F1 is not on file."


def test_a_flag_that_does_not_hold_says_so():
    builders.a_front("F1")
    line = {"characteristic": "bore", "readings": ["34.9"], "gauge": "GA-LATE"}
    (answer,) = send(tablet(), entry("measure", unit="F1", lines=[line], done=True))
    assert (answer["outcome"], answer["held"]) == ("flagged", [])
    assert answer["words"].startswith("Kept, and marked because the gauge was past its check")


def test_a_value_outside_is_taken_and_says_what_it_holds():
    builders.a_front("F1")
    line = {"characteristic": "bore", "readings": ["36"], "gauge": "GA-1"}
    (answer,) = send(tablet(), entry("measure", unit="F1", lines=[line]))
    assert answer["held"] == ["F1"]
    assert answer["words"] == "Kept, and F1 is held because a measure lies outside its band."


def test_a_lot_not_on_file_is_taken_with_the_part_of_its_label():
    told = entry("wind", unit="T1", part="TUBE", spools=[lot("FB-NEW", "20 g", part="FIB-UD")], tools=["MD-1"])
    (answer,) = send(tablet(), told)
    assert answer["flags"] == ["not-booked-in"]
    assert "FB-NEW is not booked in" in answer["words"]


def test_one_bad_entry_does_not_stop_the_next():
    builders.a_front("F1")
    answers = send(tablet(), entry("step", unit="F9", operation="vent"), 7, entry("step", unit="F1", operation="vent"))
    assert [answer["outcome"] for answer in answers] == ["refused", "refused", "taken"]


def test_what_happened_and_cannot_be_read_is_kept_for_review():
    told = entry("step", unit="F1", operation="vent", tools="ML-1", done=True)
    for _ in range(2):
        (answer,) = send(tablet(), told)
        assert (answer["outcome"], answer["code"]) == ("refused", "malformed")
    assert Unplaced.objects.get().said_kind == "step"


def test_a_role_that_may_not_log_is_refused_in_words():
    builders.a_front("F1")
    (answer,) = send(tablet("auditor"), entry("step", unit="F1", operation="vent"))
    assert (answer["outcome"], answer["code"]) == ("refused", "not-allowed")


def test_what_nobody_can_read_as_not_done_is_kept_for_review():
    builders.a_front("F1")
    (answer,) = send(tablet(), entry("step", unit="F1", operation="vent") | {"done": 1})
    assert "done must be true or false" in answer["words"]
    assert Unplaced.objects.get().code == "malformed"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"key": "7"}, "key must be a UUID"),
        ({"key": None}, "key is missing"),
        ({"kind": "paint"}, "paint is no kind of entry"),
        ({"made_at": "yesterday"}, "is no time"),
        ({"made_at": "0001-01-01T00:00:00+14:00"}, "is no time"),
        ({"offset_ms": "4"}, "offset_ms must be a whole number"),
        ({"offset_ms": 10**12}, "offset_ms must be a whole number"),
        ({"offset_ms": True}, "offset_ms must be a whole number"),
        ({"by": "nobody"}, "No badge nobody here"),
        ({"sequence": "7"}, "sequence must be a whole number"),
        ({"depends_on": ["7"]}, "key must be a UUID"),
        ({"seen": {"mood": "good"}}, "seen: mood is no field that is known here"),
        ({"payload": []}, "payload: must hold named fields"),
        ({"payload": {"operation": "vent"}}, "payload: unit is missing"),
        ({"payload": {"unit": "F1", "operation": "vent", "mould": "ML-1"}}, "payload: mould is no field"),
        ({"payload": {"unit": "F" * 41, "operation": "vent"}}, "payload: unit is longer than 40 signs"),
        ({"payload": {"unit": "F\x00", "operation": "vent"}}, "holds signs that can't be kept"),
        ({"payload": {"unit": "F\ud800", "operation": "vent"}}, "holds signs that can't be kept"),
        ({"payload": {"unit": "F1", "operation": "vent", "outcome": "great"}}, "outcome must be one of"),
        ({"payload": {"unit": "F1", "operation": "vent", "readings": [{"name": "edge"}]}}, "readings, line 1, value"),
        ({"payload": {"unit": "F1", "operation": "vent", "readings": ["edge"]}}, "readings, line 1, must hold named"),
        ({"payload": {"unit": "F1", "operation": "vent", "began_at": "noon"}}, "is no time"),
    ],
)
def test_a_malformed_entry_is_told_by_field(change, words):
    builders.a_front("F1")
    before = Entry.objects.count()
    (answer,) = send(tablet(), entry("step", unit="F1", operation="vent") | change)
    assert answer["outcome"] == "refused"
    assert words in answer["words"]
    assert Entry.objects.count() == before


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b'{"entries": {}}',
        b"\xff",
        b'{"entries": [NaN]}',
        b'{"entries": [], "entries": []}',
        b"[" * 90_000,
    ],
)
def test_a_malformed_batch_is_a_sentence(body):
    response = tablet().post(ADDRESS, body, content_type="application/json")
    assert (response.status_code, response.json()["code"]) == (400, "malformed")
    assert response.json()["words"].endswith(".")


def test_too_many_entries_at_once_are_sent_back_whole():
    response = tablet().post(ADDRESS, json.dumps({"entries": [1] * 201}), content_type="application/json")
    assert response.status_code == 400


def test_a_tablet_that_is_signed_out_is_told_so():
    response = Client().post(ADDRESS, "{}", content_type="application/json")
    assert (response.status_code, response.json()["code"]) == (401, "signed-out")


def test_the_time_of_the_server_comes_with_each_answer():
    response = tablet().post(ADDRESS, '{"entries": []}', content_type="application/json")
    assert response.json() == {"server_time": "2026-03-02T13:00:00.000000Z", "answers": []}


def test_a_clock_that_is_off_is_put_right():
    builders.a_front("F1")
    told = entry("step", unit="F1", operation="vent") | {"offset_ms": 240_000}
    send(tablet(), told)
    assert StepRecord.objects.get(operation__name="vent").ended_at == builders.moment(1 + 4 / 60)


def test_nothing_of_an_entry_that_is_refused_halfway_stays():
    builders.a_spool("SP1")
    before = Item.objects.count()
    told = entry("wind", unit="T1", part="TUBE", spools=[lot("SP1", "20 g"), lot("NONE-1", "20 g")], tools=["MD-1"])
    send(tablet(), told)
    assert (Item.objects.count(), Hold.objects.count(), Flag.objects.count()) == (before, 0, 0)


def test_what_the_tablet_sent_besides_is_sealed_with_the_entry():
    builders.a_front("F1")
    before = str(uuid4())
    told = entry("step", unit="F1", operation="vent") | {"sequence": 7, "depends_on": [before]}
    told["seen"] = {"holds_at": builders.moment(0).isoformat(), "route": "1"}
    (answer,) = send(tablet(), told)
    payload = json.loads(EntryBody.objects.get(entry__key=answer["key"]).payload)
    assert payload["told"]["sequence"] == 7
    assert payload["told"]["depends_on"] == [before]
    assert payload["told"]["seen"] == {"holds_at": "2026-03-02T08:00:00.000000Z", "route": "1"}
    assert verify().faults == ()


def test_a_repeat_may_carry_another_place_in_the_queue():
    builders.a_front("F1")
    told = entry("step", unit="F1", operation="vent")
    send(tablet(), told | {"sequence": 7})
    (answer,) = send(tablet(), told | {"sequence": 8})
    assert (answer["outcome"], answer["repeat"]) == ("taken", True)


def test_other_revisions_than_the_tablet_showed_are_told_beside_those_it_was_judged_by():
    builders.a_front("F1")
    line = {"characteristic": "bore", "readings": ["34.9"], "gauge": "GA-1"}
    told = entry("measure", unit="F1", lines=[line]) | {"seen": {"bands": [{"name": "bore", "revision": "0"}]}}
    (answer,) = send(tablet(), told)
    assert answer["differs"] == ["The tablet showed revision 0 of the band of bore; it was judged by revision 1."]
    assert answer["words"].endswith("judged by revision 1.")


def test_an_entry_of_somebody_else_waits_until_that_person_signs_in():
    builders.a_front("F1")
    told = entry("step", unit="F1", operation="vent") | {"by": "operator"}
    (answer,) = send(tablet("lead"), told)
    assert (answer["outcome"], answer["code"]) == ("later", "other-person")
    assert "until" in answer["words"]
    assert not Entry.objects.filter(key=told["key"]).exists()
    send(tablet("operator"), told)
    assert Entry.objects.get(key=told["key"]).by.badge == "operator"


def test_an_entry_goes_up_in_anybodys_session_where_its_person_sat_at_the_tablet():
    builders.a_front("F1")
    told = entry("step", unit="F1", operation="vent") | {"by": "operator"}
    told["sitting"] = sitting_of(Person.objects.get(badge="operator"), "TB-1")
    send(tablet("lead"), told)
    assert Entry.objects.get(key=told["key"]).by.badge == "operator"


@pytest.mark.parametrize(
    ("who", "device", "hours"), [("lead", "TB-1", 1), ("operator", "TB-2", 1), ("operator", "TB-1", 30)]
)
def test_a_sitting_holds_for_its_person_its_tablet_and_a_shift(who, device, hours, clock_at):
    builders.a_front("F1")
    line = sitting_of(Person.objects.get(badge=who), device)
    clock_at(builders.moment(31))
    told = entry("step", hours=hours, unit="F1", operation="vent") | {"by": "operator", "sitting": line}
    (answer,) = send(tablet(), told)
    assert (answer["outcome"], answer["code"]) == ("later", "other-person")


def no_longer(why: str, by: str = "operator") -> None:
    person, manager = Person.objects.get(badge=by), builders.said(6, by="manager")
    close_badge(person, said=manager) if why == "closed" else change_roles(person, roles=["stores"], said=manager)


@pytest.mark.parametrize("why", ["closed", "another role"])
def test_what_was_kept_before_a_badge_or_role_was_taken_away_is_taken_and_marked(why, clock_at):
    builders.a_front("F1")
    clock_at(builders.moment(0))
    change_roles(
        Person.objects.get(badge="operator"), roles=["operator", "stores"], said=builders.said(0, by="manager")
    )
    theirs = {"by": "operator", "sitting": sitting_of(Person.objects.get(badge="operator"), "TB-1")}
    clock_at(builders.moment(6))
    no_longer(why)
    kept = entry("step", hours=2, unit="F1", operation="vent", done=True) | theirs
    (answer,) = send(tablet(), kept)
    assert (answer["outcome"], answer["flags"]) == ("flagged", ["right-ended"])
    assert StepRecord.objects.filter(entry__key=kept["key"]).exists()
    after = entry("step", hours=6.5, unit="F1", operation="trim", done=True) | theirs
    (answer,) = send(tablet(), after)
    assert (answer["outcome"], answer["code"]) == ("refused", "not-allowed")
    assert ("This badge is closed" in answer["words"]) == (why == "closed")
    assert str(Unplaced.objects.get().said_key) == after["key"]


def test_what_depends_on_an_entry_that_comes_again_comes_again_too():
    builders.a_front("F1")
    first = entry("step", unit="F1", operation="vent") | {"by": "operator"}
    second = entry("step", hours=2, unit="F1", operation="trim") | {"depends_on": [first["key"]]}
    other = entry("move", item="F1", station="TRIM-1")
    assert [answer["outcome"] for answer in send(tablet(), first, second, other)] == ["later", "later", "taken"]


def test_a_head_that_cannot_be_read_is_kept_for_review_once_where_it_has_happened():
    told = entry("step", unit="F1", operation="vent", done=True) | {"by": "nobody"}
    for _ in range(2):
        (answer,) = send(tablet(), told)
        assert answer["outcome"] == "refused"
    assert str(Unplaced.objects.get().said_key) == told["key"]


def test_a_hold_may_name_what_an_entry_before_it_made():
    builders.a_spool("SP1")
    made = entry("wind", part="TUBE", spools=[lot("SP1", "20 g")], tools=["MD-1"])
    answers = send(tablet(), made, entry("hold", made_by=made["key"], reason="doubt"))
    assert answers[1]["held"] == [answers[0]["made"]]
