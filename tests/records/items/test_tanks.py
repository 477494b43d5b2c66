"""Tanks, bins and heads: links of draws are those of the whole log, whatever came late, was corrected or taken back."""

from datetime import timedelta

import pytest

from plant.catalogue import specs
from plant.catalogue.queries import tank_by_code
from plant.quantities import Quantity, read_quantity
from records.items.actions import (
    Correction,
    charge_tank,
    clean_tank,
    correct_link,
    draw_tank,
    merge_lots,
    mix_pot,
    mount_lot,
    place_hold,
    split_lot,
    withdraw,
)
from records.items.deriving import log_around, log_of, rederive_draws
from records.items.mixing import stretch, work_out
from records.items.models import FeedEntry, Link, TankEntry
from records.items.queries import holds_on, item_by_code
from records.ledger.acts import act, flags_of
from records.ledger.marks import Mark
from records.ledger.models import Entry
from records.ledger.verifying import verify
from records.steps.actions import Made, wind
from records.trace.queries import made_from, where_used
from tests import builders
from tests.builders import moment, of, said
from tests.refusing import refuses

pytestmark = pytest.mark.django_db
KG = 10**9


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})


def charge(lot, quantity, hours):
    told = said(hours)
    builders.the_lot(lot, "RES-A", "1000 kg")
    charge_tank("TK-1", lot=of(lot, quantity), said=told)
    return told.key


def draw(into, quantity, hours):
    draw_tank("TK-1", into=into, quantity=read_quantity(quantity), said=(told := said(hours)))
    return told.key


def clean(hours):
    clean_tank("TK-1", said=(told := said(hours)))
    return told.key


def holds(code, mark=None):
    """What a draw holds: lot, confirmed or possible, share, least and most in percent."""
    links = Link.objects.standing(mark).filter(child__codes__code=code).select_related("parent__state")
    return {
        link.parent.code: (
            "possible" if link.certainty else "confirmed",
            *(part / 10**7 for part in (link.share_ppb, link.least_ppb, link.most_ppb)),
        )
        for link in links
    }


@pytest.fixture
def two_lots(works):
    charge("R1", "20 kg", 0)
    draw("P1", "18 kg", 1)
    charge("R2", "20 kg", 2)
    draw("P2", "4 kg", 4)
    draw("P3", "4 kg", 5)


TWO = {"R1": ("possible", 9.0909091, 0, 50), "R2": ("confirmed", 90.9090909, 50, 100)}
THREE = {
    "R1": ("possible", 6.25, 0, 50),
    "R2": ("possible", 62.5, 0, 100),
    "R3": ("possible", 31.25, 0, 100),
}


def test_a_charge_told_late_recomputes_every_draw_after_it_in_one_entry(two_lots):
    assert holds("P2") == TWO
    before = Entry.objects.latest("pk").pk
    key = charge("R3", "10 kg", 3)
    assert holds("P2") == THREE
    written = Link.objects.filter(entry__key=key)
    assert sorted(written.values_list("version", flat=True)) == [1, 1, 2, 2, 2, 2]
    assert {link.reason for link in written if link.version > 1} == {"tank recomputed"}
    assert holds("P2", Mark(before)) == TWO
    assert holds("P1") == {"R1": ("confirmed", 100, 100, 100)}


def test_a_cleaning_found_later_cuts_and_taken_back_joins_again(two_lots):
    key = clean(1.5)
    assert holds("P2") == {"R2": ("confirmed", 100, 100, 100)}
    withdraw(key, words="other tank", said=said(6))
    assert holds("P2") == TWO
    assert verify().faults == ()


def test_a_charge_taken_back_or_corrected_leaves_its_lot(two_lots):
    key = charge("R3", "10 kg", 3)
    correct_link(key, Correction("R3", "R4", part="RES-A"), words="other can", said=(told := said(6)))
    assert flags_of(told.key) == ["not-booked-in"]
    assert holds("P2") == {"R4" if lot == "R3" else lot: shares for lot, shares in THREE.items()}
    withdraw(key, words="not so", said=said(6))
    assert holds("P2") == TWO
    assert item_by_code("R3").state.remaining == 1000 * KG
    with refuses("unknown"):
        withdraw(key, words="not so", said=said(6))


def test_a_correction_of_a_charge_may_itself_be_corrected_under_either_key(two_lots):
    key = charge("R3", "10 kg", 3)
    correct_link(key, Correction("R3", "R4", part="RES-A"), words="other can", said=(second := said(6)))
    correct_link(second.key, Correction("R4", "R3"), words="the first after all", said=said(7))
    assert holds("P2") == THREE
    for named in (key, second.key):
        with refuses("unknown"):
            correct_link(named, Correction("R4", "R3"), words="once more", said=said(8))
    withdraw(second.key, was="R3", words="not so", said=said(9))
    assert holds("P2") == TWO
    assert verify().faults == ()


def test_a_draw_taken_back_gives_its_share_to_the_draws_after_it(two_lots):
    builders.the_lot("R5", "RES-A")
    key = draw("P9", "2 kg", 1.5)
    assert holds("P2") == {"R2": ("confirmed", 100, 100, 100)}
    withdraw(key, words="not so", said=said(6))
    assert holds("P2") == TWO
    assert holds("P9") == {}
    assert item_by_code("P9").state.remaining == 0


@pytest.mark.parametrize(("old", "new", "due"), [(3, 4.7, TWO), (4.7, 3, THREE), (4.7, 2, THREE), (3, 0.5, None)])
def test_a_line_moved_across_draws_and_cleanings_recomputes_old_and_new_stretch(two_lots, old, new, due):
    """No act moves a line yet; the sum behind all acts does it when it is given the old and the new time."""
    charge("R3", "10 kg", old)
    clean(4.5)
    line = TankEntry.objects.get(item=item_by_code("R3"))
    with act("tank charged", said(9), moved=line.pk) as a:
        moved = a.write(line.next_version(at=moment(new)))
        rederive_draws(a, line.tank, [line.at, moved.at], [line.line])
    assert due is None or holds("P2") == due
    wanted = {
        (d.line.item, p.lot): p.share_ppb for d in work_out(log_of(line.tank)).draws for p in d.portions if p.stored
    }
    standing = Link.objects.standing().filter(draw__isnull=False)
    assert {(k.child_id, k.parent_id): k.share_ppb for k in standing} == wanted


def test_the_rest_in_the_tank_through_recalls_of_each_lot():
    """Only a recorded cleaning cuts the chain (ifsqn.com forum, topic 17526)."""
    charge("R1", "10 kg", 0)
    draw("F1", "8 kg", 1)
    charge("R2", "10 kg", 2)
    draw("F2", "4 kg", 3)
    draw("F3", "4 kg", 4)
    clean(5)
    charge("R3", "10 kg", 6)
    draw("F4", "4 kg", 7)
    found = {lot: {one.code for one in where_used(lot).listed} for lot in ("R1", "R2", "R3")}
    assert found == {"R1": {"F1", "F2", "F3"}, "R2": {"F2", "F3"}, "R3": {"F4"}}


def test_a_trace_that_no_link_holds_is_found_both_ways_up_to_the_next_cleaning():
    charge("R1", "1 mg", 0)
    charge("R2", "900 kg", 1)
    draw("P1", "1 kg", 2)
    clean(3)
    charge("R2", "10 kg", 4)
    draw("P2", "1 kg", 5)
    assert "R1" not in holds("P1")
    assert [(f.code, f.sure, f.share_ppb) for f in where_used("R1").listed] == [("P1", "possible", 1)]
    assert {f.code for f in made_from("P1").listed} == {"R1", "R2"}
    assert {f.code for f in made_from("P2").listed} == {"R2"}


def test_traces_of_two_stretches_are_found_though_the_cleaning_between_was_told_first():
    clean(3)
    for hours in (0, 4):
        charge("R1", "1 mg", hours)
        charge("R2", "900 kg", hours + 0.5)
        draw(f"P{hours}", "1 kg", hours + 1)
    assert {f.code for f in where_used("R1").listed} == {"P0", "P4"}


def test_a_draw_beyond_what_is_there_is_taken_and_flagged():
    charge("R1", "3 kg", 0)
    draw_tank("TK-1", into="P1", quantity=read_quantity("3 kg"), said=(exact := said(1)))
    draw_tank("TK-1", into="P2", quantity=read_quantity("1 kg"), said=(beyond := said(2)))
    assert (flags_of(exact.key), flags_of(beyond.key)) == ([], ["over-drawn"])
    assert holds("P2") == {}
    assert [f.share_ppb for f in made_from("P2").listed] == [0]


def test_a_bin_counts_pieces():
    builders.a_lot("N1", "INS-BB", "10 pcs")
    builders.a_lot("N2", "INS-BB", "30 pcs")
    for lot, pieces in (("N1", "10 pcs"), ("N2", "30 pcs")):
        charge_tank("BIN-1", lot=of(lot, pieces), said=said(0))
    draw_tank("BIN-1", into="B1", quantity=read_quantity("12 pcs"), said=said(1))
    assert holds("B1") == {
        "N1": ("possible", 25, 0, 83.3333334),
        "N2": ("confirmed", 75, 16.6666666, 100),
    }


@pytest.mark.parametrize(
    ("act_", "code", "words"),
    [
        (lambda: charge_tank("TK-9", lot=of("R1"), said=said()), "unknown", "TK-9"),
        (lambda: charge_tank("TK-1", lot=of("H1"), said=said()), "wrong-kind", "RES-A"),
        (lambda: charge_tank("TK-1", lot=of("R1", "2 pcs"), said=said()), "wrong-kind", "measured in g"),
        (lambda: charge_tank("TK-1", lot=of("R1", "-2 g"), said=said()), "not-a-number", "below nought"),
        (lambda: charge_tank("TK-1", lot=of("GHOST"), said=said()), "unknown", "GHOST"),
        (lambda: draw_tank("TK-9", into="D1", quantity=read_quantity("1 g"), said=said()), "unknown", "TK-9"),
        (lambda: draw_tank("TK-1", into="R1", quantity=read_quantity("1 g"), said=said()), "code-taken", "R1"),
        (lambda: draw_tank("TK-1", into="D1", quantity=read_quantity("1 pcs"), said=said()), "wrong-kind", "TK-1"),
        (lambda: draw_tank("TK-1", into="D1", quantity=read_quantity("-1 g"), said=said()), "not-a-number", "nought"),
        (lambda: clean_tank("TK-9", said=said()), "unknown", "TK-9"),
    ],
)
def test_what_can_not_be_done_with_a_tank_is_refused(act_, code, words):
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    with refuses(code, words):
        act_()


def test_a_lot_is_not_charged_before_it_was_drawn_from_the_same_tank(two_lots):
    with refuses("itself", "Look at the times"):
        charge_tank("TK-1", lot=of("P3", "1 kg"), said=said(3))
    charge_tank("TK-1", lot=of("P3", "1 kg"), said=said(6))


def test_a_late_charge_that_closes_a_loop_is_flagged(two_lots):
    split_lot("P3", [of("S1", "2 kg")], said=said(6))
    charge_tank("TK-1", lot=of("S1", "1 kg"), said=(told := said(3)))
    assert flags_of(told.key) == ["loop"]
    assert verify().faults == ()


def test_lots_of_one_root_that_go_back_into_the_tank_are_walked_once(two_lots):
    merge_lots("M1", [of("P2", "1 kg"), of("P3", "1 kg")], said=said(6))
    charge_tank("TK-1", lot=of("M1", "1 kg"), said=said(7))
    draw("P4", "5 kg", 8)
    listed = [f.code for f in where_used("R1").listed]
    assert sorted(listed) == ["M1", "P1", "P2", "P3", "P4"]


def test_what_is_drawn_from_a_tank_in_which_something_held_may_be_is_marked_and_by_the_settings_held():
    charge("R1", "5 kg", 1)
    place_hold("R1", reason="leak", said=said(2))
    assert flags_of(draw("P1", "1 kg", 3)) == ["tank-held"]
    assert holds_on([item_by_code("P1").pk]) == []
    builders.agreed(specs.RulebookSpec("", {"tank-held": 1}), hours=-1)
    draw("P3", "1 kg", 3)
    assert [hold.reason for hold in holds_on([item_by_code("P3").pk])] == ["tank-held"]
    clean_tank("TK-1", said=said(3, done=True))
    charge("R2", "5 kg", 4)
    assert flags_of(draw("P2", "1 kg", 5)) == []


@pytest.fixture
def two_spools(works):
    builders.a_spool("SP1")
    builders.a_spool("SP2")
    mount("SP1", 0, 0)
    mount("SP2", 2, 2 + 2 / 3)


def mount(lot, not_before, not_after):
    window = {"not_before": moment(not_before), "not_after": moment(not_after)}
    return mount_lot("WIND-1", head="left", lot=lot, **window, said=said(3))


def tube(code, began, ended):
    made = Made(["MD-1"], "WIND-1", head="left", began_at=moment(began))
    wind(code, part="TUBE", spools=[], made=made, said=said(ended))


def inside(code):
    links = Link.objects.standing().filter(child__codes__code=code).select_related("parent__state")
    return {link.parent.code: "possible" if link.certainty else "confirmed" for link in links}


@pytest.mark.parametrize(
    ("began", "ended", "due"),
    [
        (1 + 5 / 6, 2 + 1 / 6, {"SP1": "confirmed", "SP2": "possible"}),
        (2.25, 2 + 7 / 12, {"SP1": "possible", "SP2": "possible"}),
        (2.5, 2 + 5 / 6, {"SP1": "possible", "SP2": "confirmed"}),
    ],
)
def test_what_was_mounted_goes_into_what_was_wound(two_spools, began, ended, due):
    tube("T1", began, ended)
    assert inside("T1") == due


def test_a_mount_told_late_changes_what_was_wound_before_in_the_same_act(two_spools):
    tube("T1", 4, 5)
    assert inside("T1") == {"SP2": "confirmed"}
    builders.a_spool("SP3")
    mount("SP3", 3, 4.5)
    assert inside("T1") == {"SP2": "possible", "SP3": "confirmed"}
    assert verify().faults == ()


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ({"lot": "GHOST"}, "unknown"),
        ({"station": "ATTIC"}, "unknown"),
        ({"not_before": moment(3)}, "window-upside-down"),
        ({"lot": "T-F1"}, "wrong-kind"),
    ],
)
def test_a_mount_that_can_not_be_is_refused(told, code):
    builders.a_front("F1")
    stated = {"station": "WIND-1", "head": "left", "lot": "SP1", "not_before": moment(1), "not_after": moment(2)} | told
    with refuses(code):
        mount_lot(stated.pop("station"), **stated, said=said(3))
    assert not FeedEntry.objects.exists()


def test_winding_at_a_head_asks_when_it_began(two_spools):
    for began in (None, moment(5)):
        with refuses("unknown", "when the winding began"):
            wind("T1", part="TUBE", spools=[], made=Made([], "WIND-1", "left", began_at=began), said=said(5))


def test_a_tank_is_worked_out_to_the_microgram():
    builders.the_lot("R1", "RES-A")
    for n in range(3):
        charge_tank("TK-1", lot=builders.Input("R1", Quantity(1, "mass")), said=said(n))
    draw("D1", "2 ug", 5)
    assert sum(work_out(log_of(tank_by_code("TK-1"))).contents.values()) == 1
    assert Entry.objects.latest("pk").happened_at - timedelta(hours=5) == builders.MONDAY


def test_a_pot_from_the_tank_carries_what_the_tank_holds(two_lots):
    builders.the_lot("H1", "HRD-A")
    mix_pot("POT", mix="EPOXY", inputs=[of("P2", "100 g"), of("H1", "30 g")], said=said(6))
    found = {one.code: (one.sure, one.share_ppb) for one in made_from("POT").listed}
    assert found == {
        "P2": ("confirmed", None),
        "H1": ("confirmed", None),
        "R1": ("possible", 90_909_091),
        "R2": ("confirmed", None),
    }


def test_the_log_around_a_moment_is_its_stretch_of_the_whole_log():
    charge("R1", "5 kg", 1)
    for hour in (2, 6):
        clean(hour)
        charge("R1", "5 kg", hour + 1)
        draw(f"D{hour}", "1 kg", hour + 2)
    tank = tank_by_code("TK-1")
    for hour in (0, 1, 2, 3, 5, 6, 7, 9):
        around = log_around(tank.pk, moment(hour))
        assert sorted(around, key=lambda line: line.order) == sorted(
            stretch(log_of(tank), [moment(hour)]), key=lambda line: line.order
        )
