"""What may have gone in by way of a lost tablet: lots that were about, where a unit had come to, what tanks hold."""

import pytest

from plant.equipment.actions import add_equipment
from plant.equipment.queries import station_by_code
from plant.people.models import DeviceContact
from records.items.actions import clean_tank, scrap, split_lot, withdraw, withdraw_pot
from records.items.models import DoubtMoved
from records.items.queries import item_by_code
from records.ledger.marks import mark_at
from records.ledger.verifying import verify
from records.steps.actions import Made, Moulding, Shot, Work, lock_out_tablet, log_step, mould, settle_tablet
from records.steps.lost import links_possible
from records.trace.lost import tablets_behind
from records.trace.queries import Asked, where_used
from tests import builders
from tests.builders import STEP, moment, of, said, specs
from tests.keys import a_tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works(holds={})
    clock_at(moment(6))


def lost(*, station: str = "MOULD-1", since: float = 5, until: float = 6) -> str:
    device = a_tablet(station)
    DeviceContact.objects.create(device=device, at=moment(since))
    lock_out_tablet(device.code, reason="lost", said=said(until))
    return device.code


def doubted(child: str = "", station: str = "MOULD-1") -> set[str]:
    """Lots that may have gone into a thing between five and six."""
    pairs = links_possible(station_by_code(station), moment(5), moment(6))
    return {lot.code for thing, lot in pairs if thing.code == child}


def possible(code: str, mark=None) -> set[str]:
    answer = where_used(code, Asked(mark))
    return {found.code for found in (*answer.frames, *answer.others) if found.sure == "possible"}


class TestTanks:
    @pytest.fixture(autouse=True)
    def tank(self, works):
        """TK-1 holds R8; R9 stands beside it."""
        builders.a_charge("R8", "20 kg", hours=4)
        builders.a_lot("R9", "RES-A", "5 kg")
        builders.a_lot("FB8", "FIB-UD", "1 kg")

    def test_what_is_drawn_after_the_lock_out_may_hold_what_was_charged_unseen(self, clock_at):
        device = lost()
        builders.a_draw("D1", hours=7)
        builders.a_pot("P1", resin="D1", hours=7.5)
        assert possible("R9") == {"D1", "P1"}
        assert possible("FB8") == set()
        assert [one.device.code for one in tablets_behind([item_by_code("D1").pk])] == [device]
        clock_at(moment(8))
        settle_tablet(device, words="found in the van", said=said(8))
        assert possible("R9") == set()
        assert possible("R9", mark_at(moment(7))) == {"D1", "P1"}
        builders.a_draw("D2", hours=9)
        assert possible("R9") == set()
        assert verify().faults == ()

    def test_a_draw_that_was_on_file_with_a_later_time_than_the_lock_out_is_doubted_as_well(self):
        builders.a_draw("D1", hours=6.5)
        lost()
        assert possible("R9") == {"D1"}

    def test_one_that_is_told_late_is_doubted_from_the_last_contact_on(self):
        lost()
        builders.a_draw("D1", hours=4.9)
        builders.a_draw("D2", hours=5)
        assert possible("R9") == {"D2"}

    def test_only_a_cleaning_after_the_span_ends_it(self):
        clean_tank("TK-1", said=said(5.5))
        lost()
        builders.a_draw("D1", hours=7)
        clean_tank("TK-1", said=said(8))
        builders.a_draw("D2", hours=9)
        assert possible("R9") == {"D1"}

    def test_a_cleaning_that_is_told_late_takes_the_doubt_back_and_gives_it_again_when_it_is_withdrawn(self):
        lost()
        builders.a_draw("D1", hours=7)
        builders.a_draw("D2", hours=9)
        cleaned = clean_tank("TK-1", said=said(8, done=True))
        assert possible("R9") == {"D1"}
        withdraw(cleaned.entry.key, words="it was TK-2", said=said(10))
        assert possible("R9") == {"D1", "D2"}

    def test_what_somebody_has_answered_is_not_doubted_again(self):
        lost()
        drawn = builders.a_draw("D1", hours=7)
        withdraw(drawn.entry.key, was="R9", words="R9 was sealed", said=said(8))
        builders.a_charge("R8", "1 kg", hours=6.5)
        assert possible("R9") == set()

    def test_a_draw_that_is_undone_holds_nothing(self):
        lost()
        drawn = builders.a_draw("D1", hours=7)
        withdraw(drawn.entry.key, words="mis-tap", said=said(7.1))
        assert possible("R9") == set()

    def test_a_lot_that_is_charged_for_certain_is_no_doubt(self):
        lost()
        builders.a_charge("R9", "5 kg", hours=6.5)
        builders.a_draw("D1", "25 kg", hours=7)
        assert possible("R9") == set()
        assert not DoubtMoved.objects.exists()

    def test_one_that_was_used_up_charged_or_written_off_since_was_there_then(self):
        for code in ("RA", "RB", "RC"):
            builders.a_lot(code, "RES-A", "5 kg")
        builders.a_charge("RA", "5 kg", tank="TK-1", hours=5.1)
        clean_tank("TK-1", said=said(5.2))
        scrap("RB", words="spilt", said=said(6.5))
        split_lot("RC", [of("RC2", "5 kg")], said=said(6.5))
        scrap("R9", words="old", said=said(4))
        lost()
        builders.a_draw("D1", hours=7)
        assert {code for code in ("RA", "RB", "RC", "R9") if "D1" in possible(code)} == {"RA", "RB", "RC"}

    def test_of_two_lost_tablets_each_is_settled_by_itself(self):
        first, second = lost(), lost(station="WIND-1")
        builders.a_draw("D1", hours=7)
        settle_tablet(first, words="found", said=said(8))
        assert possible("R9") == {"D1"}
        settle_tablet(second, words="found", said=said(8))
        assert possible("R9") == set()


def test_of_two_lost_tablets_each_leaves_doubts_of_its_own():
    builders.a_tube("T2")
    builders.a_pot("P1", hours=4.8)
    stated = of("PX", "15 g", part="MIX-A")
    mould("F7", part="OSIER-F", moulding=Moulding(["T2"], [stated]), made=Made(["ML-1"]), said=said(5.1, done=True))
    builders.a_tube("T3")
    first, second = lost(), lost()
    assert {"PX", "F7"} <= possible("R1")
    for code, left in ((first, {"PX", "F7", "T3"}), (second, set())):
        settle_tablet(code, words="found", said=said(7))
        assert possible("P1") == left
        assert possible("R1") & {"PX", "F7"} == left - {"T3"}


def a_unit_to_fill(steps: list) -> None:
    """F1 is moulded and waits for its next step; P1 is open; MOULD-9 is a station of its kind."""
    add_equipment("station", "MOULD-9", kind="mould", said=said(-1))
    builders.agreed(specs.RouteSpec("OSIER-F", steps))
    builders.a_tube("T2")
    mould("F1", part="OSIER-F", moulding=Moulding(["T2"], []), made=Made(["ML-1"], "MOULD-1"), said=said(2))
    builders.a_pot("P1", hours=4.8)


FILL = STEP("fill", station_kind="mould", inputs=[specs.InputSpec("resin-mix", "MIX-A", "15 g")])


@pytest.mark.parametrize(
    ("steps", "found"),
    [
        ([STEP("mould"), STEP("test", station_kind="mould"), FILL], {"P1"}),
        ([STEP("mould"), STEP("test", station_kind="trim"), FILL], set()),
        ([STEP("mould"), STEP("test", station_kind="mould"), STEP("move", station_kind="trim"), FILL], set()),
    ],
    ids=["all-here", "elsewhere-first", "elsewhere-between"],
)
def test_a_unit_is_doubted_as_far_as_it_can_have_come_there(steps, found):
    a_unit_to_fill(steps)
    assert doubted("F1", "MOULD-9") & {"P1"} == found


def test_what_went_in_before_the_step_that_it_waits_for_is_not_doubted_again():
    a_unit_to_fill([STEP("mould"), FILL, STEP("check", station_kind="mould")])
    builders.a_pot("P2", hours=4.8)
    log_step("F1", step="fill", work=Work("MOULD-9", shots=[Shot("P1")]), said=said(4.9))
    assert doubted("F1", "MOULD-9") == set()


def test_a_part_that_is_filled_later_on_its_route_is_not_doubted_for_a_fill_at_its_closing():
    builders.agreed(specs.RouteSpec("OSIER-F", [STEP("mould"), FILL]))
    builders.agreed(specs.RouteSpec("OSIER-R", [STEP("mould"), FILL]))
    builders.a_tube("T2")
    builders.a_pot("P1", hours=4.8)
    assert doubted("T2") == set()


def test_a_lot_that_was_used_up_or_gone_before_the_span_is_not_doubted():
    builders.agreed(specs.RouteSpec("OSIER-F", [STEP("mould", inputs=[specs.InputSpec("insert", "INS-BB")])]))
    builders.a_tube("T2")
    for code in ("NS1", "NS2", "NS3"):
        builders.a_lot(code, "INS-BB", "50 pcs")
    split_lot("NS2", [of("NS4", "50 pcs")], said=said(4))
    scrap("NS4", words="wrong size", said=said(4.5))
    scrap("NS3", words="wrong size", said=said(4.5))
    assert doubted("T2") & {"NS1", "NS2", "NS3", "NS4"} == {"NS1"}


def test_a_pot_that_was_never_mixed_is_not_doubted():
    builders.a_tube("T2")
    pot = builders.a_pot("P1", hours=4.8)
    assert "P1" in doubted("T2")
    withdraw_pot(pot.entry.key, words="mis-tap", said=said(4.8))
    assert "P1" not in doubted("T2")


def test_a_pot_known_by_its_label_alone_may_be_of_a_machine_and_hold_what_stood_in_its_tank():
    """R8 was charged whole and R7 cleaned out before: R8 is no can on the shelf, and in the tank all the same."""
    for code in ("R7", "R8"):
        builders.a_lot(code, "RES-A", "20 kg")
    builders.a_charge("R7", "20 kg", hours=3)
    clean_tank("TK-1", said=said(3.5))
    builders.a_charge("R8", "20 kg", hours=4)
    builders.a_tube("T2")
    stated = of("PX", "15 g", part="MIX-A")
    mould("F7", part="OSIER-F", moulding=Moulding(["T2"], [stated]), made=Made(["ML-1"]), said=said(5.5, done=True))
    assert ("R8" in doubted("PX"), "R7" in doubted("PX")) == (True, False)


def test_a_lot_that_was_known_by_its_label_before_the_span_has_its_past_elsewhere():
    builders.a_lot("R9", "RES-A", "5 kg")
    builders.a_tube("T2")
    stated = of("PX", "15 g", part="MIX-A")
    mould("F7", part="OSIER-F", moulding=Moulding(["T2"], [stated]), made=Made(["ML-1"]), said=said(3, done=True))
    assert doubted("PX") == set()
