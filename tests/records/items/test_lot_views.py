"""Pages of a lot, a tank and a consignment, and what can be done with a lot."""

import csv
import io
from datetime import date

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from plant.catalogue import specs
from plant.people.queries import works_zone
from plant.quantities import read_quantity
from records.items.actions import Delivery, bring_back, place_hold, receive_lot
from records.items.making import Input
from records.items.models import CertificateValue, Consignment, LifeEntry, LotDecision
from records.items.queries import find_item, item_by_code
from records.items.shelf import stock_rows
from records.ledger.models import Entry
from records.steps.actions import send_out
from tests import builders
from tests.records.floor.told import tablet
from tests.records.items.pages import press, text

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def signed(role: str) -> dict[str, str]:
    """The password with which a person signs."""
    person = builders.a_person(role)
    person.set_password("a heron stands")
    person.save()
    return {"password": "a heron stands"}


def test_a_lot_is_released_at_risk_within_a_limit_by_review_alone():
    builders.a_delivery("R1")
    told = {"words": "the gate waits", "limit": "2 kg", "until": "2026-03-05T18:00"}
    assert "not the password" in text(press("lot_risk", "R1", **told, password="guessed"))
    press("lot_risk", "R1", **told, **signed(builders.ALL_ROLES))
    decision = LotDecision.objects.get()
    assert (decision.decision, decision.limit_amount) == ("risk", 2_000_000_000)
    page = text(tablet("stores").get(reverse("items:lot", args=["R1"])))
    assert "0 g of 2 kg taken, until 5 Mar" in page
    assert "approved by <b>Everybody</b>" in page
    assert reverse("items:lot_risk", args=["R1"]) not in page
    assert "R1</a> is released at risk</b> for 2 kg" in text(tablet("stores").get(reverse("items:stock")))
    assert tablet("stores").get(reverse("items:lot_risk", args=["R1"])).status_code == 403


def test_an_amount_is_split_off_and_written_off():
    builders.fibre("FB1")
    press("lot_split", "FB1", amount="500 g", code="SP7")
    press("lot_scrap", "FB1", amount="100 g", words="wet box")
    assert (item_by_code("FB1").state.remaining, item_by_code("SP7").state.remaining) == (4_400_000_000, 500_000_000)
    page = text(tablet().get(reverse("items:lot", args=["FB1"])))
    assert "SP7" in page
    assert "4.4 kg" in page


def test_splitting_more_than_there_is_of_another_kind_is_told():
    builders.fibre("FB1")
    assert "is no unit that is used here" in text(press("lot_split", "FB1", amount="5 spoons"))
    assert "is measured in g" in text(press("lot_split", "FB1", amount="5 mm"))


def test_a_tank_tells_what_is_in_it_by_perfect_mixing():
    builders.a_charge("R1", "6 kg", hours=0)
    builders.a_draw("D1", "3 kg", hours=1)
    builders.a_charge("R2", "1 kg", hours=2)
    page = text(tablet().get(reverse("items:tank", args=["TK-1"])))
    assert "TK-1 can hold 2 lots at once" in page
    assert "75.0 % of it" in page
    assert page.index(">R2<") < page.index(">D1<")


def test_a_consignment_names_what_is_still_out():
    for code in ("F1", "F2"):
        builders.a_vented_front(code)
    out = send_out(["F1", "F2"], to="Painter", said=builders.said(2))
    bring_back(["F1"], station="STORE", said=builders.said(3))
    page = text(tablet().get(reverse("items:consignment", args=[out.code])))
    assert "1 of 2 is still out" in page
    assert 'Missing: <span class="code">F2</span>' in page
    listed = reverse("items:out_and_back")
    assert Consignment.objects.first().code in text(tablet().get(listed))
    rows = csv.DictReader(io.StringIO(tablet().get(listed, {"what": "out", "form": "csv"}).content.decode("utf-8-sig")))
    assert [(row["Code"], row["Where"], row["Units"]) for row in rows] == [(out.code, "Painter", "2")]


def test_a_lot_past_its_end_is_off_the_shelf():
    builders.a_lot("R1", expires=date(2026, 3, 1))
    builders.a_lot("R2", expires=date(2026, 3, 2))
    builders.a_pot("P1", resin="R2", hours=0)
    assert {row.code: row.is_past for row in stock_rows()} == {"R1": True, "R2": False, "H1": False, "P1": True}
    page = tablet().get(reverse("items:stock"))
    assert {row.code for row in page.context["past"]} == {"R1", "P1"}
    assert "past their end: not to be used" in text(page)
    assert [row.record.code for row in page.context["list"].table.rows] == ["H1", "R2", "P1", "R1"]


def test_the_file_of_the_shelf_holds_what_is_past_its_end_too_and_says_so():
    builders.a_lot("R1", expires=date(2026, 3, 1))
    builders.a_lot("R2", expires=date(2026, 3, 2))
    place_hold("R2", reason="doubt", words="seen", said=builders.said(1))
    lines = csv.DictReader(tablet().get(reverse("items:stock"), {"form": "csv"}).content.decode().splitlines())
    told = {line["Code"]: (line["State"], line["Held"], line["Past its end"]) for line in lines}
    assert told == {"R1": ("accepted", "no", "yes"), "R2": ("accepted", "yes", "no")}


def test_the_shelf_is_narrowed_sorted_and_taken_along():
    builders.a_lot("R1", expires=date(2026, 5, 1))
    builders.a_lot("R2", expires=date(2026, 4, 2))
    shelf = reverse("items:stock")

    def listed(**asked: str) -> list[str]:
        return [row.record.code for row in tablet().get(shelf, asked).context["list"].table.rows]

    assert listed(code="r") == ["R2", "R1"]
    assert listed(code="r", sort="code") == ["R1", "R2"]
    assert listed(part=item_by_code("R1").part.number) == ["R2", "R1"]
    assert listed(which="good") == ["R2", "R1"]
    assert listed(which="past") == listed(which="held") == []
    assert listed(code="nothing such") == []
    head, row = csv.reader(tablet().get(shelf, {"form": "csv", "code": "R2"}).content.decode().splitlines())
    told = dict(zip(head, row, strict=True))
    assert (told["Code"], told["Last good day"], told["State"]) == ("R2", "2026-04-02", "accepted")
    book = load_workbook(io.BytesIO(tablet().get(shelf, {"form": "xlsx", "code": "R2"}).content))
    _, cells = ([cell.value for cell in line] for line in book.active.rows)
    left, unit = (cells[head.index(word)] for word in ("Left", "Unit"))
    assert (left, unit) == (find_item("R2").state.remaining / 10**6, "g")


@pytest.mark.parametrize(("name", "code"), [("lot", "R9"), ("lot", "F1"), ("tank", "TK-9"), ("consignment", "CN-9")])
def test_what_is_not_on_file_is_not_found(name, code):
    builders.a_front("F1")
    assert tablet().get(reverse(f"items:{name}", args=[code])).status_code == 404


def test_a_lot_is_rejected_only_with_a_reason():
    builders.a_delivery("R1")
    assert "Write why this lot is rejected" in text(press("lot_decide", "R1", choice="reject"))
    assert not LotDecision.objects.exists()
    press("lot_decide", "R1", choice="reject", words="frozen")
    assert LotDecision.objects.get().decision == "reject"


def test_more_than_a_lot_holds_is_stopped_before_it_is_split_and_kept_and_marked_once_it_is_done():
    builders.fibre("FB1")
    client, address = tablet(), reverse("items:lot_split", args=["FB1"])
    form = client.get(address).context["form"]
    drawn = {field: str(form.initial[field]) for field in ("key", "drawn_at")}
    told = drawn | {"amount": "900 kg", "code": "SP9"}
    assert "FB1 holds 5 kg by the records. Take less" in text(client.post(address, told))
    assert find_item("SP9") is None
    page = client.post(address, told | {"done": "on"}, follow=True)
    assert "more was taken from FB1 than it should hold: weigh it" in text(page)
    again = client.post(address, told | {"done": "on"}, follow=True)
    assert "SP9 is split off" in text(again)
    assert item_by_code("SP9").state.remaining == 900 * 10**9


def test_all_that_a_lot_holds_is_split_off_and_the_same_press_again_changes_nothing():
    builders.fibre("FB1")
    client, address = tablet(), reverse("items:lot_split", args=["FB1"])
    form = client.get(address).context["form"]
    told = {field: str(form.initial[field]) for field in ("key", "drawn_at")} | {"amount": "5 kg", "code": "SP9"}
    for _ in range(2):
        assert client.post(address, told).status_code == 302
    assert item_by_code("FB1").state.remaining == 0


def test_a_tank_is_charged_drawn_from_and_cleaned_at_the_desk(clock_at):
    builders.a_lot("R1", quantity="20 kg")
    assert "R1 holds 20 kg by the records" in text(press("tank_charge", "TK-1", lot="R1", amount="21 kg"))
    press("tank_charge", "TK-1", lot="r1", amount="6 kg")
    assert "TK-1 holds 6 kg by its log" in text(press("tank_draw", "TK-1", amount="6.1 kg"))
    press("tank_draw", "TK-1", amount="1 kg", code="D1")
    assert (item_by_code("R1").state.remaining, item_by_code("D1").state.remaining) == (14 * 10**9, 10**9)
    clock_at(builders.moment(6))
    press("tank_clean", "TK-1", done="on")
    assert "TK-1 is empty by the records" in text(tablet().get(reverse("items:tank", args=["TK-1"])))


def test_a_lot_is_moved_opened_and_sent_back_from_its_page():
    builders.a_delivery("R1")
    press("lot_move", "R1", station="WIND-1")
    press("lot_keep", "R1", what="opened")
    press("lot_back", "R1", amount="1 kg", words="claim 12")
    page = text(tablet().get(reverse("items:lot", args=["R1"])))
    assert "at WIND-1" in page
    assert "19 kg" in page
    assert "R1 has been open since" in text(press("lot_keep", "R1", what="opened"))


def test_the_page_of_a_lot_past_its_end_offers_to_hold_it_or_to_write_it_off():
    builders.a_lot("R1", expires=date(2026, 3, 1))
    page = text(tablet().get(reverse("items:lot", args=["R1"])))
    links = {name: reverse(f"items:{name}", args=["R1"]) in page for name in ("lot_split", "lot_move", "lot_scrap")}
    assert links == {"lot_split": False, "lot_move": False, "lot_scrap": True}
    assert "R1 is past its end, 1 March 2026." in page


def test_of_two_who_decide_at_once_the_second_is_told_and_puts_the_first_aside_only_by_another_press():
    builders.a_delivery("R1")
    client, address = tablet(), reverse("items:lot_decide", args=["R1"])
    pages = [client.get(address).context["form"] for _ in range(2)]
    first, second = ({name: str(form.initial[name]) for name in ("key", "drawn_at", "seen")} for form in pages)
    assert client.post(address, first | {"choice": "accept"}).status_code == 302
    told = client.post(address, second | {"choice": "reject", "words": "lumps"})
    assert "Everybody has decided on R1 since this page was opened: it is accepted." in text(told)
    assert LotDecision.objects.get().decision == "accept"
    assert "R1</span> is accepted" in text(told)
    again = told.context["form"]
    fresh = {name: str(again[name].value()) for name in ("key", "drawn_at", "seen")}
    assert client.post(address, fresh | {"choice": "reject", "words": "lumps"}).status_code == 302
    assert [row.decision for row in LotDecision.objects.order_by("at", "pk")] == ["accept", "reject"]
    assert "Accept it: it may be used" in text(client.get(address))
    assert "Reject it: it may not be used" not in text(client.get(address))


def test_two_lots_of_one_part_are_put_together_at_the_desk():
    builders.a_lot("R1", quantity="20 kg", expires=date(2026, 6, 1))
    builders.a_lot("R2", quantity="5 kg", expires=date(2026, 5, 1))
    builders.a_lot("H1", "HRD-A")
    assert "R1 holds 20 kg by the records" in text(
        press("lot_merge", "R1", amount="21 kg", other="R2", other_amount="1 kg")
    )
    assert "R9" in text(press("lot_merge", "R1", amount="1 kg", other="R9", other_amount="1 kg"))
    told = {"amount": "1 kg", "other_amount": "1 kg"}
    assert "R1 is the lot of this page." in text(press("lot_merge", "R1", other="R1", **told))
    assert "H1" in text(press("lot_merge", "R1", other="H1", **told))
    assert "H1 is taken" in text(press("lot_merge", "R1", other="R2", code="H1", **told))
    assert item_by_code("R1").state.remaining == 20 * 10**9
    client, address = tablet(), reverse("items:lot_merge", args=["R1"])
    form = client.get(address).context["form"]
    drawn = {name: str(form.initial[name]) for name in ("key", "drawn_at")}
    told = drawn | {"amount": "3 kg", "other": "r2", "other_amount": "5 kg", "code": "R3"}
    first, second = (client.post(address, told, follow=True) for _ in range(2))
    made = first.context["page"].lot
    assert second.context["page"].lot == made
    assert "holds both. Stick its label on." in text(first)
    assert (made.state.remaining, made.expires_on) == (8 * 10**9, date(2026, 5, 1))
    assert (item_by_code("R1").state.remaining, item_by_code("R2").state.remaining) == (17 * 10**9, 0)


def test_more_than_a_lot_holds_is_not_written_off_unless_it_is_done():
    builders.fibre("FB1")
    for name, words in (("lot_scrap", "spilt"), ("lot_back", "claim 3")):
        page = text(press(name, "FB1", amount="900 kg", words=words))
        assert "FB1 holds 5 kg by the records" in page
    assert item_by_code("FB1").state.remaining == 5 * 10**9
    press("lot_scrap", "FB1", amount="6 kg", words="spilt", done="on")
    assert item_by_code("FB1").state.remaining == -(10**9)


def test_a_certificate_is_written_value_by_value_as_its_part_asks():
    limits = [specs.CertificateSpec("viscosity", "mPa s", "250", "400"), specs.CertificateSpec("gel time", "min", "30")]
    builders.agreed(specs.PartSpec("RES-C", "resin", "g", prefix="RB", certificate=limits))
    press("lot_receive", part="RES-C", amount="20 kg", supplier="Fell Supply", code="R1")
    address = reverse("items:lot_certificate", args=["R1"])
    form = tablet().get(address).context["form"]
    viscosity, gel = list(form.fields)[:2]
    assert "Asked: 250 to 400 mPa s." in text(tablet().get(address))
    assert "is no unit" in text(press("lot_certificate", "R1", **{viscosity: "310 as it stands on page two"}))
    assert "Write at least one value." in text(press("lot_certificate", "R1"))
    press("lot_certificate", "R1", **{viscosity: "310", gel: "2520 s"}, values="colour = amber")
    kept = CertificateValue.objects.order_by("pk").values_list("name", "written", "unit")
    assert list(kept) == [("viscosity", "310", "mPa s"), ("gel time", "2520", "s"), ("colour", "amber", "")]
    assert "which can’t be compared with at least 30 min" in text(
        tablet().get(reverse("items:lot_decide", args=["R1"]))
    )
    press("lot_certificate", "R1", **{gel: "42"})
    press("lot_decide", "R1", choice="accept")
    assert LotDecision.objects.get().decision == "accept"


def test_what_is_done_with_a_lot_stands_by_the_role_that_may_do_it():
    builders.a_delivery("R1")

    def offered(role: str) -> set[str]:
        page = text(tablet(role).get(reverse("items:lot", args=["R1"])))
        return {name for name in ("split", "merge", "move", "scrap", "back", "decide", "risk") if link(name) in page}

    def link(name: str) -> str:
        return f'href="{reverse(f"items:lot_{name}", args=["R1"])}"'

    assert offered("stores") == {"split", "merge", "move", "scrap", "back", "decide"}
    assert offered("review") == {"move", "scrap", "risk"}
    assert offered("lead") == {"split", "merge", "move", "scrap"}
    assert offered("auditor") == offered("engineer") == set()


def test_what_was_done_earlier_is_kept_as_of_its_moment(clock_at):
    builders.fibre("FB1")
    clock_at(builders.moment(9))
    local = "%Y-%m-%dT%H:%M"
    when = builders.moment(6).astimezone(works_zone()).strftime(local)
    assert "This moment has not come yet." in text(press("lot_keep", "FB1", what="out", when="2099-01-01T10:00"))
    press("lot_keep", "FB1", what="out", when=when)
    line = LifeEntry.objects.get()
    assert (line.what, line.at) == ("out", builders.moment(6))
    press("lot_split", "FB1", amount="1 g", code="FB2", when=when)
    split = item_by_code("FB2")
    assert split.born_at == builders.moment(6)
    assert Entry.objects.get(pk=split.entry_id).happened_at == builders.moment(6)


def test_a_package_and_what_is_split_off_it_tell_by_whose_limits_they_go_and_whose_delivery_they_are():
    packages = [Input("P1", read_quantity("5 kg"))]
    delivery = Delivery("RES-A", read_quantity("20 kg"), "Fell Supply", supplier_lot="FS-7", packages=packages)
    receive_lot("R1", delivery, said=builders.said())
    told = {"words": "the gate waits", "limit": "2 kg", "until": "2026-03-05T18:00"}
    press("lot_risk", "R1", **told, **signed(builders.ALL_ROLES))
    press("lot_split", "P1", amount="500 g", code="P2")
    for code, taken in (("P1", "500 g"), ("P2", "500 g")):
        page = text(tablet("stores").get(reverse("items:lot", args=[code])))
        assert "Released at risk: put the watch tag on." in page
        assert f"{taken} of 2 kg taken, until 5 Mar" in page
        assert page.count(reverse("items:lot", args=["R1"])) >= 2
        assert "their lot FS-7" in page
        assert "no delivery is on file" not in page
    press("lot_decide", "R1", choice="accept")
    assert "put the watch tag on" not in text(tablet("stores").get(reverse("items:lot", args=["P1"])))


@pytest.mark.parametrize(
    ("limit", "until", "words"),
    [
        ("21 kg", "2026-03-05T18:00", "20 kg of R1 came: 21 kg is no limit."),
        ("2 kg", "2036-03-05T18:00", "is more than a year away: that is no limit for R1"),
    ],
)
def test_a_limit_that_limits_nothing_releases_nothing(limit, until, words):
    builders.a_delivery("R1")
    told = {"words": "the gate waits", "limit": limit, "until": until}
    assert words in text(press("lot_risk", "R1", **told, **signed(builders.ALL_ROLES)))
    assert not LotDecision.objects.exists()
    press("lot_risk", "R1", **(told | {"limit": "20 kg", "until": "2026-03-05T18:00"}), **signed(builders.ALL_ROLES))
    assert LotDecision.objects.get().limit_amount == 20 * 10**9
