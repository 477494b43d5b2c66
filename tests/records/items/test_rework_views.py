"""The pages of what is done to a unit outside a step: out, in, a coupon, another number, back from a customer."""

import pytest
from django.urls import reverse

from records.items.actions import place_hold
from records.items.models import ItemCode, Link
from records.items.queries import holds_on, item_by_code
from records.ledger.acts import flags_of
from records.ledger.models import Entry
from records.ledger.verifying import verify
from records.release.actions import release_units, ship
from records.steps.actions import send_out
from records.trace.queries import Asked, made_from, where_used
from tests import builders
from tests.builders import said
from tests.records.floor.told import tablet
from tests.records.items.pages import press, text

pytestmark = pytest.mark.django_db
WHY = {"words": "gap in the bond line"}


@pytest.fixture(autouse=True)
def frame(clock_at):
    builders.a_works(holds={})
    builders.a_frame("X1")
    clock_at(builders.moment(6))


def inside(unit="X1"):
    return {one.code for one in made_from(unit).listed}


def test_something_comes_out_with_the_reason_and_stays_readable():
    page = text(tablet("review").get(reverse("items:unit_take_out", args=["X1"])))
    assert ("F-X1" in page, "B-X1" in page, "G1" in page) == (True, True, False)  # adhesive can't be taken out
    assert press("unit_take_out", "X1", role="operator", item="F-X1", station="STORE", **WHY).status_code == 302
    assert "F-X1" not in inside()
    link = Link.objects.get(parent=item_by_code("F-X1"), status=Link.Status.ENDED)
    assert (str(link.words), item_by_code("F-X1").state.place.code) == ("gap in the bond line", "STORE")
    assert "X1" in {one.code for one in where_used("F-X1", Asked(ended=True)).listed}


def test_something_comes_out_only_with_a_reason_and_only_what_is_in():
    for told in ({"item": "F-X1"}, {"item": "T-F-X1", **WHY}, WHY):
        assert press("unit_take_out", "X1", role="review", **told).status_code == 200
    assert "F-X1" in inside()


def test_the_page_asks_before_something_comes_out_of_what_is_not_here():
    send_out(["X1"], to="Fell Paint", said=said(5, done=True))
    told = {"item": "F-X1", **WHY}
    assert "X1 is not here" in text(press("unit_take_out", "X1", role="review", **told))
    assert press("unit_take_out", "X1", role="review", **told, done="on").status_code == 302
    assert "F-X1" not in inside()


def test_a_unit_goes_in_with_the_reason():
    builders.a_finished_front("F2")
    assert press("unit_put_in", "X1", role="lead", item="f2", station="TRIM-1", **WHY).status_code == 302
    assert "F2" in inside()
    page = text(tablet("review").get(reverse("items:inputs", args=["X1"])))
    assert "gap in the bond line" in page
    assert verify().faults == ()


def test_an_amount_of_a_lot_goes_in():
    builders.some_glue("G2", hours=5.5)
    assert press("unit_put_in", "X1", role="lead", item="G2", amount="2 g", **WHY).status_code == 302
    assert "G2" in inside()


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"item": "G2"}, "Write how much of the lot went in"),
        ({"item": "F2", "amount": "2 g"}, "F2 is a unit and goes in whole."),
        ({"item": "G2", "amount": "5 kg"}, "G2 holds"),
        ({"item": "R77", "amount": "5 g"}, "No such code here: R77."),
        ({"item": "F-X1"}, "F-X1 is in another unit already."),
        ({"item": "H1", "amount": "5 g"}, "That is hardener H1."),
        ({"item": "F2", "words": ""}, "Fill this in."),
    ],
)
def test_what_does_not_go_in_is_told_and_nothing_is_kept(told, words):
    builders.a_finished_front("F2")
    builders.some_glue("G2", hours=5.5)
    page = press("unit_put_in", "X1", role="lead", **WHY | told)
    assert words in text(page)
    assert not Entry.objects.filter(kind="unit put in").exists()


def test_what_went_in_already_is_kept_and_marked_where_it_was_held():
    builders.a_finished_front("F2")
    place_hold("F2", reason="dry-patch", said=said(5))
    assert "F2 is held." in text(press("unit_put_in", "X1", role="lead", item="F2", **WHY))
    assert press("unit_put_in", "X1", role="lead", item="F2", done="on", **WHY).status_code == 302
    assert "held" in flags_of(Entry.objects.get(kind="unit put in").key)


def test_a_coupon_is_cut_and_traced_to_what_the_unit_is_made_of_though_it_is_held():
    place_hold("X1", reason="dry-patch", said=said(5))
    assert press("coupon_cut", "X1", role="review", part="CPN", station="STORE").status_code == 302
    code = ItemCode.objects.get(item__revision__part__number="CPN").code
    assert code.startswith("CU-26-")
    assert {"X1", "R1"} <= inside(code)
    assert [hold.item.code for hold in holds_on([item_by_code("X1").pk])] == ["X1"]
    assert verify().faults == ()


@pytest.mark.parametrize("told", [{"part": "TUBE"}, {}, {"part": "CPN", "code": "R1"}])
def test_a_coupon_that_can_not_be_is_told(told):
    assert press("coupon_cut", "X1", role="review", **told).status_code == 200
    assert not Entry.objects.filter(kind="coupon cut").exists()


def test_a_unit_gets_another_number_and_both_find_it():
    answer = press("unit_renumber", "X1", role="lead", follow=True, to="X100", words="label spoilt in the heat")
    assert "X1 is X100 from now on" in text(answer)
    assert item_by_code("X1").code == item_by_code("X100").code == "X100"
    refused = press("unit_renumber", "X100", role="lead", to="F-X1", words="label spoilt")
    assert "F-X1 is taken" in text(refused)


def test_a_frame_comes_back_from_a_customer_with_what_they_say():
    builders.a_finished_frame("X5")
    release_units(["X5"], said=said(5))
    assert "X5 was not shipped." in text(press("frame_return", "X5", role="stores", station="STORE", words="creaks"))
    ship(["X5"], to="Lienz Cycles", said=said(5.5))
    page = text(tablet("stores").get(reverse("trace:unit", args=["X5"])))
    assert reverse("items:frame_return", args=["X5"]) in page
    assert press("frame_return", "X5", role="stores", station="STORE", words="creaks").status_code == 302
    state = item_by_code("X5").state
    assert (state.where, state.place.code) == ("here", "STORE")


def test_the_page_of_a_unit_leads_to_each_act():
    page = text(tablet("review").get(reverse("trace:unit", args=["X1"])))
    for name in ("unit_take_out", "unit_put_in", "unit_renumber", "coupon_cut"):
        assert reverse(f"items:{name}", args=["X1"]) in page
    assert tablet("review").get(reverse("items:unit_take_out", args=["R1"])).status_code == 404
