"""The balance of a lot: its sum, the gap of a count, and how far the weighings can be off."""

import csv
import io
from dataclasses import replace
from math import sqrt

import pytest
from django.urls import reverse

from plant.equipment.actions import Found, add_equipment, calibrate_gauge
from plant.quantities import read_quantity
from records.items.actions import (
    Correction,
    Counted,
    Delivery,
    Weighing,
    correct_link,
    count_stock,
    explain_count,
    merge_lots,
    mix_pot,
    put_in,
    receive_lot,
    scrap,
    send_back,
    split_lot,
    take_out,
    tell_use_late,
)
from records.items.balance_bar import BalanceBar, balance_bar
from records.items.balancing import balanced
from records.items.gates import ask_amount
from records.items.models import WeighedOn
from records.items.queries import balances, item_by_code
from records.items.shelf import stock_rows
from records.items.weighing import Error, Gap, anywhere_within, combined, error_on, gap_of, together, two_figures
from tests import builders
from tests.builders import of, said
from tests.records.floor.told import tablet
from tests.refusing import refuses

G = 10**6


def test_the_sums_of_the_guide_come_out():
    """JCGM 100:2008, from memory: 4.4.5 (96 to 104 degrees), F.2.2.1 (0.29 of a step), H.1.4 (an end gauge)."""
    assert anywhere_within(4) == pytest.approx(2.3, abs=0.05)
    assert error_on(1).standard == pytest.approx(0.29, abs=0.005)
    assert together([25, 9.7, 2.9, 16.6]) == pytest.approx(32, abs=0.5)
    assert together([25, 9.7, 2.9, 16.6]) ** 2 == pytest.approx(1002, rel=0.002)


def test_readings_add_by_their_squares_not_in_a_row():
    """Hand calculation: 16 weighings of u = 0.5 are 2, and k = 2 makes 4; in a row they would be 16."""
    readings = [Error(own=0.5, scale="S1")] * 16
    gap = gap_of(5, readings)
    assert gap.expanded == pytest.approx(4)
    assert gap.is_beyond
    assert not gap_of(4, readings).is_beyond
    assert gap_of(-5, readings).is_beyond


def test_what_a_calibration_leaves_open_is_the_same_at_each_weighing_on_one_scale():
    """JCGM 100:2008, example of 5.2.2, from memory: ten resistors of 1 kOhm, each calibrated against one standard with
    u = 0.1 Ohm, make 10 kOhm with u = 1 Ohm, and not the 0.32 Ohm that independent ones would have.
    """
    series = [error_on(0, 2 * 0.1, scale="Rs") for _ in range(10)]
    assert combined(series) == pytest.approx(1.0)
    apart = [error_on(0, 2 * 0.1, scale=f"R{n}") for n in range(10)]
    assert combined(apart) == pytest.approx(0.32, abs=0.005)


def test_two_scales_are_off_independently():
    """Hand calculation: three weighings of 1 on one scale are 3 in a row, two of 2 on the other 4; together 5."""
    errors = [Error(alike=1, scale="S1")] * 3 + [Error(alike=2, scale="S2")] * 2
    assert combined(errors) == pytest.approx(5)
    assert combined([*errors, Error(own=12)]) == pytest.approx(13)


@pytest.mark.parametrize(("amount", "fits"), [(0, 0), (-1, 0), (280, 2), (295, 2), (296, 1), (590, 1), (591, 0)])
def test_a_gap_has_room_for_what_fits_with_all_of_its_error(amount, fits):
    assert Gap(560, 30).room_for(amount) == fits


@pytest.mark.parametrize("wrong", [lambda: anywhere_within(-1), lambda: error_on(-1), lambda: error_on(1, -1)])
def test_a_width_below_nought_is_a_wrong_call(wrong):
    with pytest.raises(ValueError, match="below nought"):
        wrong()


@pytest.mark.parametrize(("written", "kept"), [(0, 0), (-1, 0), (99.1, 100), (0.00123, 0.0013), (12, 12), (12.1, 13)])
def test_an_uncertainty_is_told_to_two_figures_rounded_up(written, kept):
    assert two_figures(written) == pytest.approx(kept)


@pytest.fixture
def works(db):
    builders.a_works(holds={})
    found = Found("good", unit="g", resolution="1", expanded="0.6", due_on=None)
    calibrate_gauge("SCALE-1", found, said=said(-100))


def worked_lot() -> None:
    """20 kg of which 2 kg and 1 kg are split off, 500 g written off, 300 g sent back: 16.2 kg are left."""
    builders.a_lot("R1", quantity="20 kg")
    for code, amount in (("S1", "2 kg"), ("S2", "1 kg")):
        split_lot("R1", [of(code, amount)], said=said(0))
    scrap("R1", words="spilt", quantity=read_quantity("500 g"), said=said(0))
    send_back("R1", words="claim", quantity=read_quantity("300 g"), said=said(0))


def count(amount: str, lot: str = "R1"):
    return count_stock([Counted(lot, read_quantity(amount))], scale="SCALE-1", said=said(1))[0]


def test_received_is_used_and_left_and_waste_and_sent_back_and_the_gap(works):
    worked_lot()
    count("15.9 kg")
    found = balanced(item_by_code("R1"))
    sums = found.sums
    assert found.gap.amount == 300 * G
    assert sums == balances([item_by_code("R1").pk])[item_by_code("R1").pk]
    assert sums.received == sums.drawn + found.left + sums.waste + sums.back + found.gap.amount
    told = balance_bar(found)
    assert told.words.startswith(
        "20 kg came in = 0 g used + 15.9 kg left + 3 kg moved to other lots + 500 g written off + 300 g sent back + a "
    )
    assert told.finding == "300 g is missing: more than the weighings can be off"
    assert told.explained == "The difference waits for a reason."


def test_the_error_is_that_of_every_weighing_up_to_the_count_and_of_the_count_itself(works):
    worked_lot()
    count("16.2 kg")
    split_lot("R1", [of("S3", "1 kg")], said=said(2))
    gap = balanced(item_by_code("R1")).gap
    # Hand calculation: 1 g steps, U = 0.6 g; a receipt, two draws, two losses and the count are six on one scale: the
    # readings make sqrt(6 * 0.5^2 / 3) g, the calibration 6 * 0.3 g: U = 2 sqrt(0.5 + 3.24) g.
    assert gap.expanded / G == pytest.approx(2 * sqrt(0.5 + 1.8**2), rel=1e-9)
    assert not gap.is_beyond


def test_a_mass_of_a_pot_has_the_error_of_the_scale_that_it_was_weighed_on(works):
    add_equipment("gauge", "SCALE-2", kind="scale", unit_kind="mass", said=said(-101))
    calibrate_gauge("SCALE-2", Found("good", unit="g", resolution="0.1", expanded="0.1", due_on=None), said=said(-100))
    builders.a_lot("R1", quantity="5 kg")
    builders.a_lot("H1", "HRD-A", quantity="5 kg")
    inputs = [replace(of("R1", "100 g"), scale="SCALE-1"), replace(of("H1", "30 g"), scale="SCALE-2")]
    mix_pot("P1", mix="EPOXY", inputs=inputs, said=said(0))
    count("4.97 kg", "H1")
    gap = balanced(item_by_code("H1")).gap
    # Hand calculation: receipt and count on the coarsest one (1 g, U = 0.6 g), 30 g on the fine one (0.1 g, U = 0.1 g):
    # readings 2 * 0.5^2 / 3 + 0.05^2 / 3, calibrations (2 * 0.3)^2 + 0.05^2, all in g^2.
    readings, calibrations = 2 * 0.25 / 3 + 0.0025 / 3, 0.36 + 0.0025
    assert gap.expanded / G == pytest.approx(2 * sqrt(readings + calibrations), rel=1e-9)
    assert "on SCALE-1 and SCALE-2" in balance_bar(balanced(item_by_code("H1"))).basis
    assert {one.error.scale for one in balanced(item_by_code("P1")).weighed} == {"SCALE-1", "SCALE-2"}
    count_stock([Counted("R1", read_quantity("4.9 kg"))], scale="SCALE-2", said=said(1))
    assert "3 weighings together, on SCALE-1 and SCALE-2" in balance_bar(balanced(item_by_code("R1"))).basis


def test_a_scale_goes_over_to_the_right_lot_with_the_mass(works):
    for code in ("R1", "R2"):
        builders.a_lot(code)
    builders.a_lot("H1", "HRD-A")
    made = mix_pot(
        "P1", mix="EPOXY", inputs=[of("R1", "100 g"), of("H1", "30 g")], weighing=Weighing(("SCALE-1",)), said=said(0)
    )
    correct_link(made.entry.key, Correction("R1", "R2"), words="the can beside it", said=said(1))
    right = WeighedOn.objects.get(link__parent=item_by_code("R2"))
    assert right.scale.code == "SCALE-1"


def test_what_was_used_since_the_count_is_no_part_of_its_gap(works):
    worked_lot()
    count("16.1 kg")
    split_lot("R1", [of("S3", "1 kg")], said=said(2))
    found = balanced(item_by_code("R1"))
    assert (found.gap.amount, found.left) == (100 * G, 15_100 * G)


def test_more_than_the_records_say_is_told_as_too_much(works):
    worked_lot()
    count("16.4 kg")
    told = balance_bar(balanced(item_by_code("R1")))
    assert "200 g is there too much" in told.finding
    assert "a gap of -200 g" in told.words
    assert told.gap is None


def test_a_gap_within_what_weighing_can_tell_agrees(works):
    worked_lot()
    count("16.1985 kg")
    assert "agrees with the records" in balance_bar(balanced(item_by_code("R1"))).finding


def a_gap_with_doubts(doubts: int) -> BalanceBar:
    """20 kg, of which three pots took 480 g each; 560 g are missing, and some fills have no pot scanned."""
    builders.a_lot("R1", quantity="20 kg")
    for n in range(3):
        builders.a_pot(f"P{n}", grams=480, hours=0)
    for n in range(doubts):
        builders.a_front(f"F{n}", pots=["P9"], hours=0.5)
        tell_use_late(f"F{n}", lot=of("P0", "0 g", possible=1), words="nobody scanned", said=said(0.6))
    count("18 kg")  # 560 g are missing
    return balance_bar(balanced(item_by_code("R1")))


def test_the_gap_says_what_it_has_room_for_and_weighing_takes_nothing_off_the_list(works):
    assert "the gap has room for 1 that nobody logged" in a_gap_with_doubts(0).room


@pytest.mark.parametrize(
    ("doubts", "finding"),
    [
        (1, "There is room for the 1 that nobody scanned, so it stays on the list"),
        (2, "The gap has room for 1 of the 2 that nobody scanned; all stay on the list"),
    ],
)
def test_the_gap_is_held_against_what_nobody_scanned(works, doubts, finding):
    builders.a_lot("R9", quantity="5 kg")
    builders.a_pot("P9", resin="R9", hours=0)
    told = a_gap_with_doubts(doubts)
    assert told.finding == finding
    assert "Weighing alone takes nothing off the list" in told.room


def test_a_reason_for_the_difference_stands_beside_it(works):
    worked_lot()
    explain_count(count("16 kg"), why="lost", words="a drum leaked", said=said(2))
    told = balance_bar(balanced(item_by_code("R1")))
    assert told.explained == "Explained as spilled, spoiled or taken as a sample: “a drum leaked”, and written off."


def test_without_a_count_no_gap_is_told(works):
    worked_lot()
    told = balance_bar(balanced(item_by_code("R1")))
    assert (told.gap, told.finding) == (None, "By the records 16.2 kg is left")
    assert "Nobody has counted what is left" in told.basis


def test_pieces_have_no_weighing_error(works):
    builders.a_lot("N1", "INS-BB", "60 pcs")
    count("59 pcs", "N1")
    found = balanced(item_by_code("N1"))
    assert (found.gap.amount, found.gap.expanded) == (1, 0)
    assert "1 pcs is missing: more than" in balance_bar(found).finding


def test_a_unit_and_a_lot_without_amount_have_no_balance(works):
    builders.a_front("F1")
    assert balanced(item_by_code("F1")) is None


def test_the_balance_stands_on_the_page_of_the_lot_and_is_taken_along(works):
    worked_lot()
    count("15.9 kg")
    address = reverse("items:lot", args=["R1"])
    page = tablet().get(address).content.decode()
    assert "300 g is missing" in page
    assert 'class="balance-error"' in page
    rows = list(csv.reader(io.StringIO(tablet().get(address, {"form": "csv"}).content.decode("utf-8-sig"))))
    assert rows[0][:3] == ["What", "Amount", "Unit"]
    amounts = {row[0]: row[1] for row in rows[1:]}
    assert amounts["came in"] == "20000"
    assert (amounts["sum: left"], amounts["sum: gap"]) == ("15900", "300")
    assert 'aria-label="Balance"' in tablet().get(reverse("trace:lot_to_frames", args=["R1"])).content.decode()


def the_sum_comes_out(found) -> bool:
    sums = found.sums
    return sums.received == sums.drawn + found.left + sums.waste + sums.back + found.gap.amount


def test_a_use_that_is_told_after_the_count_closes_its_gap_and_is_not_missing_twice(works):
    worked_lot()
    builders.a_lot("H1", "HRD-A")
    mix_pot("P1", mix="EPOXY", inputs=[of("R1", "100 g"), of("H1", "30 g")], said=said(0.5))
    count("15.9 kg")  # 200 g are missing
    tell_use_late("P1", lot=of("R1", "200 g"), words="a second can", said=said(0.5))
    found = balanced(item_by_code("R1"))
    assert (found.gap.amount, found.left) == (0, 15_900 * G)
    assert the_sum_comes_out(found)
    told = "At the count the records said 16.1 kg; by what was told since they say 15.9 kg of that moment."
    assert told in balance_bar(found).explained


def test_the_shelf_and_the_page_of_a_lot_say_the_same_of_what_a_count_found(works):
    worked_lot()
    for code in ("R2", "R3"):
        builders.a_lot(code, quantity="5 kg")
    split_lot("R3", [of("S9", "5 kg")], said=said(0))
    for lot, found in (("R1", "15.9 kg"), ("R2", "0 kg"), ("R3", "100 g")):
        count(found, lot)
    tell_use_late("S9", lot=of("R1", "100 g"), words="forgotten", said=said(0.5))
    left = {row.code: row.left for row in stock_rows()}
    for lot in ("R1", "R2", "R3"):
        assert left.get(lot, 0) == balanced(item_by_code(lot)).left, lot
    assert (left["R1"], left["R3"]) == (15_900 * G, 100 * G)
    assert "R2" not in left  # nobody found any of it: it is not what to take first


def test_a_count_that_comes_late_is_held_against_what_the_records_say_of_its_own_moment(works):
    worked_lot()
    split_lot("R1", [of("S3", "1 kg")], said=said(2))
    made = count("16.2 kg")  # taken at 1, without a link, before the kilogram went out
    assert made.difference == 0
    assert balanced(item_by_code("R1")).left == 15_200 * G


def test_what_a_count_found_lost_is_written_off_with_its_reason_once(works):
    worked_lot()
    made = count("15.9 kg")
    explain_count(made, why="lost", words="a can fell", said=said(2))
    found = balanced(item_by_code("R1"))
    assert (found.gap.amount, found.left, found.sums.waste) == (0, 15_900 * G, 800 * G)
    assert item_by_code("R1").state.remaining == 15_900 * G
    assert the_sum_comes_out(found)


@pytest.mark.parametrize("why", ["unlogged", "unknown", "scales"])
def test_what_is_not_said_to_be_lost_stays_a_gap_with_its_room(works, why):
    worked_lot()
    explain_count(count("15.9 kg"), why=why, words="", said=said(2))
    found = balanced(item_by_code("R1"))
    assert (found.gap.amount, found.left, found.sums.waste) == (300 * G, 15_900 * G, 500 * G)


def test_a_count_that_was_wrong_is_not_gone_by(works):
    worked_lot()
    explain_count(count("1.62 kg"), why="miscounted", words="a figure slipped", said=said(2))
    found = balanced(item_by_code("R1"))
    assert (found.count, found.gap, found.left) == (None, None, 16_200 * G)


def test_what_was_taken_out_of_a_unit_after_a_count_was_used_before_it(works):
    builders.a_lot("N1", "INS-BB", quantity="60 pcs")
    builders.a_front("F1", hours=0)
    put_in("F1", lot=of("N1", "2 pcs"), said=said(0.5))
    count("58 pcs", "N1")
    take_out("F1", item="N1", words="bad", said=said(3))
    found = balanced(item_by_code("N1"))
    assert (found.gap.amount, found.left) == (0, 58)
    assert [one.at for one in found.weighed if one.what == "used"] == [builders.moment(0.5)]


def test_all_that_is_left_is_what_the_last_count_left(works):
    worked_lot()
    count("15.9 kg")
    scrap("R1", words="old", said=said(2))
    found = balanced(item_by_code("R1"))
    assert (found.left, found.sums.waste, found.gap.amount) == (0, 16_400 * G, 300 * G)
    assert the_sum_comes_out(found)


def test_what_a_count_found_too_much_may_be_taken_and_what_it_found_missing_may_not(works):
    worked_lot()
    lot = item_by_code("R1")
    ask_amount(lot, read_quantity("16.2 kg"), said(2))
    count("16.4 kg")
    ask_amount(lot, read_quantity("16.4 kg"), said(2))
    count_stock([Counted("R1", read_quantity("15.9 kg"))], said=said(1.5))
    with refuses("over-drawn", "holds 15.9 kg by the records"):
        ask_amount(lot, read_quantity("16.2 kg"), said(2))


def test_what_was_moved_to_other_lots_is_used_where_those_are_used(works):
    """Hand calculation: of 10 kg 100 g went into a pot, 3 kg were split off and 1 kg put together; 5.9 kg are left."""
    for lot in ("R1", "R2"):
        builders.a_lot(lot, quantity="10 kg")
    builders.a_lot("H1", "HRD-A")
    mix_pot("P1", mix="EPOXY", inputs=[of("R1", "100 g"), of("H1", "30 g")], said=said(0))
    split_lot("R1", [of("S1", "3 kg")], said=said(0))
    merge_lots("M1", [of("R1", "1 kg"), of("R2", "1 kg")], said=said(0))
    mother, split = balanced(item_by_code("R1")), balanced(item_by_code("S1"))
    assert (mother.used, mother.moved, mother.left, mother.sums.received) == (100 * G, 4000 * G, 5900 * G, 10_000 * G)
    assert mother.one_use == 100 * G  # a split is no measure of what one use takes
    assert balance_bar(mother).words == "10 kg came in = 100 g used + 5.9 kg left + 4 kg moved to other lots."
    assert {piece.name for piece in balance_bar(mother).pieces} == {"left", "used", "in other lots"}
    assert balance_bar(split).words == "3 kg came in = 0 g used + 3 kg left."
    split_lot("S1", [of("S2", "3 kg")], said=said(1))
    assert "has its balance there" in balance_bar(balanced(item_by_code("S1"))).finding


def test_what_stands_in_packages_of_a_delivery_is_not_used(works):
    packages = [of("K1", "5 kg"), of("K2", "5 kg")]
    delivery = Delivery(part="RES-A", quantity=read_quantity("12 kg"), supplier="Fell Supply", packages=packages)
    receive_lot("R1", delivery, said=said(-1))
    told = balance_bar(balanced(item_by_code("R1")))
    assert told.words == "12 kg came in = 0 g used + 2 kg left + 10 kg in packages of its own."
    assert told.room == ""
    scrap("R1", words="old", said=said(1))
    assert "but in its packages" in balance_bar(balanced(item_by_code("R1"))).finding
    assert {piece.name for piece in balance_bar(balanced(item_by_code("R1"))).pieces} == {"in packages", "written off"}
