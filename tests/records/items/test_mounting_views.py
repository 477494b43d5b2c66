"""A lot mounted at a head and a preform wound there, told at the desk: the trace goes by what was mounted when."""

import pytest
from django.urls import reverse

from plant.people.actions import set_pin
from plant.people.queries import person_by_badge
from records.items.actions import place_hold, tell_wound, withdraw
from records.items.models import FeedEntry, Link
from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from records.ledger.models import Entry
from records.ledger.verifying import verify
from tests import builders
from tests.builders import moment, said
from tests.records.floor.told import tablet
from tests.records.items.pages import press, text
from tests.refusing import refuses

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    clock_at(moment(0))
    builders.a_works(holds={})
    for spool in ("SP1", "SP2"):
        builders.a_spool(spool, hours=-30)
    builders.a_tube("T1")
    clock_at(moment(9))


def local(hours):
    return moment(hours).isoformat()[:16]


def mount(lot, not_before, not_after, **told):
    window = {"not_before": local(not_before), "not_after": local(not_after)}
    return press("lot_mount", lot, role="stores", **{"station": "WIND-1", "head": "Left ", **window} | told)


def wound(began=2, ended=3, **told):
    span = {"began_at": local(began), "ended_at": local(ended)}
    return press("unit_wound", "T1", role="operator", **{"head": "WIND-1, left", **span} | told)


def inside():
    links = Link.objects.standing().filter(child=item_by_code("T1"), feed__isnull=False).select_related("parent__state")
    return {link.parent.code: "possible" if link.certainty else "confirmed" for link in links}


def test_what_was_mounted_goes_into_what_is_told_as_wound_there():
    assert mount("SP1", 0, 0).status_code == 302
    assert mount("SP2", 2.5, 2.75).status_code == 302
    assert wound().status_code == 302
    assert inside() == {"SP1": "confirmed", "SP2": "confirmed"}
    page = text(tablet("stores").get(reverse("items:lot", args=["SP1"])))
    assert reverse("items:feed_withdraw", args=[Entry.objects.filter(kind="lot mounted").earliest("pk").key]) in page
    assert "Told as wound at" in text(tablet("stores").get(reverse("items:inputs", args=["T1"])))
    assert verify().faults == ()


def test_what_cannot_have_been_is_told_and_nothing_is_kept():
    assert "The earliest moment lies after the latest." in text(mount("SP1", 3, 2))
    assert "This moment has not come yet." in text(mount("SP1", 3, 30))
    assert not FeedEntry.objects.exists()
    mount("SP1", 0, 0)
    assert "The winding ended before it began." in text(wound(3, 2))
    wound()
    assert "is told as wound there at that time already" in text(wound(2.5, 4))
    assert tablet("review").get(reverse("items:unit_wound", args=["SP1"])).status_code == 404


def test_a_lot_that_might_not_be_used_is_mounted_only_where_it_is_mounted_already_and_marks_what_holds_it():
    place_hold("SP1", reason="doubt", said=said(1))
    assert mount("SP1", 1.5, 1.5).status_code == 200
    assert mount("SP1", 1.5, 1.5, done="on").status_code == 302
    wound()
    assert "right-one-barred" in flags_of(Entry.objects.get(kind="use told late").key)


def test_what_was_told_wrongly_is_taken_back_and_falls_out_of_the_trace():
    mount("SP1", 0, 0)
    wound()
    used, mounted = (Entry.objects.get(kind=kind).key for kind in ("use told late", "lot mounted"))
    assert press("feed_withdraw", used, role="stores", words="another tube").status_code == 302
    assert inside() == {}
    wound()
    assert press("feed_withdraw", mounted, role="stores", words="it lay beside").status_code == 302
    assert inside() == {}
    assert tablet("stores").get(reverse("items:feed_withdraw", args=[mounted])).status_code == 404
    assert verify().faults == ()


def test_the_page_takes_a_mounting_of_a_held_lot_back_by_two(clock_at):
    mount("SP1", 0, 0)
    wound()
    place_hold("SP1", reason="doubt", said=said(4))
    set_pin(person_by_badge("second"), "4711", said=said(4))
    clock_at(moment(10))
    key = Entry.objects.get(kind="lot mounted").key
    assert "You can’t say that alone" in text(press("feed_withdraw", key, role="stores", words="beside"))
    assert inside() == {"SP1": "confirmed"}
    signed = press("feed_withdraw", key, role="stores", words="beside", second="second", pin="4711")
    assert (signed.status_code, inside()) == (302, {})
    assert flags_of(Entry.objects.get(kind="entry withdrawn").key) == []


def test_what_one_alone_takes_off_a_held_lot_is_marked(clock_at):
    mount("SP1", 0, 0)
    wound()
    place_hold("SP1", reason="doubt", said=said(4))
    clock_at(moment(10))
    withdraw(Entry.objects.get(kind="use told late").key, words="another tube", said=(told := said(10)))
    assert (inside(), flags_of(told.key)) == ({}, ["told-alone"])


def test_a_mounting_told_late_that_takes_something_off_a_held_lot_is_marked():
    mount("SP1", 0, 0)
    wound(4, 5)
    place_hold("SP1", reason="doubt", said=said(6))
    mount("SP2", 2, 2)
    assert flags_of(Entry.objects.filter(kind="lot mounted").latest("pk").key) == ["told-alone"]


def test_only_a_preform_was_wound():
    builders.a_front("F1")
    with refuses("wrong-kind"):
        tell_wound("F1", station="WIND-1", head="left", began_at=moment(1), ended_at=moment(2), said=said(9))
