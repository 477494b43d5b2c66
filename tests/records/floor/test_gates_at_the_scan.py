"""What may not go in is told at the scan, before anything is weighed or poured; what is logged is logged once."""

from urllib.parse import parse_qs, urlsplit

import pytest
from django.urls import reverse

from plant.catalogue.specs import OperationSpec, RouteSpec
from plant.equipment.actions import add_equipment
from records.items.actions import place_hold
from records.items.models import Item, Link
from records.items.queries import item_by_code
from records.ledger.clock import clock
from records.steps.models import StepRecord
from tests import builders
from tests.records.floor.test_views import asked, log, screen, text
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db

WIND = {"part": "TUBE", "tool": "MD-1", "spools-1-lot": "SP1"}
WOUND = {"spools-1-amount": "20", "unit": "T1"}


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def a_held_spool() -> None:
    builders.a_spool("SP1")
    place_hold("SP1", reason="doubt", words="wet label", said=builders.said(1))


def test_a_held_lot_is_told_at_the_scan_with_what_to_do():
    a_held_spool()
    page = screen(tablet(), "WIND-1", "make", **WIND)
    assert asked(page) == "SP1 may not go in"
    assert "SP1 is held. Do not use it: put it aside and ask Review." in text(page)
    again = screen(tablet(), "WIND-1", "make", **WIND, **{"spools-1-lot-stop": "again"})
    assert "spools-1-lot" not in parse_qs(urlsplit(again.url).query)


def test_what_has_gone_in_already_is_kept_and_marked():
    a_held_spool()
    client = tablet()
    answer, _ = log(client, "WIND-1", "make", **WIND, **{"spools-1-lot-stop": "done"}, **WOUND)
    assert "Kept, and T1 is held because SP1 was held at the time." in text(client.get(answer.url))
    assert Link.objects.get(child=item_by_code("T1")).parent.code == "SP1"


def test_a_unit_that_is_in_another_is_told_at_the_scan():
    builders.a_front("F1", tube="T1")
    page = screen(tablet(), "MOULD-1", "make", part="OSIER-F", tool="ML-1", **{"preforms-1": "T1"})
    assert "T1 is in another unit already" in text(page)


def test_a_ratio_that_is_off_is_told_before_the_pot_is_logged():
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    told = {"mix": "EPOXY", "scale": "SCALE-1", "component-1-1-lot": "R1", "component-1-1-amount": "100"}
    told |= {"component-1-1-amount-again": "100"}
    told |= {"component-2-1-lot": "H1"}
    weighing = screen(tablet(), "MOULD-1", "pot", **told)
    assert weighing.context["question"].hint == "30 g are due, 28.5 to 31.5 g."
    told |= {"component-2-1-amount": "3", "component-2-1-amount-again": "3"}
    page = screen(tablet(), "MOULD-1", "pot", **told)
    assert asked(page) == "HRD-A: 3 g is 25.5 g below the band."
    again = screen(tablet(), "MOULD-1", "pot", **told, **{"component-2-stop": "again"})
    assert asked(tablet().get(again.url)) == "Pour HRD-A to 30 g"


def test_a_calliper_is_no_scale():
    add_equipment("gauge", "GA-9", kind="calliper", said=builders.said(1))
    page = screen(tablet(), "MOULD-1", "pot", mix="EPOXY", scale="GA-9")
    assert "That is the calliper GA-9. Scan a scale." in text(page)


def test_an_amount_may_be_written_with_its_unit_and_a_code_without_its_dashes():
    code = builders.a_lot("FB-26-000007-4", "FIB-UD").code
    told = {"part": "TUBE", "tool": "MD-1", "spools-1-lot": "fb2674"}
    assert asked(screen(tablet(), "WIND-1", "make", **told)) == f"How much of {code}?"
    log(tablet(), "WIND-1", "make", **told, **WOUND | {"spools-1-amount": "20,5 g"})
    assert Link.objects.get(child=item_by_code("T1")).amount == 20_500_000


def test_going_back_to_what_is_logged_logs_nothing_twice():
    builders.a_spool("SP1")
    client = tablet()
    first = screen(client, "WIND-1", "make", part="TUBE")
    told = WIND | WOUND | {"unit": "", "key": dict(first.context["hidden"])["key"]}
    log(client, "WIND-1", "make", **told)
    back = screen(client, "WIND-1", "make", **told)
    made = Item.objects.get(revision__part__number="TUBE").code
    assert "This is logged already" in text(back)
    assert made in text(back)
    assert "key=" not in back.context["begin"]


def test_a_press_after_the_session_ended_comes_back_with_everything_told(client):
    builders.a_front("F1")
    drawn = screen(tablet(), "MOULD-1", "step", unit="F1", operation="vent")
    away = client.post(drawn.context["address"], {"unit": "F1", "operation": "vent"})
    sent_to = parse_qs(urlsplit(away.url).query)["next"][0]
    assert sent_to == drawn.context["address"]
    assert "Is this right?" in text(tablet().get(sent_to))
    assert not StepRecord.objects.filter(operation__name="vent").exists()
    assert away.url.startswith(reverse("people:sign_in"))


def to_bond(*, until: float) -> str:
    """A front and a rear whose surfaces hold for so many hours from now on; the page of the front."""
    last = OperationSpec("prepare", good_for_min=60)
    for part in ("OSIER-F", "OSIER-R"):
        builders.agreed(RouteSpec(part, [OperationSpec("mould"), last]))
    for unit in (builders.a_front("F1"), builders.a_rear("B1")):
        builders.a_step(unit.code, "prepare", hours=5 + until - 1)
    return reverse("floor:unit_here", args=["BOND-1", "F1"])


def test_a_surface_that_is_no_longer_fresh_is_told_at_the_scan_before_any_glue():
    to_bond(until=-0.5)
    page = screen(tablet(), "BOND-1", "make", part="OSIER", tool="JG-1", front="F1")
    assert asked(page) == "F1 may not go in"
    assert "The prepare of F1 was good until 12:30. Do it again before you go on." in text(page)
    builders.a_step("F1", "prepare", hours=4.9)
    assert "rear" in asked(screen(tablet(), "BOND-1", "make", part="OSIER", tool="JG-1", front="F1"))


def test_a_triangle_that_has_not_been_through_its_route_is_told_at_the_scan():
    to_bond(until=0.5)
    builders.a_front("F2", tube="T2")
    page = screen(tablet(), "BOND-1", "make", part="OSIER", tool="JG-1", front="F2")
    assert "F2 has not been through prepare. That comes first." in text(page)


def test_the_page_of_a_unit_says_until_when_it_may_be_joined_and_offers_to_make_it_ready_again():
    address = to_bond(until=0.5)
    assert "Prepare good until 13:30" in text(tablet().get(address))
    assert "again: log it" not in text(tablet().get(address))
    with clock.at(builders.moment(6)):
        page = text(tablet().get(address))
    assert "The prepare of F1 was good until 13:30. Do it again before you go on." in page
    assert "operation=prepare" in page
    assert "Prepare again: log it" in page
