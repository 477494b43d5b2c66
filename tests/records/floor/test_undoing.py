"""Undo: what was logged a moment ago is withdrawn as a mis-tap, by whoever logged it; both stay in the book."""

import json

import pytest

from plant.people.rights import RIGHTS
from records.floor.undoing import BY_KIND, INSTEAD
from records.inspection.models import Measurement
from records.items.actions import lift_hold, withdraw_hold
from records.items.models import Hold, Item
from records.items.pots import standing_pots
from records.items.queries import holds_on, item_by_code
from records.ledger.models import EntryBody
from records.ledger.refusals import Refused
from records.ledger.verifying import verify
from records.runs.actions import LogFile, meter_pot
from records.runs.models import Log
from records.steps.actions import Shot, Work, log_step, withdraw_unit
from records.steps.models import StepRecord, ToolCycles
from records.trace.way import way_of_item
from tests import builders
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db
SECONDS = 1 / 3600


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_front("F1")
    clock_at(builders.moment(5))


def undone(first: dict, *, after: float = 5, role: str = builders.ALL_ROLES) -> dict:
    told = entry("undo", hours=4 + after * SECONDS, of=first["key"], done=True) | {"depends_on": [first["key"]]}
    return send(tablet(role), told)[0]


def a_step() -> dict:
    return entry("step", hours=4, unit="F1", operation="vent")


def test_a_step_is_withdrawn_as_a_mis_tap_and_waits_again():
    first = a_step()
    send(tablet(), first)
    assert undone(first)["outcome"] == "taken"
    newest = StepRecord.objects.newest().get(operation__name="vent")
    assert newest.status == StepRecord.Status.WITHDRAWN
    told = json.loads(EntryBody.objects.get(entry=newest.entry).payload)["told"]
    assert told["because"] == "mis-tap"
    assert newest.unit.waiting.operation.name == "vent"
    assert verify().clean


def test_both_may_come_together_from_an_outbox_and_again():
    first = a_step()
    second = entry("undo", hours=4 + 5 * SECONDS, of=first["key"], done=True) | {"depends_on": [first["key"]]}
    for _ in range(2):
        assert [one["outcome"] for one in send(tablet(), first, second)] == ["taken", "taken"]
    assert StepRecord.objects.filter(operation__name="vent").count() == 2


def test_a_sheet_is_withdrawn_whole():
    first = entry("measure", hours=4, unit="F1", lines=[{"characteristic": "bore", "readings": ["34.9"]}])
    send(tablet(), first)
    assert undone(first)["outcome"] == "taken"
    assert not Measurement.objects.standing().exists()


@pytest.mark.parametrize(("told", "code"), [({"after": 90}, "too-late"), ({"role": "operator"}, "other-person")])
def test_nobody_undoes_another_persons_or_what_is_older(told, code):
    first = a_step()
    send(tablet(), first)
    answer = undone(first, **told)
    assert (answer["outcome"], answer["code"]) == ("refused", code)


def test_what_has_no_withdrawal_is_not_undone():
    first = entry("tank-clean", hours=4, tank="TK-1")
    send(tablet(), first)
    answer = undone(first)
    assert (answer["code"], answer["words"][:45]) == ("unknown", "This can't be undone by a press. Tell your le")


def newest(client, code):
    return client.get(f"/trace/unit/{code}/").content.decode()


def test_a_hold_placed_by_a_mis_tap_ends_and_leaves_the_trace_that_it_stood():
    first = entry("hold", hours=4, item="F1", reason="doubt")
    send(tablet("operator"), first)
    assert undone(first, role="operator")["outcome"] == "taken"
    hold = Hold.objects.get()
    assert (hold.lift.is_withdrawn, str(hold.lift.words), holds_on([hold.item_id])) == (True, "mis-tap", [])
    told = [(one.state, one.what) for one in way_of_item(hold.item)]
    assert told[-2:] == [("held", "held: a doubt about the record"), ("corrected", "hold withdrawn")]
    page = newest(tablet("review"), "F1")
    assert "hold withdrawn" in page.lower()
    assert verify().clean


def test_a_hold_that_somebody_has_lifted_meanwhile_is_not_withdrawn():
    first = entry("hold", hours=4, item="F1", reason="doubt")
    send(tablet("operator"), first)
    lift_hold(first["key"], words="It was another one.", said=builders.said(4.001, by="review"))
    answer = undone(first, role="operator")
    assert (answer["outcome"], answer["words"]) == (
        "refused",
        "Somebody has ended this hold already. Open its page again.",
    )


def test_a_hold_that_has_stood_is_lifted_by_review_alone_whatever_time_a_tablet_tells(clock_at):
    first = entry("hold", hours=4, item="F1", reason="doubt")
    send(tablet("operator"), first)
    clock_at(builders.moment(5 + 61 * SECONDS))
    answer = undone(first, role="operator")
    words = "This hold has stood for more than a minute. Only Review lifts it."
    assert (answer["outcome"], answer["words"]) == ("refused", words)
    assert holds_on([item_by_code("F1").pk])


def test_a_hold_of_somebody_else_is_not_withdrawn():
    first = entry("hold", hours=4, item="F1", reason="doubt")
    send(tablet("operator"), first)
    with pytest.raises(Refused) as refused:
        withdraw_hold(first["key"], words="mis-tap", said=builders.said(4.001, by="lead"))
    assert refused.value.code == "other-person"


def test_a_hold_that_a_rule_placed_is_not_withdrawn_with_its_entry():
    front = item_by_code("F1")
    with pytest.raises(Refused) as refused:
        withdraw_hold(front.entry.key, words="mis-tap", said=builders.said(4.1))
    assert refused.value.code == "unknown"


def test_a_move_is_taken_back_to_where_the_thing_was():
    first = entry("move", hours=4, item="F1", station="TRIM-1")
    send(tablet(), first)
    assert item_by_code("F1").state.place.code == "TRIM-1"
    assert undone(first)["outcome"] == "taken"
    front = item_by_code("F1")
    assert front.state.place.code == "MOULD-1"
    assert [one.what for one in way_of_item(front)][-2:] == ["put to TRIM-1", "move withdrawn, back at MOULD-1"]
    assert verify().clean


def test_a_move_is_not_taken_back_once_the_thing_went_on():
    first = entry("move", hours=4, item="F1", station="TRIM-1")
    send(tablet(), first, entry("move", hours=4 + 2 * SECONDS, item="F1", station="BOND-1"))
    answer = undone(first)
    assert answer["words"] == "F1 went somewhere else since. Bring it where it is."
    assert item_by_code("F1").state.place.code == "BOND-1"


def a_pot() -> dict:
    builders.a_lot("RES-9", "RES-A", hours=1)
    builders.a_lot("HRD-9", "HRD-A", hours=1)
    parts = [{"lot": "RES-9", "amount": "100 g"}, {"lot": "HRD-9", "amount": "30 g"}]
    return entry("mix", hours=4, pot="PT-9", mix="EPOXY", components=parts)


def test_a_pot_that_was_not_mixed_gives_its_components_back():
    first = a_pot()
    left = {code: item_by_code(code).state.remaining for code in ("RES-9", "HRD-9")}
    assert send(tablet(), first)[0]["outcome"] in ("taken", "flagged")
    assert undone(first)["outcome"] == "taken"
    assert {code: item_by_code(code).state.remaining for code in ("RES-9", "HRD-9")} == left
    pot = item_by_code("PT-9")
    assert (pot.state.where, pot.state.remaining, standing_pots(builders.moment(4.01))) == ("scrapped", 0, [])
    assert [one.what for one in way_of_item(pot)] == ["withdrawn: it was never made"]
    assert verify().clean


def test_a_fill_is_put_right_link_by_link_not_undone():
    builders.a_pot("P9", hours=3.9)
    builders.a_mould_to_fill("F2", tube="T2", hours=3.8)
    builders.a_leak_test("F2", hours=3.95)
    filled = log_step("F2", step="fill", work=Work("MOULD-1", shots=[Shot("P9")]), said=builders.said(4))
    answer = undone({"key": str(filled.entry.key)})
    assert (answer["outcome"], answer["code"]) == ("refused", "unknown")
    assert "Correct it on the page of the unit" in answer["words"]
    assert item_by_code("P9").state.remaining == 115_000_000


def test_a_pot_from_which_something_was_filled_stands():
    first = a_pot()
    send(tablet(), first)
    front = builders.a_front("F2", pots=["PT-9"], hours=4.001)
    answer = undone(first)
    assert (answer["outcome"], answer["words"]) == (
        "refused",
        f"PT-9 is in {front.code} already. It can't be undone: tell your lead.",
    )


def a_metered_pot(code: str, hours: float) -> Item:
    """A shot of 100 g and 30 g by the machine's log, told of a pot."""
    rows = "2026-03-02 09:00:00,0,0\n2026-03-02 09:00:05,100,30\n"
    file = LogFile("shot.csv", f"Time,Resin total [g],Hardener total [g]\n{rows}".encode())
    lots = {"Resin total": "RES-9", "Hardener total": "HRD-9"}
    return meter_pot(code, mix="EPOXY", lots=lots, file=file, said=builders.said(hours))


def test_a_pot_that_a_machine_metered_is_undone_as_any_other_and_its_log_is_told_of_the_right_one():
    builders.a_lot("RES-9", "RES-A", hours=1)
    builders.a_lot("HRD-9", "HRD-A", hours=1)
    left = {code: item_by_code(code).state.remaining for code in ("RES-9", "HRD-9")}
    pot = a_metered_pot("PT-8", hours=4)
    assert undone({"key": str(pot.entry.key)})["outcome"] == "taken"
    assert {code: item_by_code(code).state.remaining for code in ("RES-9", "HRD-9")} == left
    assert item_by_code("PT-8").state.where == "scrapped"
    right = a_metered_pot("PT-9", hours=4.01)
    assert [row.run.code for row in right.runs.all()] == [row.run.code for row in pot.runs.all()]
    with pytest.raises(Refused) as refused:
        a_metered_pot("PT-7", hours=4.02)
    assert (refused.value.code, Log.objects.count()) == ("file-known", 1)
    assert verify().clean


def cycles_of(tool: str) -> int:
    found = ToolCycles.objects.filter(tool__code=tool).first()
    return found.cycles if found else 0


def a_preform() -> dict:
    builders.a_lot("FB-9", "FIB-UD", hours=1)
    return entry("wind", hours=4, unit="PF-9", part="TUBE", spools=[{"lot": "FB-9", "amount": "20 g"}], tools=["MD-1"])


def test_a_unit_that_was_not_made_frees_what_went_in_and_its_number_is_spent():
    first = a_preform()
    left = item_by_code("FB-9").state.remaining
    cycles = cycles_of("MD-1")
    assert send(tablet(), first)[0]["outcome"] == "taken"
    assert undone(first)["outcome"] == "taken"
    unit = item_by_code("PF-9")
    assert (item_by_code("FB-9").state.remaining, cycles_of("MD-1"), unit.state.where) == (left, cycles, "scrapped")
    assert [one.what for one in way_of_item(unit)] == ["wind withdrawn", "withdrawn: it was never made"]
    assert "it was never made" in newest(tablet("review"), "PF-9")
    (again,) = send(tablet(), entry("wind", hours=4.1, unit="PF-9", part="TUBE", spools=[]))
    assert again["code"] == "code-taken"
    assert verify().clean


def test_a_unit_that_was_worked_on_or_used_stands():
    first = entry("wind", hours=4, unit="PF-9", part="TUBE", spools=[])
    send(tablet(), first)
    builders.a_pot("P4", hours=4)
    builders.a_front("F3", tube="PF-9", pots=["P4"], hours=4.001)
    assert "PF-9 is in F3 already." in undone(first)["words"]
    made = StepRecord.objects.get(unit=item_by_code("F1"), operation__name="mould").entry
    send(tablet(), entry("step", hours=4, unit="F1", operation="vent"))
    with pytest.raises(Refused) as refused:
        withdraw_unit(made.key, words="mis-tap", said=builders.said(4.1))
    assert refused.value.code == "worked-on"


@pytest.mark.parametrize("kind", sorted(INSTEAD))
def test_what_no_press_takes_back_says_what_to_do(kind):
    assert kind in RIGHTS
    assert kind not in BY_KIND


def test_units_that_were_sent_out_are_taken_back_in_by_a_list_of_their_own():
    builders.a_finished_front("F9")
    first = entry("send-out", hours=4, units=["F9"], to="Painter")
    send(tablet(), first)
    answer = undone(first)
    assert answer["words"] == "This can't be undone by a press. Take them back in where they did not leave."
