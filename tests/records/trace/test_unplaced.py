"""A fill that could not be placed counts as possible, on the way down and up, until somebody settles it."""

import pytest

from plant.quantities import read_quantity
from records.floor.reading import READERS
from records.items.actions import Correction, charge_tank, clean_tank, correct_link, draw_tank, merge_lots
from records.items.making import Input
from records.ledger.actions import settle_unplaced
from records.ledger.models import Unplaced
from records.ledger.position import mark_of_now
from records.ledger.refusals import Refused
from records.trace.queries import Asked, made_from, where_used
from records.trace.unplaced import GOES_IN, SAYS_NOTHING
from tests import builders
from tests.builders import moment, said
from tests.records.floor.told import entry, lot, send, tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(moment(5))


def possible(answer):
    return {found.code for found in answer.listed if found.sure == "possible"}


def a_fill_of_no_known_mould():
    """A pot is mixed; the entry that fills a front with it names a tool that nobody knows, and is not taken."""
    builders.a_front("F1")
    builders.a_lot("R9")
    builders.a_lot("H9", "HRD-A")
    mixed = entry("mix", pot="P9", mix="EPOXY", components=[lot("R9", "100 g"), lot("H9", "30 g")])
    filled = entry("step", hours=2, done=True, unit="F1", operation="refill", fill=[lot("P9", "15 g")])
    answers = send(tablet(), mixed, filled)
    assert [answer["outcome"] for answer in answers] == ["taken", "refused"]
    return Unplaced.objects.get()


def test_a_fill_that_is_not_placed_is_possible_from_the_lot_down_and_from_the_unit_up():
    a_fill_of_no_known_mould()
    assert "F1" in possible(where_used("R9"))
    assert {"P9", "R9", "H9"} <= possible(made_from("F1"))


def charged(*lots, tank="TK-1"):
    """A tank with lots of resin in it, by half hours from Monday at eight."""
    for n, code in enumerate(lots):
        builders.a_lot(code)
        charge_tank(tank, lot=builders.of(code, "2 kg"), said=said(n / 2))


def metered(pot="P9", *, hours=2.0, **more):
    """A pot of a machine whose mix nobody knows: what it took of the tank and of a can is not placed."""
    took = [{"tank": "TK-1", "amount": "1 kg"}, lot("H9", "300 g")]
    return entry("meter", hours=hours, done=True, pot=pot, mix="NONE-SUCH", components=took, **more)


def test_a_pot_of_a_machine_that_is_not_placed_may_hold_every_lot_that_was_in_its_tank_then():
    charged("R7", "R8")
    builders.a_lot("H9", "HRD-A")
    builders.a_pot("P9")
    builders.a_lot("R6")
    (answer,) = send(tablet(), metered(hours=2))
    charge_tank("TK-1", lot=builders.of("R6", "2 kg"), said=said(3))  # it came after
    assert answer["outcome"] == "refused"
    assert possible(made_from("P9")) == {"R7", "R8", "H9"}
    assert ("P9" in possible(where_used("R7")), "P9" in possible(where_used("R6"))) == (True, False)


def test_what_was_cleaned_out_of_a_tank_before_is_not_in_a_pot_of_a_machine():
    charged("R7")
    clean_tank("TK-1", said=said(1))
    builders.a_lot("R8")
    charge_tank("TK-1", lot=builders.of("R8", "2 kg"), said=said(1.5))
    builders.a_lot("H9", "HRD-A")
    builders.a_pot("P9")
    send(tablet(), metered(hours=2))
    assert possible(made_from("P9")) == {"R8", "H9"}


def test_a_pot_that_was_never_placed_passes_its_lots_on_to_what_was_filled_from_it():
    charged("R7")
    builders.a_lot("H9", "HRD-A")
    builders.a_front("F1")
    filled = entry("step", hours=3, done=True, unit="F1", operation="refill", fill=[lot("P9", "15 g")])
    answers = send(tablet(), metered(), filled)
    assert [answer["outcome"] for answer in answers] == ["refused", "refused"]
    assert {"R7", "H9"} <= possible(made_from("F1"))
    assert "F1" in possible(where_used("R7"))


def test_a_charge_that_is_not_placed_may_be_in_all_that_was_drawn_since_until_the_tank_was_cleaned():
    charged("R7")
    builders.a_lot("R9")
    for code, hours in (("D1", 1), ("D2", 3), ("D3", 4.5)):
        if code == "D3":
            clean_tank("TK-1", said=said(4))
        draw_tank("TK-1", into=code, quantity=read_quantity("100 g"), said=said(hours))
    told = entry("tank-charge", hours=2, done=True, tank="TK-1", lot={"lot": "R9", "amount": "a can"})
    assert [answer["outcome"] for answer in send(tablet(), told)] == ["refused"]
    assert possible(where_used("R9")) == {"D2"}


def test_a_draw_that_is_not_placed_may_hold_what_was_in_the_tank():
    charged("R7")
    builders.a_pot("P9")
    send(tablet(), entry("tank-draw", hours=2, done=True, tank="TK-1", into="P9", amount="some"))
    assert possible(made_from("P9")) == {"R7"}


def test_settled_it_counts_no_more_and_at_an_earlier_mark_it_still_does():
    unplaced = a_fill_of_no_known_mould()
    before = mark_of_now()
    settle_unplaced(unplaced, reason="the pot was thrown away", said=said(5))
    assert "F1" not in possible(where_used("R9"))
    assert "F1" in possible(where_used("R9", Asked(before)))


def test_what_was_never_made_leaves_its_lots_possible_in_each_unit_named():
    builders.a_finished_front("F1")
    builders.a_finished_rear("B1")
    builders.some_glue("G1")
    builders.some_glue("G2")
    glue = [lot("G1", "5 g"), lot("G2", "5 g")]
    (answer,) = send(tablet(), entry("bond", done=True, part="NONE-SUCH", front="F1", rear="B1", adhesive=glue))
    assert answer["outcome"] == "refused"
    assert {"F1", "B1"} <= possible(where_used("G1"))
    assert possible(made_from("G1")) == set()  # nothing went into a lot by it


def test_before_it_was_sent_nobody_knew_of_it():
    builders.a_front("F1")
    builders.a_lot("R9")
    before = mark_of_now()
    send(tablet(), entry("step", done=True, unit="F1", operation="vent", surprise=[{"lot": "R9"}]))
    assert possible(where_used("R9")) == {"F1"}
    assert possible(where_used("R9", Asked(before))) == set()


def test_what_stands_below_the_name_of_a_made_thing_is_of_it():
    builders.a_pot("P9")
    builders.a_lot("R7")
    send(tablet(), entry("mix", done=True, pot={"code": "P9"}, mix="EPOXY", components=[lot("R7", "100 g")]))
    assert possible(made_from("P9")) == {"R7"}


def test_what_a_tablet_sent_that_nobody_could_read_counts_by_the_codes_in_it():
    builders.a_front("F1")
    builders.a_lot("R9")
    told = entry("step", done=True, unit="F1", operation="vent", surprise=[{"lot": "R9"}])
    (answer,) = send(tablet(), told)
    assert answer["code"] == "malformed"
    assert "F1" in possible(where_used("R9"))


def test_an_entry_whose_head_nobody_could_read_counts_by_the_codes_in_it():
    builders.a_front("F1")
    for code in ("R7", "R8", "R9"):
        builders.a_lot(code)
    filled = {"unit": "F1", "operation": "refill", "fill": [lot("R9", "15 g")]}
    held = entry("hold", done=True, item="F1", reason="doubt", words="R7") | {"made_at": "at noon"}
    answers = send(tablet(), entry("step", done=True, **filled) | {"made_at": "at noon"}, held)
    assert [answer["outcome"] for answer in answers] == ["refused"] * 2
    assert possible(where_used("R9")) == {"F1"}
    assert possible(where_used("R7")) == set()  # nothing goes in by a hold
    filled["fill"] = [lot("R8", "15 g")]
    send(tablet(), entry("step", done=True, **filled) | {"kind": 7})
    assert possible(made_from("F1")) == {"R8", "R9"}
    settle_unplaced(Unplaced.objects.order_by("pk")[0], reason="told right", said=said(5))
    assert possible(made_from("F1")) == {"R8"}


@pytest.mark.parametrize("head", [{"kind": "fil"}, {"done": "yes"}, {"key": 7}, {"offset_ms": 2**80}])
def test_of_a_kind_that_there_is_not_or_done_by_no_word_that_can_be_read_it_counts_once(head):
    builders.a_front("F1")
    builders.a_pot("P9")
    told = entry("step", hours=2, done=True, unit="F1", operation="refill", fill=[lot("P9", "15 g")]) | head
    assert [answer["outcome"] for answer in send(tablet(), told, told)] == ["refused", "refused"]
    assert Unplaced.objects.count() == 1
    assert "F1" in possible(where_used("P9"))


def test_with_a_head_that_nobody_could_read_its_time_still_says_what_was_in_the_tank():
    charged("R7")
    builders.a_pot("P9")
    drawn = entry("tank-draw", hours=2, done=True, tank="TK-1", into="P9", amount="10 g")
    send(tablet(), drawn | {"surprise": 1})
    clean_tank("TK-1", said=said(3))
    assert possible(made_from("P9")) == {"R7"}


def test_the_kinds_of_a_tablets_entries_are_told_apart_by_whether_something_goes_in():
    assert not set(SAYS_NOTHING) & set(GOES_IN)
    assert set(READERS) <= {*SAYS_NOTHING, *GOES_IN}


def test_signs_that_no_engine_keeps_do_not_break_a_trace_off():
    builders.a_front("F1")
    builders.a_lot("R9")
    deep = []
    for _ in range(200):
        deep = [deep]
    strange = {"lot": "R9", "note": "\x00", "half": "\ud800", "long": "x" * 5000, "deep": deep}
    (answer,) = send(tablet(), entry("step", done=True, unit="F1", operation="vent", surprise=strange))
    assert answer["code"] == "malformed"
    assert "F1" in possible(where_used("R9"))


def test_a_hold_that_was_not_placed_says_nothing_of_what_is_in_what():
    builders.a_front("F1")
    builders.a_lot("R9")
    send(tablet(), entry("hold", done=True, item="F1", reason="doubt", lot="R9"))
    assert possible(where_used("R9")) == set()


def test_an_entry_sent_twice_with_other_content_stands_as_it_came_first():
    for spool in ("SP1", "SP2"):
        builders.a_spool(spool, lot=f"L-{spool}")
    told = entry("wind", unit="T9", part="TUBE", station="WIND-1", tools=["MD-1"], spools=[lot("SP1", "20 g")])
    other = {**told, "payload": {**told["payload"], "spools": [lot("SP2", "20 g")]}}
    assert [answer["outcome"] for answer in send(tablet(), told, other)] == ["taken", "conflict"]
    assert Unplaced.objects.count() == 1
    assert possible(where_used("SP2")) == set()


def test_what_a_walk_comes_by_twice_keeps_what_was_told_of_it():
    """Up from R1 the walk reads M, and above M it meets R1 again by a link that was put right."""
    for code in ("R1", "R2"):
        builders.a_lot(code)
    some = read_quantity("100 g")
    merged = said(1)
    merge_lots("M", [Input("R1", some)], said=merged)
    correct_link(merged.key, Correction("R1", "R2"), words="wrong scan", said=said(2))
    with pytest.raises(Refused, match="itself"):
        merge_lots("R1", [Input("M", some), Input("R1", some)], said=said(3, done=True))
    assert {"M", "R2"} <= possible(made_from("R1"))
