"""Pages of the trace: what is found, what is told of a unit, where a batch went, holds."""

import csv
import io
from datetime import datetime

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from plant.lists import plain_cell
from plant.quantities import read_quantity
from records.items.actions import Delivery, place_holds, receive_lot, renumber
from records.items.models import Hold, HoldLift, Item
from records.items.queries import holds_on, item_by_code
from records.ledger.clock import clock
from records.ledger.models import Entry
from records.release.actions import release_units, ship
from records.release.models import Passport
from records.trace import listing, strands
from tests import desks, worlds

pytestmark = [pytest.mark.usefixtures("straight_week"), pytest.mark.django_db]


@pytest.fixture
def review():
    worlds.a_straight_week()
    return worlds.signed_in("review")


def text(response) -> str:
    return response.content.decode()


def test_a_code_leads_to_its_page_in_any_case(review):
    response = review.get(reverse("trace:find"), {"code": " tw-26-004202 "})
    assert response.headers["Location"] == reverse("trace:unit", args=[worlds.HERE])


def test_an_unknown_code_is_told_with_its_look_alikes(review):
    response = review.get(reverse("trace:find"), {"code": "RB-II42"})
    assert "No such code here: RB-II42" in text(response)
    assert reverse("trace:unit", args=[worlds.RESIN]) in text(response)


def test_a_suppliers_lot_and_a_delivery_note_lead_to_every_delivery_that_has_them(review):
    """A supplier's recall names the supplier's number, not the house's."""
    part, litre = item_by_code(worlds.RESIN).part.number, read_quantity("4 kg")
    with clock.at(worlds.AFTER):
        for code, lot, note in (("RB-A", "000417", "DN 9"), ("RB-B", "000417", ""), ("RB-C", "417", "DN 9")):
            told = Delivery(part, litre, "Fell Supply", supplier_lot=lot, delivery_note=note)
            receive_lot(code, told, said=worlds.by())
    symbol = "(01)09521234544043(10)000417"
    found = {" 000417 ": "AB", symbol: "AB", "417": "C", "dn 9": "AC", "0417": ""}
    for typed, codes in found.items():
        page = text(review.get(reverse("trace:find"), {"code": typed}))
        head = page[: page.index("Everything with a code")]
        here = [one for one in "ABC" if reverse("trace:lot_to_frames", args=[f"RB-{one}"]) in head]
        assert "".join(here) == codes, typed
        assert ("is a supplier’s number" in head) == bool(codes)


def test_a_wrong_check_digit_leads_to_the_number_that_was_meant(review):
    with clock.at(worlds.AFTER):
        renumber(worlds.HERE, to="TW-26-000396-8", words="house number", said=worlds.by())
    page = text(review.get(reverse("trace:find"), {"code": "tw26396-1"}))
    assert "The check digit does not fit" in page
    assert reverse("trace:unit", args=["TW-26-000396-8"]) in page


@pytest.mark.parametrize(
    ("code", "page"),
    [
        ("G-11", "/charts/gauges/G-11/"),
        ("M-01", "/rulebook/equipment/?code=M-01#M-01"),
        ("T-1", "/stores/tank/T-1/"),
        ("quill", "/rulebook/people/?code=quill#quill"),
    ],
)
def test_every_code_of_the_house_leads_to_where_it_is_shown(review, code, page):
    response = review.get(reverse("trace:find"), {"code": code.swapcase()})
    assert response.headers["Location"] == page
    assert code in text(review.get(page))


def test_the_code_of_a_departure_leads_to_it(review):
    code = worlds.matters_waiting().departure
    response = review.get(reverse("trace:find"), {"code": code.lower()})
    assert response.headers["Location"] == reverse("quality:departure", args=[code])


def test_an_old_number_leads_to_the_newest(review):
    with clock.at(worlds.AFTER):
        renumber(worlds.HERE, to="TW-26-000396-8", words="house number", said=worlds.by())
    response = review.get(reverse("trace:unit", args=[worlds.HERE]))
    assert response.headers["Location"] == reverse("trace:unit", args=["TW-26-000396-8"])


def test_a_unit_that_is_not_on_file_is_answered_404(review):
    assert review.get(reverse("trace:unit", args=["TW-26-009999"])).status_code == 404


def test_the_page_of_a_unit_tells_measures_way_and_what_went_in(review):
    page = text(review.get(reverse("trace:unit", args=[worlds.HERE])))
    for told in ("shell-width", "34.85", "34.85 to 34.95", "Polish", worlds.RESIN):
        assert told in page, told


def test_a_hold_stands_before_everything_else_on_the_page_of_a_unit(review):
    worlds.matters_waiting()
    page = text(review.get(reverse("trace:unit", args=[worlds.HERE])))
    assert page.index("No further work, no shipping") < page.index("<h2>Measured")
    assert "label hard to read" in page


def test_where_a_batch_went_begins_with_the_finding(review):
    page = text(review.get(reverse("trace:lot_to_frames", args=[worlds.RESIN])))
    assert f"<h1>2 frames have {worlds.RESIN}</h1>" in page
    assert (
        page.index("Where the 2 frames are") < page.index("1 with those who got them") < page.index("Not yet a frame")
    )
    assert page.index(f"From {worlds.RESIN} to frame") < page.rindex(worlds.SHIPPED)


def test_where_a_batch_went_can_be_asked_as_known_on_a_day(review):
    page = text(review.get(reverse("trace:lot_to_frames", args=[worlds.RESIN]), {"as_of": "2026-03-02T12:00"}))
    assert f"<h1>No frame on file holds {worlds.RESIN}</h1>" in page


def test_a_time_that_is_none_is_told_and_nothing_is_guessed(review):
    response = review.get(reverse("trace:lot_to_frames", args=[worlds.RESIN]), {"as_of": "last week"})
    assert response.status_code == 400
    assert "is no time" in text(response)


def test_many_frames_stand_in_bundles_of_which_one_can_be_listed_alone(review, monkeypatch):
    monkeypatch.setattr(strands, "MOST_ROWS", 1)
    address = reverse("trace:lot_to_frames", args=[worlds.RESIN])
    everything = review.get(address).context
    assert len(everything["frames"]) == len(everything["lists"].frames) == 2
    assert sum(len(bundle.rows) for bundle in everything["lists"].bundles) == len(everything["frames"])
    one = review.get(address, {"bundle": "1"})
    assert tuple(one.context["frames"]) == everything["lists"].bundles[0].rows
    assert 'aria-current="true"><th' in text(one)
    assert 'aria-current="true"><th' not in text(review.get(address, {"bundle": "99"}))
    monkeypatch.setattr(listing, "MOST_LISTED", 1)
    assert tuple(review.get(address).context["frames"]) == everything["lists"].bundles[0].rows


def test_of_very_many_things_beside_the_frames_the_first_are_listed_and_the_file_holds_all(review, monkeypatch):
    address = reverse("trace:lot_to_frames", args=[worlds.RESIN])
    response = review.get(address)
    inside = [found.code for found in response.context["lists"].inside]
    assert len(inside) > 1
    assert "more of these stand in" not in text(response)
    monkeypatch.setattr(listing, "MOST_BESIDE", 1)
    page = text(review.get(address))
    assert f'{len(inside) - 1} more of these stand in the <a href="?form=csv">' in page
    assert [code for code in inside if f">{code}</a></th>" in page] == inside[:1]
    rows = list(csv.DictReader(text(review.get(address, {"form": "csv"})).splitlines()))
    assert set(inside) <= {row["code"] for row in rows}


def test_the_csv_holds_the_same_rows_as_the_page(review):
    response = review.get(reverse("trace:lot_to_frames", args=[worlds.RESIN]), {"form": "csv"})
    rows = list(csv.DictReader(text(response).splitlines()))
    assert {row["code"] for row in rows if row["list"] == "frames"} == {worlds.SHIPPED, worlds.HERE}
    assert {row["sure"] for row in rows} == {"confirmed"}
    asked = review.get(reverse("trace:lot_to_frames", args=[worlds.RESIN]), {"form": "xlsx"})
    book = load_workbook(io.BytesIO(asked.content))
    cells = [[str(cell.value or "") for cell in line] for line in book.active.rows]
    assert cells == list(csv.reader(text(response).splitlines()))


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@sum", "\t=1"])
def test_no_cell_is_taken_for_a_formula(cell):
    assert plain_cell(cell) == f"'{cell}"


def test_a_second_press_of_the_same_form_holds_once(review):
    form = {"key": "0d5f7c1e-7f4e-4e43-9a0c-0a6d5e6c9a01", "drawn_at": clock.now().isoformat()}
    form |= {"reason": "doubt", "scope": "1"}
    address = reverse("trace:hold_place", args=[worlds.HERE])
    assert [review.post(address, form).status_code for _ in range(2)] == [302, 302]
    assert Hold.objects.filter(entry__key=form["key"]).count() == 1


def test_a_form_drawn_by_the_page_can_be_sent_as_it_is(review):
    form = review.get(reverse("trace:hold_place", args=[worlds.HERE])).context["form"]
    drawn = {name: form[name].value() for name in ("key", "drawn_at")}
    response = review.post(reverse("trace:hold_place", args=[worlds.HERE]), {**drawn, "reason": "cure", "scope": "3"})
    assert response.status_code == 302
    assert Entry.objects.get(key=drawn["key"]).made_at.isoformat() == drawn["drawn_at"]


def test_a_hold_without_a_reason_is_not_placed(review):
    response = worlds.press(review, reverse("trace:hold_place", args=[worlds.HERE]), scope="1")
    assert response.status_code == 200
    assert holds_on([item_by_code(worlds.HERE).pk]) == []


def test_a_hold_is_lifted_with_a_reason(review):
    address = reverse("trace:hold_lift", args=[worlds.matters_waiting().hold])
    assert worlds.press(review, address, words=" ").status_code == 200
    assert worlds.press(review, address, words="label printed again", password="guess").status_code == 200
    assert len(holds_on([item_by_code(worlds.HERE).pk])) == 1
    assert worlds.press(review, address, words="label printed again").status_code == 302
    assert holds_on([item_by_code(worlds.HERE).pk]) == []
    assert "It may be lifted already" in text(worlds.press(review, address, words="once more"))


def test_all_that_is_in_reach_is_held_in_one_press_and_what_is_not_is_named(review):
    address = reverse("trace:hold_all", args=[worlds.RESIN])
    page = text(review.get(address))
    assert f'No hold keeps 1 frame here.</b> <a class="code" href="/trace/unit/{worlds.SHIPPED}/"' in page
    chosen = review.get(address).context["form"]["codes"].value()
    assert worlds.HERE in chosen
    assert worlds.SHIPPED not in chosen
    response = worlds.press(review, address, codes=chosen, reason="recall", words="the supplier called")
    assert response.headers["Location"] == reverse("trace:lot_to_frames", args=[worlds.RESIN])
    assert {hold.item.code for hold in Hold.objects.filter(reason="recall")} == set(chosen)
    assert Hold.objects.filter(reason="recall").values("entry").distinct().count() == 1


def test_what_was_shipped_is_chosen_by_hand_and_held_with_the_rest(review):
    address = reverse("trace:hold_all", args=[worlds.RESIN])
    form = review.get(address).context["form"]
    assert [code for code, _ in form.fields["shipped"].choices] == [worlds.SHIPPED]
    assert not form["shipped"].value()
    worlds.press(review, address, codes=[worlds.HERE], shipped=[worlds.SHIPPED], reason="recall")
    held = set(Hold.objects.filter(reason="recall").values_list("item__state__code", flat=True))
    assert held == {worlds.HERE, worlds.SHIPPED}
    token = Passport.objects.get(unit__state__code=worlds.SHIPPED).token
    assert "Do not ride" in text(review.get(reverse("passport:frame", args=[token])))


def test_all_that_was_shipped_is_held_by_one_tick(review):
    with clock.at(worlds.AFTER):
        release_units([worlds.HERE], said=worlds.by())
        ship([worlds.HERE], to="Dealer Larkmere", said=worlds.by())
    address = reverse("trace:hold_all", args=[worlds.RESIN])
    assert "All 2 that were shipped as well" in text(review.get(address))
    worlds.press(review, address, all_shipped="on", reason="recall")
    held = set(Hold.objects.filter(reason="recall").values_list("item__state__code", flat=True))
    assert held == {worlds.HERE, worlds.SHIPPED}


def test_only_what_is_in_reach_can_be_held_with_the_rest(review):
    address = reverse("trace:hold_all", args=[worlds.RESIN])
    response = worlds.press(review, address, codes=[worlds.SHIPPED], reason="recall")
    assert "is not in reach any more" in text(response)
    response = worlds.press(review, address, reason="recall")
    assert "Choose at least one" in text(response)
    assert not Hold.objects.filter(reason="recall").exists()


def test_holds_placed_together_are_lifted_together_where_that_is_meant(review):
    codes = [worlds.HERE, "TB-0001"]
    with clock.at(worlds.AFTER):
        holds = place_holds(codes, reason="recall", said=worlds.by())
    assert "Lift several at once" in text(review.get(reverse("trace:hold_lift", args=[holds[0].pk])))
    address = reverse("trace:hold_lift_several", args=[holds[0].pk])
    assert "Choose one." in text(worlds.press(review, address, words="tested"))
    assert "Tick at least one." in text(worlds.press(review, address, words="tested", which="some"))
    mixed = {"words": "tested", "which": "all", "codes": [worlds.HERE]}
    assert "say which is meant" in text(worlds.press(review, address, **mixed))
    assert "not the password" in text(worlds.press(review, address, words="tested", which="all", password="guess"))
    assert worlds.press(review, address, words="tested", which="all").status_code == 302
    assert HoldLift.objects.filter(hold__in=holds).count() == 2
    assert "None of these holds binds any more" in text(review.get(address))


def test_of_several_holds_under_one_entry_the_one_that_is_meant_is_lifted(review):
    address = reverse("trace:hold_all", args=[worlds.RESIN])
    worlds.press(review, address, codes=[worlds.RESIN, worlds.HERE], reason="recall")
    meant = Hold.objects.get(item=item_by_code(worlds.HERE), reason="recall")
    response = worlds.press(review, reverse("trace:hold_lift", args=[meant.pk]), words="not this batch")
    assert response.headers["Location"] == reverse("trace:unit", args=[worlds.HERE])
    assert holds_on([item_by_code(worlds.HERE).pk]) == []
    assert len(holds_on([item_by_code(worlds.RESIN).pk])) == 1


def test_the_hold_of_swapped_labels_leads_to_its_confirmation(review):
    waiting = worlds.matters_waiting()
    page = text(review.get(reverse("trace:unit", args=["TB-0003"])))
    assert reverse("quality:swap_confirm", args=[waiting.swap]) in page


def test_a_time_that_is_none_stays_as_it_was_typed(review):
    page = text(review.get(reverse("trace:lot_to_frames", args=[worlds.RESIN]), {"as_of": "last week"}))
    assert 'value="last week"' in page


def test_what_failed_frames_share_is_ranked_and_said_to_be_no_cause(review):
    page = text(
        review.get(reverse("trace:shared"), {"codes": f"{worlds.HERE}, {worlds.SHIPPED}", "among": "lot", "days": "0"})
    )
    assert "2 failed frames against" in page
    assert "A small chance is a lead, never a cause" in page
    assert reverse("trace:lot_to_frames", args=[worlds.RESIN]) in page


@pytest.mark.parametrize(
    ("codes", "words"),
    [
        (worlds.HERE, "Name at least two frames"),
        (f"{worlds.HERE} TW-9", "No such code here: TW-9."),
        (f"{worlds.HERE} {worlds.RESIN}", f"{worlds.RESIN} is no frame, it is a resin."),
    ],
)
def test_frames_that_cannot_be_compared_are_told_at_the_field_and_stay(review, codes, words):
    page = text(review.get(reverse("trace:shared"), {"codes": codes, "among": "lot", "days": "7"}))
    assert words in page
    assert codes in page


def test_a_frame_on_file_as_failed_stands_there_to_begin_with(review):
    worlds.press(review, reverse("quality:departure_note", args=[worlds.SHIPPED]), defect="field", words="crack")
    page = text(review.get(reverse("trace:shared")))
    assert "1 frame failed in use. What do they share?" in page
    assert worlds.SHIPPED in page


def test_a_moment_to_come_is_not_asked_about(review):
    response = review.get(reverse("trace:lot_to_frames", args=[worlds.RESIN]), {"as_of": "2199-01-01T00:00"})
    assert response.status_code == 400
    assert "2199-01-01T00:00 has not come yet" in text(response)


def test_the_code_of_a_recipe_leads_to_it(review):
    recipe = desks.a_recipe()
    response = review.get(reverse("trace:find"), {"code": desks.RECIPE.lower()})
    assert response.headers["Location"] == reverse("runs:recipe", args=[recipe.pk])


def test_everything_with_a_code_is_listed_narrowed_and_taken_along(review):
    find = reverse("trace:find")

    def listed(**asked):
        return [row.record.code for row in review.get(find, asked).context["list"].table.rows]

    assert len(listed()) == Item.objects.count()
    assert worlds.HERE in listed(kind="frame", where="here")
    assert listed(begins=worlds.RESIN.lower()) == [worlds.RESIN]
    assert worlds.SHIPPED not in listed(where="here")
    assert listed(sort="code", kind="frame") == sorted(listed(kind="frame"))
    assert listed(since="2031-01-01") == listed(part="no such part") == []
    line = next(csv.DictReader(text(review.get(find, {"form": "csv", "begins": worlds.SHIPPED})).splitlines()))
    assert (line["Code"], line["What"], line["Stands"]) == (worlds.SHIPPED, "frame", "shipped")
    assert datetime.fromisoformat(line["Since"]).utcoffset() is not None


def test_a_renumbered_unit_is_listed_once_and_found_by_its_old_number_too(review):
    with clock.at(worlds.AFTER):
        renumber(worlds.HERE, to="TW-26-000396-8", words="house number", said=worlds.by())
    rows = review.get(reverse("trace:find"), {"begins": worlds.HERE}).context["list"].table.rows
    assert [row.record.code for row in rows] == ["TW-26-000396-8"]


@pytest.mark.parametrize(
    "address", ["/trace/?code=RB%00", "/trace/unit/RB%00/", "/charts/a%00/b/", "/stores/lot/a%00/"]
)
def test_an_address_with_the_sign_of_number_nought_is_answered_400_and_asks_no_database(review, address):
    """A label of another maker may end in one; PostgreSQL refuses a look-up with it."""
    answer = review.get(address)
    assert answer.status_code == 400
    assert "This could not be read" in text(answer)
