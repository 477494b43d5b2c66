"""Labels on the floor: a pot's prints by itself, any other with one press, a later one with its reason."""

import json
from datetime import timedelta
from uuid import NAMESPACE_URL, uuid4, uuid5

import pytest
from django.urls import reverse

from plant.equipment.actions import Wanted, set_printer
from plant.equipment.queries import station_by_code
from records.floor.labelling import first_label
from records.items.models import Item
from records.items.queries import item_by_code
from records.ledger.acts import Said
from records.ledger.models import Unplaced
from records.release.actions import print_label
from records.release.models import LabelPrint
from tests import builders
from tests.records.floor.test_weighing import BASE
from tests.records.floor.told import entry, lot, send, tablet
from tests.records.release.test_labels import Receiver, printer, printer_address  # noqa: F401  # fixtures are asked for by name

pytestmark = pytest.mark.django_db
FIRST = "/floor/labels/first/"


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    clock_at(builders.moment(0.5))


def a_pot(code: str = "P1") -> None:
    send(tablet(), entry("mix", hours=0.4, pot=code, mix="EPOXY", components=[lot("R1", "100 g"), lot("H1", "30 g")]))


def first(code: str = "P1", station: str = "MOULD-1", role: str = builders.ALL_ROLES) -> dict:
    told = tablet(role).post(FIRST, json.dumps({"code": code, "station": station}), content_type="application/json")
    return told.json()


def here(code: str):
    return reverse("floor:label_here", args=["MOULD-1", code])


def press(code: str, **told: str):
    return tablet().post(here(code), {"key": str(uuid4()), "printer": "LP-1", **told}, follow=True).content.decode()


def test_the_first_label_of_a_pot_goes_to_the_printer_of_its_station_once(printer):  # noqa: F811
    a_pot()
    told = first()
    assert (told["tone"], told["words"]) == (
        "good",
        "Label 1 of P1 comes out of Labels. Stick it on and scan it back.",
    )
    assert first() == {"tone": "good", "words": ""}  # a second asking prints no second label
    assert len(printer.got) == 1
    assert LabelPrint.objects.get().copy == 1


def test_a_pot_that_has_ended_gets_no_label_by_itself(printer, clock_at):  # noqa: F811
    a_pot()
    clock_at(builders.moment(0.4 + 46 / 60))
    assert first() == {"tone": "watch", "words": "Pot P1 has ended. Do not use it."}
    assert not printer.got


def test_a_station_without_a_printer_says_so_and_nothing_is_noted(printer):  # noqa: F811
    a_pot()
    told = first(station="TRIM-1")
    assert told["tone"] == "watch"
    assert told["words"] == "No printer is named for this station. Write P1 on it until it has its label."
    assert not LabelPrint.objects.exists()


def test_a_printer_that_does_not_answer_blocks_nothing():
    set_printer("LP-1", Wanted("Labels", "ipp://127.0.0.1:9/ipp/print", 300, ("MOULD-1",)), said=builders.said(0.1))
    a_pot()
    told = first()
    assert told["tone"] == "watch"
    assert told["words"].startswith("Labels does not answer.")
    assert told["words"].endswith("Write P1 on it until it has its label.")
    assert item_by_code("P1").good_until > builders.moment(0.5)


def test_a_browser_without_script_prints_it_too(printer):  # noqa: F811
    told = BASE | {"component-2-1-amount": "30", "component-2-1-amount-again": "30"}
    address = reverse("floor:log", args=["MOULD-1", "pot"])
    drawn = tablet().get(address, told)
    sent = told | {name: drawn.context[name] for name in ("key", "made_at")}
    page = tablet().post(address, sent, follow=True).content.decode()
    code = Item.objects.get(revision__part__kind="resin-mix").code
    assert f"Label 1 of {code} comes out of Labels." in page
    assert len(printer.got) == 1


def test_any_label_is_printed_with_one_press_and_once_more_with_its_reason(printer):  # noqa: F811
    page = tablet().get(reverse("floor:label_scan", args=["MOULD-1"]), {"code": "r1"}, follow=True).content.decode()
    assert "No label of it was printed yet." in page
    assert "Label 1 of R1 comes out of Labels." in press("R1")
    assert "Say why it is printed again." in press("R1")
    assert "Label 2 of R1 comes out of Labels." in press("R1", reason="torn or dirty")
    assert list(LabelPrint.objects.order_by("copy").values_list("reason", flat=True)) == ["", "torn or dirty"]
    assert "Torn or dirty" in tablet().get(here("R1")).content.decode()


def test_a_press_sent_twice_prints_one_label(printer):  # noqa: F811
    key = str(uuid4())
    for _ in range(2):
        press("R1", key=key)
    assert LabelPrint.objects.count() == 1


@pytest.mark.parametrize("told", [{"printer": "LP-9"}, {"key": "?"}], ids=["no printer", "no key"])
def test_a_damaged_press_prints_nothing(printer, told):  # noqa: F811
    assert "note watch" in press("R1", **told)
    assert not LabelPrint.objects.exists()


def test_without_any_printer_it_is_said_who_has_one():
    assert "No printer of labels is set up. Stores prints it from a desk." in tablet().get(here("R1")).content.decode()


def test_a_code_that_is_not_on_file_is_told():
    page = tablet().get(reverse("floor:label_scan", args=["MOULD-1"]), {"code": "NO-1"}).content.decode()
    assert "No such code here: NO-1." in page


def test_the_set_up_test_label_comes_out_of_the_printer_of_the_station_and_is_known_when_it_is_scanned(printer):  # noqa: F811
    page = tablet().post(reverse("floor:label_scan", args=["MOULD-1"]), {"printer": "LP-1"}, follow=True)
    assert "It comes out of Labels." in page.content.decode()
    assert b"SCANNER-TEST-YZ-0" in printer.got[0]
    scanned = "[)>\x1e06\x1dSSCANNER-TEST-YZ-0\x1dZ1\x1e\x04"
    told = tablet().get(reverse("floor:station", args=["MOULD-1"]), {"code": scanned}, follow=True)
    assert "This scanner types as it should" in told.content.decode()


def test_what_was_logged_is_no_fault_where_its_first_label_is_refused(printer):  # noqa: F811
    a_pot()
    taken = Said(builders.a_person(), uuid5(NAMESPACE_URL, "first label of P1"), builders.moment(0.4))
    print_label("R1", said=taken)
    tone, words = first_label("P1", station_by_code("MOULD-1"), builders.a_person())
    assert (tone, words[:28]) == ("watch", "This entry was sent before w")
    assert not printer.got


def test_a_label_comes_out_once_however_often_its_key_is_touched(printer, clock_at):  # noqa: F811
    a_pot()
    key = str(uuid4())
    press("P1", key=key)
    clock_at(builders.moment(0.5) + timedelta(seconds=1))
    assert "Logged before: nothing changed." in press("P1", key=key)
    assert (len(printer.got), LabelPrint.objects.count(), Unplaced.objects.count()) == (1, 1, 0)
