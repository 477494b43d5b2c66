"""Pots: what may go in, the ratio as far as a scale can judge it, the pot's life."""

from datetime import date

import pytest

from plant.equipment.actions import Found, calibrate_gauge
from records.items.actions import Weighing, mix_pot, split_lot
from records.ledger.acts import flags_of
from tests import builders
from tests.builders import moment, of, said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db
FINE = Found("good", resolution="0.1", expanded="0.2", unit="g", due_on=date(2026, 12, 31))
COARSE = Found("good", resolution="5", unit="g", due_on=date(2026, 12, 31))


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    builders.fibre()


def pot(resin="100 g", hardener="30 g", *, scales=(), told=None, mix="EPOXY", inputs=None):
    inputs = [of("R1", resin), of("H1", hardener)] if inputs is None else inputs
    return mix_pot("P1", mix=mix, inputs=inputs, weighing=Weighing(tuple(scales)), said=told or said())


def test_a_pot_is_the_sum_of_what_went_in_and_good_to_the_end_of_its_life():
    item = pot()
    assert (item.state.remaining, item.good_until) == (130 * 10**6, moment(0.75))
    split_lot("P1", [of("S1", "1 g")], said=said(0.75))
    with refuses_or_flags("expired") as both:
        both(lambda told: split_lot("P1", [of("S2", "1 g")], said=told))


def test_without_a_scale_the_ratio_is_not_judged():
    told = said()
    pot(hardener="90 g", told=told)
    assert flags_of(told.key) == []


@pytest.mark.parametrize("hardener", ["28.5 g", "30 g", "31.5 g"])
def test_a_ratio_on_its_limit_is_within(hardener):
    calibrate_gauge("SCALE-1", FINE, said=said(-1))
    told = said()
    pot(hardener=hardener, scales=["SCALE-1"], told=told)
    assert flags_of(told.key) == []


@pytest.mark.parametrize("hardener", ["28.499999 g", "31.500001 g"])
def test_a_ratio_outside_is_refused_before_anything_is_poured(hardener):
    calibrate_gauge("SCALE-1", FINE, said=said(-1))
    with refuses_or_flags("off-ratio") as both:
        both(lambda told: pot(hardener=hardener, scales=["SCALE-1"], told=told))


def test_a_scale_that_can_not_judge_the_ratio_is_named_before_pouring():
    calibrate_gauge("SCALE-1", COARSE, said=said(-1))
    with refuses("scale-too-coarse", "5 g"):
        pot(scales=["SCALE-1"])


def test_a_scale_past_its_check_warns_and_never_refuses():
    told = said()
    pot(scales=["GA-LATE"], told=told)
    assert flags_of(told.key) == ["gauge-overdue"]


@pytest.mark.parametrize(
    ("inputs", "code", "words"),
    [
        ([], "unknown", "Scan what goes"),
        ([of("R1"), of("FB1")], "wrong-kind", "FB1"),
        ([of("R1"), of("GHOST")], "unknown", "GHOST"),
        ([of("R1"), of("H1", "5 pcs")], "wrong-kind", "HRD-A"),
        ([of("R1"), of("H1", "-5 g")], "not-a-number", "below nought"),
    ],
)
def test_what_does_not_go_into_a_pot_is_refused(inputs, code, words):
    with refuses(code, words):
        pot(inputs=inputs)


def test_a_mix_and_a_scale_must_be_known():
    with refuses("unknown", "CHEESE"):
        pot(mix="CHEESE")
    with refuses("unknown", "SCALE-9"):
        pot(scales=["SCALE-9"])


def test_a_pot_in_doubt_is_possible_and_its_amount_is_drawn_all_the_same():
    pot(inputs=[of("R1", "100 g", possible=0.4), of("H1", "30 g")])
    link = builders.item_by_code("P1").made_from.get(parent__codes__code="R1")
    assert (link.certainty, link.share_ppb, link.amount) == (1, 400_000_000, 100 * 10**6)
