"""A lost tablet: what may have been done there is possible in every trace, with the cause, until it is known."""

import pytest

from plant.people.models import DeviceContact
from records.items.actions import withdraw
from records.items.models import Link
from records.ledger.models import Entry
from records.ledger.refusals import Refused
from records.ledger.verifying import verify
from records.steps.actions import lock_out_tablet
from records.trace.lost import tablets_behind
from records.trace.queries import where_used
from tests import builders
from tests.builders import moment, said
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
