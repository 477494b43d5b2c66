"""A lost tablet: what may have been done there is possible in every trace, with the cause, until it is known."""

from dataclasses import replace
from uuid import uuid4

import pytest

from plant.equipment.queries import station_by_code
from plant.people.models import DeviceContact, DeviceSettled
from records.floor.locked import tablets_here
from records.items.actions import Correction, correct_link, tell_use_late, withdraw
from records.items.models import Link
from records.ledger.marks import mark_at
from records.ledger.models import Entry
from records.ledger.refusals import Refused
from records.ledger.verifying import verify
from records.quality.actions import swap_labels
from records.steps.actions import Made, Moulding, Shot, Work, lock_out_tablet, log_step, mould, settle_tablet
from records.steps.actions.tablets import doubts_left
from records.steps.lost import links_possible
from records.trace.lost import tablets_behind
from records.trace.queries import Asked, where_used
from tests import builders
from tests.builders import moment, of, said
from tests.keys import a_tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(moment(6))
    builders.a_pot("OLD", hours=0)  # ended at 0.75
    builders.a_pot("P1", hours=4.5)
    builders.a_tube("T1", hours=1)


def heard(device, hours: float, **told) -> None:
    DeviceContact.objects.create(device=device, at=moment(hours), **told)


def possible(code: str) -> set[str]:
    answer = where_used(code)
    return {found.code for found in (*answer.frames, *answer.others) if found.sure == "possible"}


def test_every_pot_that_was_open_counts_as_possible_in_what_could_be_filled_there():
    device = a_tablet("MOULD-1")
    heard(device, 5)
    lock_out_tablet(device.code, reason="lost", said=said(6))
    assert possible("P1") == {"T1"}
    assert "T1" in possible("R1")
    assert {link.reason for link in Link.objects.filter(parent__codes__code="P1")} == {"tablet-lost"}
    assert possible("OLD") == set()
    assert verify().faults == ()


def test_the_cause_is_told_with_the_answer_and_gone_once_it_is_known_what_was_done():
    device = a_tablet("MOULD-1")
    heard(device, 5)
    ended = lock_out_tablet(device.code, reason="lost", said=said(6))
    used = where_used("P1")
    (told,) = tablets_behind([found.item for found in used.others])
    assert (told.device.code, told.last_contact, told.at) == (device.code, moment(5), moment(6))
    withdraw(ended.entry.key, was="P1", words="nothing was filled, says Iris", said=said(7))
    assert possible("P1") == set()
    assert tablets_behind([used.of.pk]) == []


def test_the_span_begins_with_the_oldest_entry_that_had_not_gone_up():
    builders.a_front("F1", tube="T9", pots=["P2"], hours=0.3)
    device = a_tablet("MOULD-1")
    heard(device, 5, unsent=2, oldest_at=moment(0.5))
    lock_out_tablet(device.code, reason="broken", said=said(6))
    assert possible("OLD") == {"T1"}


def test_what_is_in_another_unit_already_or_made_elsewhere_is_not_doubted(works):
    builders.a_front("F1", tube="T1", pots=["P1"], hours=4.6)
    device = a_tablet("MOULD-1")
    heard(device, 5)
    lock_out_tablet(device.code, reason="lost", said=said(6))
    assert Link.objects.filter(reason="tablet-lost").count() == 0


def test_a_unit_that_waits_for_its_fill_is_doubted_itself():
    builders.a_mould_to_fill("F1", tube="T2", hours=1.5)
    device = a_tablet("MOULD-1")
    builders.a_leak_test("F1", hours=4.6)
    heard(device, 5)
    lock_out_tablet(device.code, reason="lost", said=said(6))
    assert "F1" in possible("P1")


def doubted(since: float = 5, until: float = 6) -> set[tuple[str, str]]:
    """What may have gone into what by way of the tablet of the mould in a span."""
    pairs = links_possible(station_by_code("MOULD-1"), moment(since), moment(until))
    return {(child.code, lot.code) for child, lot in pairs}


def test_a_pot_that_was_mixed_after_the_span_is_not_doubted():
    found = doubted(0.5, 4)
    assert ("T1", "OLD") in found
    assert ("T1", "P1") not in found


def test_what_is_known_to_have_gone_in_is_not_doubted_nor_is_a_unit_past_its_fill():
    builders.a_pot("P2", hours=4.6)
    builders.a_mould_to_fill("F1", tube="T2", hours=4)
    builders.a_leak_test("F1", hours=4.7)
    shot = Shot("P1", of("P1", "5 g").quantity)
    log_step("F1", step="fill", work=Work("MOULD-1", shots=[shot], outcome="failed"), said=said(4.8))
    found = doubted()
    assert ("F1", "P2") in found
    assert ("F1", "P1") not in found
    log_step("F1", step="fill", work=Work("MOULD-1", shots=[Shot("P1")]), said=said(4.9))
    assert not {pair for pair in doubted() if pair[0] == "F1"}


def certain(code: str) -> set[str]:
    answer = where_used(code)
    return {found.code for found in (*answer.frames, *answer.others) if found.sure == "confirmed"}


def lost(*, station: str = "MOULD-1", since: float = 5):
    """A tablet that was last heard of at five and locked out at six; its number."""
    device = a_tablet(station)
    heard(device, since)
    lock_out_tablet(device.code, reason="lost", said=said(6))
    return device.code


def late(device: str, hours: float):
    """What the tablet kept, which comes in after all."""
    return replace(said(hours, done=True), device=device)


def test_an_entry_that_comes_in_after_all_takes_back_the_doubts_that_it_answers():
    builders.a_pot("P2", hours=4.6)
    builders.a_mould_to_fill("F1", tube="T2", hours=4)
    device = lost()
    assert "F1" in possible("P1") & possible("P2")
    log_step("F1", step="fill", work=Work("MOULD-1", shots=[Shot("P1")]), said=late(device, 5.2))
    assert "F1" in certain("P1") - possible("P1")
    assert "F1" not in certain("P2") | possible("P2")
    assert verify().faults == ()


def test_a_part_that_went_into_what_it_tells_of_is_doubted_no_more():
    builders.a_tube("T2", hours=1)
    device = lost()
    assert possible("P1") == {"T1", "T2"}
    moulding = Moulding(["T1"], [of("P1", "15 g")])
    mould("F7", part="OSIER-F", moulding=moulding, said=late(device, 5.2))
    assert (certain("P1"), possible("P1")) == ({"F7"}, {"T2"})


def test_what_was_known_before_the_late_entry_stays_what_was_known_then(clock_at):
    builders.a_mould_to_fill("F1", tube="T2", hours=4)
    device = lost()
    before = mark_at(moment(6.5))
    clock_at(moment(7))
    log_step("F1", step="fill", work=Work("MOULD-1", shots=[Shot("P1")]), said=late(device, 5.2))
    then = {found.code: found.sure for found in where_used("P1", Asked(before)).others}
    now = {found.code: found.sure for found in where_used("P1").others}
    assert (then["F1"], now["F1"]) == ("possible", "confirmed")


def test_a_fill_told_by_hand_answers_too_and_one_at_another_time_answers_for_its_pot_alone(clock_at):
    builders.a_pot("P2", hours=4.6)
    builders.a_mould_to_fill("F1", tube="T2", hours=4)
    lost()
    clock_at(moment(8))
    used = tell_use_late("F1", lot=of("P2", "15 g"), words="says Iris", said=said(7, done=True))
    assert ("F1" in possible("P1"), "F1" in possible("P2")) == (True, False)
    correct_link(used.entry.key, Correction("P2", "P1"), words="it was the other", said=said(7.5))
    assert "F1" in certain("P1") - possible("P1")


def test_frame_inserts_are_doubted_as_pots_are_where_the_work_takes_them():
    builders.a_lot("NS1", "INS-BB", "50 pcs")
    builders.a_route("OSIER-F", ["mould"], inputs=[builders.specs.InputSpec("insert", "INS-BB")])
    device = lost()
    assert possible("NS1") == {"T1"}
    moulding = Moulding(["T1"], [of("P1", "15 g")], [of("NS1", "2 pcs")])
    mould("F7", part="OSIER-F", moulding=moulding, said=late(device, 5.2))
    assert possible("NS1") == set()
    assert certain("NS1") == {"F7"}


def test_a_lot_of_no_past_may_have_been_split_or_mixed_there_and_a_draw_may_hold_what_was_charged():
    builders.a_charge("R8", "20 kg", hours=4.9)
    builders.a_draw("D1", hours=5.5)
    builders.a_lot("R9", "RES-A", "5 kg")
    stated = of("P9", "15 g", part="MIX-A")
    mould("F7", part="OSIER-F", moulding=Moulding(["T1"], [stated]), said=said(5.3, done=True))
    builders.a_lot("FB8", "FIB-UD", "1 kg")
    builders.a_tube("T5", hours=5.4)
    lost()
    assert {"P9", "D1", "F7"} <= possible("R9")
    assert "D1" in certain("R8") - possible("R8")
    assert "P9" in possible("H1")
    assert "P9" not in possible("FB8")


def test_once_settled_nothing_is_possible_because_of_it(clock_at):
    builders.a_mould_to_fill("F1", tube="T2", hours=4)
    device = lost()
    assert possible("P1")
    clock_at(moment(7))
    settled = settle_tablet(device, words="found in the van; all of it is in", said=said(7))
    assert possible("P1") == set()
    assert where_used("P1", Asked(mark_at(moment(6.5)))).others != ()
    assert tablets_behind([where_used("P1").of.pk]) == []
    assert verify().faults == ()
    again = settle_tablet(
        device, words="found in the van; all of it is in", said=replace(said(7), key=settled.entry.key)
    )
    assert again == DeviceSettled.objects.get()


@pytest.mark.parametrize(
    ("words", "reason", "refusal"),
    [("", "lost", "no-reason"), ("seen", "retired", "unknown"), ("seen", "twice", "settled"), ("seen", "", "unknown")],
)
def test_what_is_not_settled(words, reason, refusal):
    device = a_tablet("MOULD-1")
    if reason:
        lock_out_tablet(device.code, reason=reason.replace("twice", "lost"), said=said(6))
    if reason == "twice":
        settle_tablet(device.code, words="seen", said=said(6.1))
    with pytest.raises(Refused) as refused:
        settle_tablet(device.code, words=words, said=replace(said(6.2), key=uuid4()))
    assert refused.value.code == refusal


def test_a_tablet_put_out_of_use_leaves_no_doubt():
    device = a_tablet("MOULD-1")
    lock_out_tablet(device.code, reason="retired", words="screen is scratched", said=said(6))
    assert not Link.objects.filter(reason="tablet-lost").exists()


@pytest.mark.parametrize(
    ("code", "reason", "refusal"),
    [("TB-9", "lost", "unknown"), ("", "gone", "unknown"), ("twice", "lost", "locked-out")],
)
def test_refusals(code, reason, refusal):
    device = a_tablet("MOULD-1")
    if code == "twice":
        lock_out_tablet(device.code, reason="lost", said=said(5.9))
    before = Entry.objects.filter(kind="tablet locked out").count()
    with pytest.raises(Refused) as refused:
        lock_out_tablet(device.code if code in ("", "twice") else code, reason=reason, said=said(6))
    assert refused.value.code == refusal
    assert Entry.objects.filter(kind="tablet locked out").count() == before


def swapped_front(since: float) -> str:
    """F1 waits to be filled as the tablet is lost; its label and that of F2 (filled, elsewhere) are found swapped."""
    builders.a_pot("P3", hours=3)
    builders.a_mould_to_fill("F1", tube="T2", hours=2.8)
    builders.a_tube("T3", hours=2.9)
    mould("F2", part="OSIER-F", moulding=Moulding(["T3"], []), made=Made(["ML-1"], "MOULD-1"), said=said(3))
    builders.a_leak_test("F2", hours=3.1)
    log_step("F2", step="fill", work=Work("MOULD-1", shots=[Shot("P3")]), said=said(3.2))
    device = lost()
    swap_labels("F1", "F2", since=moment(since), words="both off", said=said(7))
    return device


def test_doubts_that_a_swap_of_labels_moves_stay_those_of_their_tablet(clock_at):
    device = swapped_front(since=4.5)
    clock_at(moment(8))
    assert {"F1", "F2"} & possible("P1") == {"F2"}
    moved = Link.objects.newest().get(child__codes__code="F2", parent__codes__code="P1", status=Link.Status.STANDS)
    assert moved.reason == "tablet-lost"
    assert [end.device.code for end in tablets_behind([moved.child_id])] == [device]
    told = next(row for row in tablets_here() if row.code == device)
    assert told.left == len(doubts_left([told.ended])) > 0
    settle_tablet(device, words="found in the van", said=said(8))
    assert possible("P1") == set()
    assert tablets_behind([moved.child_id]) == []
    assert verify().faults == ()


def test_an_entry_that_comes_in_after_a_swap_answers_the_doubt_where_it_is_now(clock_at):
    device = swapped_front(since=4.5)
    clock_at(moment(8))
    log_step("F2", step="fill", work=Work("MOULD-1", shots=[Shot("P1")]), said=late(device, 5.2))
    assert "F2" in certain("P1") - possible("P1")


def test_where_the_labels_changed_places_while_the_tablet_was_away_either_unit_is_doubted(clock_at):
    device = swapped_front(since=5.5)
    clock_at(moment(8))
    assert {"F1", "F2"} <= possible("P1")
    settle_tablet(device, words="found in the van", said=said(8))
    assert possible("P1") == set()


def test_a_swap_back_brings_the_doubts_back_with_their_tablet(clock_at):
    device = swapped_front(since=4.5)
    swap_labels("F1", "F2", since=moment(4.5), words="it was right before", said=said(7.5))
    clock_at(moment(8))
    assert {"F1", "F2"} & possible("P1") == {"F1"}
    settle_tablet(device, words="found in the van", said=said(8))
    assert possible("P1") == set()
