"""What the pages of a tank ask before it is drawn from or told to be clean, and what is marked where it was so."""

import pytest

from plant.quantities import read_quantity
from records.items.actions import charge_tank, draw_tank, place_hold
from records.items.models import TankEntry
from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from records.trace.queries import where_used
from tests import builders
from tests.builders import moment, of, said
from tests.records.items.pages import press, text

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})


def test_the_page_of_a_draw_asks_before_what_is_past_its_end_is_drawn_and_the_act_marks_it():
    builders.a_lot("R8", quantity="10 kg", expires=moment(-24).date(), hours=-72)
    charge_tank("TK-1", lot=of("R8", "5 kg"), said=said(-60))
    wanted = {"code": "P1", "amount": "1 kg"}
    assert "R8 is past its end" in text(press("tank_draw", "TK-1", role="stores", **wanted))
    assert press("tank_draw", "TK-1", role="stores", **wanted, done="on").status_code == 302
    assert flags_of(item_by_code("P1").entry.key) == ["tank-barred"]
    draw_tank("TK-1", into="P2", quantity=read_quantity("1 kg"), said=(told := said(1)))
    assert flags_of(told.key) == []  # nobody was asked


def test_the_desk_asks_before_a_tank_that_holds_something_by_its_log_is_told_to_be_clean():
    builders.a_lot("R1", quantity="20 kg")
    charge_tank("TK-1", lot=of("R1", "5 kg"), said=said(-2))
    assert "TK-1 still holds 5 kg by its log." in text(press("tank_clean", "TK-1", role="stores"))
    assert not TankEntry.objects.filter(kind=TankEntry.Kind.CLEAN).exists()
    assert press("tank_clean", "TK-1", role="stores", done="on").status_code == 302
    assert flags_of(TankEntry.objects.get(kind=TankEntry.Kind.CLEAN).entry.key) == ["not-empty"]


def test_the_page_of_a_draw_asks_before_something_held_is_drawn():
    builders.a_lot("R1", quantity="20 kg")
    charge_tank("TK-1", lot=of("R1", "5 kg"), said=said(-2))
    place_hold("R1", reason="leak", said=said(-1))
    wanted = {"code": "P1", "amount": "1 kg"}
    assert "R1 is held." in text(press("tank_draw", "TK-1", role="stores", **wanted))
    assert press("tank_draw", "TK-1", role="stores", **wanted, done="on").status_code == 302
    assert "P1" in {one.code for one in where_used("R1").listed}


# ---- change-over
