"""The same things told in any order give the same genealogy: a log counts by its times, not by when it was told."""

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from plant.quantities import read_quantity
from records.items import actions as items
from records.items.models import Item
from records.items.queries import names_of
from records.ledger.verifying import verify
from records.trace.walking import walk
from tests import builders
from tests.builders import moment, of, said

FEW = settings(
    max_examples=max(4, settings().max_examples // 16),
    phases=[Phase.reuse, Phase.generate],
    suppress_health_check=list(HealthCheck),
)


def charge(lot, quantity, hours):
    return lambda: items.charge_tank("TK-1", lot=of(lot, quantity), said=said(hours))


def draw(into, quantity, hours):
    return lambda: items.draw_tank("TK-1", into=into, quantity=read_quantity(quantity), said=said(hours))


def late(item, lot, share=None):
    return lambda: items.tell_use_late(item, lot=of(lot, "1 g", possible=share), words="forgotten", said=said(0.5))


def mount(lot, begin, end):
    window = {"not_before": moment(begin), "not_after": moment(end)}
    return lambda: items.mount_lot("WIND-1", head="left", lot=lot, **window, said=said(20))


def wound(code, begin, end):
    made = builders.Made(["MD-1"], "WIND-1", head="left", began_at=moment(begin))
    return lambda: builders.wind(code, part="TUBE", spools=[], made=made, said=said(end))


TOLD = [
    charge("R1", "20 kg", 0),
    draw("D1", "18 kg", 1),
    charge("R2", "20 kg", 2),
    charge("R3", "1 mg", 3),
    draw("D2", "4 kg", 4),
    lambda: items.clean_tank("TK-1", said=said(5)),
    charge("R1", "3 kg", 6),
    draw("D3", "5 kg", 7),
    late("P1", "R2", 0.3),
    late("P1", "R3"),
    late("R4", "P1", 0.9),
    mount("SP1", 0, 0),
    mount("SP2", 2, 2.7),
    mount("SP3", 4, 4.5),
    wound("T1", 1, 2.5),
    wound("T2", 2.8, 4.2),
]


def everything():
    """Every walk both ways, by codes."""
    numbers = list(Item.objects.values_list("pk", flat=True))
    names = names_of(numbers)
    return {
        (names[root].code, down): {
            names[item].code: (label.cls, label.share_ppb) for item, label in walk([root], down=down).labels.items()
        }
        for root in numbers
        for down in (True, False)
    }


@pytest.mark.long
@pytest.mark.django_db
def test_any_order_of_arrival_gives_the_same_answer():
    builders.a_works(holds={})
    builders.a_pot("P1", grams=100)
    for lot in ("R2", "R3", "R4"):
        builders.a_lot(lot)
    for spool in ("SP1", "SP2", "SP3"):
        builders.a_spool(spool)

    def answer(told):
        with transaction.atomic():
            for act in told:
                act()
            assert verify().faults == ()
            found = everything()
            transaction.set_rollback(True)
        return found

    in_turn = answer(TOLD)
    assert in_turn["R3", True].keys() >= {"D2", "P1", "R4"}

    @FEW
    @given(st.permutations(TOLD))
    def any_order(told):
        assert answer(told) == in_turn

    any_order()
