"""A pot that a machine metered: from tanks and cans, judged by what it shows, and taken back into the tank."""

import pytest

from plant.catalogue.queries import tank_by_code
from plant.catalogue.specs import TankSpec
from plant.catalogue.writing import write_tank
from records.items.actions import (
    Correction,
    charge_tank,
    correct_link,
    meter_masses,
    place_hold,
    withdraw,
    withdraw_pot,
)
from records.items.models import Hold, Item, Link
from records.items.queries import item_by_code
from records.items.tanks import contents_at
from records.ledger.acts import act, flags_of
from records.ledger.verifying import verify
from records.trace.queries import where_used
from tests import builders
from tests.builders import moment, of, said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db
GRAM = 10**6


@pytest.fixture(autouse=True)
def works():
    """R1 and R2 have been charged: 2 kg of each, and nothing else was ever in the tank."""
    builders.a_works()
    for n, lot in enumerate(("R1", "R2")):
        builders.a_lot(lot)
        charge_tank("TK-1", lot=of(lot, "2 kg"), said=said(0.1 + n / 10))
    builders.a_lot("H1", "HRD-A")


def another_tank(part: str) -> None:
    """Tanks come with the opening of a works; this one is written beside another act."""
    with act("equipment added", said(0)) as a:
        write_tank(a, TankSpec("TK-2", part))


def meter(*masses: tuple[str, str], hours: float = 1, told=None) -> Item:
    inputs = [of(code, amount) for code, amount in masses or (("TK-1", "1 kg"), ("H1", "300 g"))]
    return meter_masses("P1", mix="EPOXY", inputs=inputs, said=told or said(hours))


def in_tank(hours: float = 2) -> int:
    return sum(contents_at(tank_by_code("TK-1"), moment(hours)).values()) // GRAM


def test_what_a_tank_gives_is_a_lot_of_its_own_that_went_into_the_pot():
    pot = meter()
    (resin, hardener) = Link.objects.filter(child=pot).order_by("parent__revision__part__number", "pk")[::-1]
    assert (hardener.parent.code, hardener.amount // GRAM, pot.state.remaining // GRAM) == ("H1", 300, 1300)
    assert (resin.parent.code[:3], resin.amount // GRAM, resin.parent.state.remaining) == ("RB-", 1000, 0)
    lots = Link.objects.filter(child=resin.parent).order_by("parent__pk")
    # By perfect mixing a half each; mass balance leaves open that all of it is either: plain arithmetic.
    assert [(link.parent.code, link.share_ppb, link.least_ppb, link.most_ppb) for link in lots] == [
        ("R1", 500_000_000, 0, 10**9),
        ("R2", 500_000_000, 0, 10**9),
    ]
    assert (in_tank(), item_by_code("H1").state.remaining // GRAM) == (3000, 20_000 - 300)
    assert flags_of(pot.entry.key) == []


def test_its_clock_starts_at_the_moment_of_mixing():
    pot = meter(hours=1)
    assert (pot.born_at, pot.good_until) == (moment(1), moment(1.75))


def test_masses_off_the_ratio_are_refused_and_where_it_is_mixed_flagged():
    with refuses_or_flags("off-ratio", "HRD-A is 320 g where 300 g are due.") as asked:
        asked(lambda told: meter(("TK-1", "1 kg"), ("H1", "320 g"), told=told))


def test_more_than_a_tank_holds_is_taken_and_flagged():
    assert flags_of(meter(("TK-1", "5 kg"), ("H1", "1500 g")).entry.key) == ["over-drawn"]


def test_a_tank_in_which_something_held_may_be_is_refused():
    place_hold("R1", reason="leak", said=said(0.5, by="review"))
    with refuses_or_flags("held", "R1 is held. Do not use it: put it aside and ask Review.") as asked:
        asked(lambda told: meter(told=told))


@pytest.mark.parametrize("code", ["BIN-1", "NO-TANK"])
def test_what_is_no_tank_of_the_mix_is_refused(code):
    with refuses("unknown"):
        meter((code, "1 kg"), ("H1", "300 g"))
    another_tank("ADH-A")
    with refuses("wrong-kind", "TK-2 is no part of EPOXY"):
        meter(("TK-2", "1 kg"), ("H1", "300 g"))
    with refuses("wrong-kind", "TK-1 is measured in g"):
        meter(("TK-1", "3 pcs"), ("H1", "300 g"))


def test_a_pot_that_was_taken_back_gives_the_tank_its_resin_again():
    pot = meter()
    withdraw_pot(pot.entry.key, words="mis-tap", said=said(1.01))
    assert (in_tank(), item_by_code("H1").state.remaining // GRAM) == (4000, 20_000)
    assert item_by_code("P1").state.where == "scrapped"
    assert not Link.objects.newest().filter(status=Link.Status.STANDS, draw__isnull=False).exists()
    assert verify().faults == ()


def drawn_of(pot: Item) -> dict[str, str]:
    """Codes of what is in a pot by what was told, by part."""
    links = Link.objects.newest().filter(child=pot, status=Link.Status.STANDS)
    return {link.parent.part.number: link.parent.code for link in links}


def test_of_two_tanks_the_one_that_was_not_used_is_put_right_by_itself():
    another_tank("HRD-A")
    charge_tank("TK-2", lot=of("H1", "1 kg"), said=said(0.3))
    pot = meter(("TK-1", "1 kg"), ("TK-2", "300 g"))
    resin, hardener = (drawn_of(pot)[part] for part in ("RES-A", "HRD-A"))
    withdraw(pot.entry.key, was=hardener, words="it was another tank", said=said(1.1))
    assert drawn_of(pot) == {"RES-A": resin}
    assert (in_tank(), sum(contents_at(tank_by_code("TK-2"), moment(2)).values()) // GRAM) == (3000, 1000)
    assert (item_by_code(hardener).state.remaining, item_by_code("P1").state.remaining // GRAM) == (0, 1000)


def test_another_lot_than_the_tank_is_put_right_and_the_tank_has_its_resin_again():
    pot = meter()
    builders.a_lot("R3")
    told = said(1.1)
    (right,) = correct_link(pot.entry.key, Correction(drawn_of(pot)["RES-A"], "R3"), words="can was on it", said=told)
    assert (drawn_of(pot)["RES-A"], right.amount // GRAM, in_tank()) == ("R3", 1000, 4000)
    assert item_by_code("R3").state.remaining // GRAM == 19_000
    assert verify().faults == ()


def from_tank_2(pot, told=None, was="RES-A"):
    told = told or said(1.1)
    (right,) = correct_link(pot.entry.key, Correction(was, "tk-2"), words="the other valve", said=told)
    return right


def test_another_tank_is_put_right_and_each_tank_holds_what_it_held():
    another_tank("RES-A")
    builders.a_lot("R3")
    charge_tank("TK-2", lot=of("R3", "3 kg"), said=said(0.3))
    pot = meter()
    was, told = drawn_of(pot)["RES-A"], said(1.1)
    right = from_tank_2(pot, told, was)
    assert (in_tank(), sum(contents_at(tank_by_code("TK-2"), moment(2)).values()) // GRAM) == (4000, 2000)
    assert (right.amount // GRAM, right.at, right.parent.born_at) == (1000, moment(1), moment(1))
    drawn = right.parent.code
    assert item_by_code(drawn).state.remaining == 0
    assert ("P1" in where("R1"), {"P1", drawn} <= where("R3")) == (False, True)
    assert from_tank_2(pot, told, was).pk == right.pk  # a repeat draws nothing more
    assert (flags_of(told.key), verify().faults) == ([], ())


def test_a_tank_put_right_is_put_right_once_more():
    another_tank("RES-A")
    builders.a_lot("R3")
    charge_tank("TK-2", lot=of("R3", "3 kg"), said=said(0.3))
    pot = meter()
    from_tank_2(pot, told := said(1.1), drawn_of(pot)["RES-A"])
    correct_link(told.key, Correction(drawn_of(pot)["RES-A"], "TK-1"), words="it was right", said=said(1.2))
    assert (in_tank(), sum(contents_at(tank_by_code("TK-2"), moment(2)).values()) // GRAM) == (3000, 3000)
    assert verify().faults == ()


def test_a_can_that_was_told_for_a_tank_is_put_right_too_and_what_was_held_in_it_marks_the_pot():
    another_tank("HRD-A")
    builders.a_lot("H2", "HRD-A")
    charge_tank("TK-2", lot=of("H2", "1 kg"), said=said(0.3))
    place_hold("H2", reason="leak", said=said(0.5, by="review"))
    pot = meter()
    from_tank_2(pot, told := said(1.1), "H1")
    assert (item_by_code("H1").state.remaining // GRAM, flags_of(told.key)) == (20_000, ["right-one-barred"])
    assert {hold.item.code for hold in Hold.objects.filter(entry__key=told.key)} == {"P1"}


@pytest.mark.parametrize(
    ("right", "code", "words"),
    [
        ("TK-1", "nothing-changed", "It is drawn from TK-1 by the records too."),
        ("TK-2", "wrong-kind", "TK-2 holds ADH-A. Due here: RES-A."),
        ("BIN-1", "unknown", "BIN-1"),
    ],
)
def test_what_cannot_be_the_right_tank_is_refused(right, code, words):
    another_tank("ADH-A")
    pot = meter()
    with refuses(code, words):
        correct_link(pot.entry.key, Correction(drawn_of(pot)["RES-A"], right), words="other", said=said(1.1))


def test_a_tank_is_right_for_a_pot_alone():
    another_tank("MIX-A")
    builders.a_front("F1")
    wrong = Link.objects.get(child=item_by_code("F1"), parent__revision__part__kind="resin-mix")
    with refuses("wrong-kind", "TK-2 is a tank."):
        correct_link(wrong.entry.key, Correction(wrong.parent.code, "TK-2"), words="other", said=said(5))


def where(code):
    found = where_used(code)
    return {one.code for one in (*found.frames, *found.others, *found.below)}


def test_a_repeat_makes_no_second_pot_and_no_second_draw():
    told = said(1)
    assert meter(told=told).pk == meter(told=told).pk
    assert (in_tank(), Hold.objects.count()) == (3000, 0)
