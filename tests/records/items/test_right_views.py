"""The pages on which it is put right what went into what: every trace goes by what is right, the old stays readable."""

from uuid import uuid4

import pytest
from django.urls import reverse

from plant.catalogue.specs import TankSpec
from plant.catalogue.writing import write_tank
from records.items.actions import charge_tank, clean_tank, draw_tank, log_keeping, meter_masses, reject_lot
from records.items.models import LifeEntry, Link
from records.items.queries import holds_on, item_by_code
from records.ledger.acts import act, flags_of
from records.ledger.models import Entry
from records.trace.queries import where_used
from tests import builders
from tests.builders import of, said
from tests.records.floor.told import tablet
from tests.records.items.pages import press, text

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works(holds={})
    for code in ("R1", "R2"):
        builders.a_lot(code)
    builders.a_lot("H1", "HRD-A")
    builders.a_pot("P1", hours=0)
    clock_at(builders.moment(5))


def key_of(kind: str):
    return Entry.objects.get(kind=kind).key


def holding(lot: str) -> set[str]:
    found = where_used(lot)
    return {one.code for one in (*found.frames, *found.others, *found.below)}


PUT = {"choice": "other", "words": "the can beside it"}


def right(was: str, role: str = "stores", **told: str):
    return press("input_correct", key_of("pot mixed"), was, role=role, **{"words": "the can beside it"} | told)


def test_a_wrong_scan_is_put_right_and_the_trace_goes_over():
    page = text(tablet("stores").get(reverse("items:inputs", args=["P1"])))
    assert page.count("Put it right") >= 2
    assert right("R1", choice="other", right="r2").status_code == 302
    assert (holding("R1"), holding("R2")) == (set(), {"P1"})
    old = Link.objects.get(parent=item_by_code("R1"), status=Link.Status.WITHDRAWN)
    assert str(old.words) == "the can beside it"
    assert tablet("stores").get(reverse("items:input_correct", args=[key_of("pot mixed"), "R1"])).status_code == 404


def test_a_second_press_of_the_same_page_puts_right_once():
    client, address = tablet("stores"), reverse("items:input_correct", args=[key_of("pot mixed"), "R1"])
    form = client.get(address).context["form"]
    told = {name: str(form.initial[name]) for name in ("key", "drawn_at")}
    told |= {"choice": "other", "right": "R2", "words": "the can beside it"}
    answers = [client.post(address, told) for _ in range(2)]
    assert [answer.headers.get("Location") for answer in answers] == [reverse("items:inputs", args=["P1"])] * 2
    assert Link.objects.filter(parent=item_by_code("R2")).count() == 1


def test_what_did_not_go_in_is_taken_back():
    amount = item_by_code("R1").state.remaining
    assert right("R1", choice="none").status_code == 302
    assert holding("R1") == set()
    assert item_by_code("R1").state.remaining > amount


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"choice": "other"}, "Scan what went in, or say that nothing of it did."),
        ({"choice": "none", "right": "R2"}, "Leave this empty where nothing went in"),
        ({"choice": "other", "right": "H1"}, "That is hardener H1. Due here: RES-A."),
        ({"choice": "other", "right": "R77"}, "No such code here: R77."),
        ({"choice": "other", "right": "P1"}, "Due here: RES-A"),
    ],
)
def test_what_cannot_be_right_is_told_and_nothing_changes(told, words):
    assert words in text(right("R1", **told)).replace("&#x27;", "'")
    assert holding("R1") == {"P1"}


def test_a_lot_that_is_not_booked_in_is_taken_with_the_part_off_its_label():
    assert "No such code here: R77" in text(right("R1", choice="other", right="R77"))
    assert right("R1", choice="other", right="R77", part="RES-A").status_code == 302
    assert holding("R77") == {"P1"}


def late(**told: str):
    usual = {"lot": "R2", "amount": "20 g", "when": builders.moment(0.1).isoformat()[:16], "words": "the empty can"}
    return press("input_late", "P1", role="stores", **usual | told)


def test_a_use_that_was_forgotten_is_told_as_of_its_moment():
    assert late().status_code == 302
    link = Link.objects.get(parent=item_by_code("R2"))
    assert (link.child.code, link.at) == ("P1", link.entry.happened_at)
    assert link.at < builders.moment(1)
    assert holding("R2") == {"P1"}


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"when": "2099-01-01T10:00"}, "This moment has not come yet."),
        ({"when": "2026-03-29T02:30"}, ""),
        ({"when": "yesterday"}, ""),
        ({"amount": "20"}, "has no unit"),
        ({"lot": "R77"}, "No such code here: R77."),
        ({"words": ""}, "Fill this in."),
    ],
)
def test_what_cannot_have_been_is_told_and_nothing_is_kept(told, words):
    page = late(**told)
    assert page.status_code == 200
    assert words in text(page)
    assert holding("R2") == set()


def test_more_than_was_there_is_kept_and_marked():
    late(amount="5000 kg")
    assert "over-drawn" in flags_of(key_of("use told late"))


def test_what_was_metered_is_put_right_to_another_tank_on_the_page():
    with act("equipment added", said(0)) as a:  # tanks come with the opening of a works
        write_tank(a, TankSpec("TK-2", "RES-A"))
    for tank, lot in (("TK-1", "R1"), ("TK-2", "R2")):
        charge_tank(tank, lot=of(lot, "2 kg"), said=said(1))
    pot = meter_masses("P9", mix="EPOXY", inputs=[of("TK-1", "1 kg"), of("H1", "300 g")], said=(told := said(2)))
    drawn = Link.objects.get(child=pot, parent__revision__part__number="RES-A").parent.code
    assert "the tank that it was drawn from" in text(
        tablet("stores").get(reverse("items:input_correct", args=[told.key, drawn]))
    )
    answer = press("input_correct", told.key, drawn, role="stores", choice="other", right="tk-2", words="other valve")
    assert answer.status_code == 302
    assert ("P9" in holding("R1"), "P9" in holding("R2")) == (False, True)


def test_a_wrong_charge_goes_over_to_the_right_lot_and_a_cleaning_that_was_not_done_cuts_nothing_off():
    charge_tank("TK-1", lot=of("R1", "500 g"), said=said(1))
    clean_tank("TK-1", said=said(2))
    charge_tank("TK-1", lot=of("R2", "500 g"), said=said(3))
    draw_tank("TK-1", into="D1", quantity=of("R2", "100 g").quantity, said=said(4))
    assert "D1" not in holding("R1")
    page = text(tablet("stores").get(reverse("items:tank", args=["TK-1"])))
    assert "Take it back" in page
    press("clean_withdraw", key_of("tank cleaned"), role="stores", words="only emptied")
    assert "D1" in holding("R1")
    first = Entry.objects.filter(kind="tank charged").earliest("pk").key
    builders.a_lot("R3")
    assert (
        press("input_correct", first, "R1", role="stores", choice="other", right="R3", words="read").status_code == 302
    )
    assert ("D1" in holding("R1"), "D1" in holding("R3")) == (False, True)
    assert tablet("stores").get(reverse("items:clean_withdraw", args=[uuid4()])).status_code == 404


@pytest.mark.parametrize(("told", "now"), [({"choice": "none"}, set()), ({"choice": "other", "right": "R2"}, {"R2"})])
def test_what_a_machine_did_not_take_of_a_tank_is_put_right_on_the_page_of_its_pot(told, now):
    charge_tank("TK-1", lot=of("R1", "5 kg"), said=said(1))
    pot = meter_masses("P2", mix="EPOXY", inputs=[of("TK-1", "1 kg"), of("H1", "300 g")], said=said(2))
    drawn = Link.objects.get(child=pot, parent__revision__part__number="RES-A").parent.code
    assert "P2" in holding("R1")
    page = tablet("review").get(reverse("items:inputs", args=["P2"]))
    assert reverse("items:input_correct", args=[pot.entry.key, drawn]) in page.content.decode()
    answer = press("input_correct", pot.entry.key, drawn, role="review", words="the can was on it", **told)
    assert answer.url == reverse("items:inputs", args=["P2"])
    assert "P2" not in holding("R1")
    assert {lot for lot in ("R2",) if "P2" in holding(lot)} == now


def test_a_lot_that_might_not_be_used_and_turns_out_to_be_in_is_marked():
    builders.a_delivery("R9")
    reject_lot("R9", words="gels", said=said(-2))
    page = text(press("input_correct", key_of("pot mixed"), "R1", **PUT, right="R9", follow=True, role="stores"))
    assert "R9, which did go in, might not have been used then" in page
    assert flags_of(key_of("link corrected")) == ["right-one-barred"]
    assert holding("R9") == {"P1"}
    assert not holds_on([item_by_code("P1").pk])


def test_a_line_of_how_a_lot_was_kept_that_was_not_so_is_taken_back():
    log_keeping("R1", what="opened", said=said(1))
    assert "It was not done" in text(tablet("stores").get(reverse("items:lot", args=["R1"])))
    key = key_of("keeping logged")
    assert "Fill this in." in text(press("keeping_withdraw", key, role="stores"))
    assert press("keeping_withdraw", key, role="stores", words="the other can").status_code == 302
    assert not LifeEntry.objects.standing().exists()
    assert tablet("stores").get(reverse("items:keeping_withdraw", args=[key])).status_code == 404
