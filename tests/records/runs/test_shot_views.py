"""A pot that a machine metered, by its log: the masses and the moment are the log's, and what can't be is told."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from records.items.actions import charge_tank
from records.items.models import Item, Link
from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from records.runs.models import Log
from tests import builders
from tests.records.floor.told import tablet
from tests.worlds import press

pytestmark = pytest.mark.django_db
SHOT = "Time,Resin total [g],Hardener total [g]\n2026-03-02 09:00:00,0,0\n2026-03-02 09:00:05,100,{hardener}\n"


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    charge_tank("TK-1", lot=builders.of("R1", "2 kg"), said=builders.said(0.5))
    clock_at(builders.moment(2))


def a_shot(hardener: str = "30", raw: str = SHOT, **told: str):
    usual = {"mix": "EPOXY", "sources": "Resin total: TK-1\nHardener total: h1", "pot": "P9"} | told
    file = SimpleUploadedFile("shot.csv", raw.format(hardener=hardener).encode())
    return press(tablet("stores"), reverse("runs:shot_read"), file=file, **usual)


def test_masses_and_moment_are_those_of_the_log_and_a_second_time_it_makes_no_second_pot():
    assert a_shot().url == reverse("items:lot", args=["P9"])
    pot = item_by_code("P9")
    # The works' clock shows UTC in winter: 09:00:05 is an hour and five seconds after the builders' moment 0.
    assert pot.born_at == builders.moment(1 + 5 / 3600)
    assert (pot.good_until - pot.born_at).total_seconds() == 45 * 60
    amounts = Link.objects.filter(child=pot).order_by("-amount").values_list("parent__revision__part__number", "amount")
    assert list(amounts) == [("RES-A", 100 * 10**6), ("HRD-A", 30 * 10**6)]
    again = a_shot(pot="P10")
    assert "This file is on file already" in again.content.decode()
    assert (Log.objects.count(), Item.objects.filter(revision__part__number="MIX-A").count()) == (1, 1)


def test_what_was_metered_off_its_ratio_is_kept_and_marked():
    a_shot("40")
    assert flags_of(item_by_code("P9").entry.key) == ["off-ratio"]


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"sources": "Resin total"}, "Write a channel, a colon, and the tank or the can on each line."),
        ({"sources": "Paint: TK-1"}, "has no channel Paint"),
        ({"raw": "%PDF-1.7"}, "is a PDF"),
        ({"mixed_at": "2026-03-02T11:00"}, "This moment has not come yet."),
        ({"sources": "Resin total: BIN-1"}, "No such code here: BIN-1"),
        ({"sources": "Resin total: TK-1\nResin total: R1\nHardener total: H1"}, "Resin total stands on two lines."),
        ({"sources": "Resin total: [)>061TR1Z1"}, "separators of this label were lost"),
        ({"pot": "PT-26-000371-1"}, "its check digit does not fit"),
    ],
    ids=["no-source", "no-channel", "no-log", "not-yet", "no-tank", "twice", "lost-separators", "misread-pot"],
)
def test_what_cannot_be_is_told_and_nothing_is_kept(told, words):
    page = a_shot(**told)
    assert page.status_code == 200
    assert words in page.content.decode()
    assert not Log.objects.exists()


def test_a_symbol_is_read_where_a_can_is_scanned_and_no_mix_is_chosen_by_not_looking():
    symbol = "https://id.example/01/09521234544043/10/H1"
    a_shot(sources=f"Resin total: TK-1\nHardener total: {symbol}", pot="(01)09521234544043(10)P9")
    assert Link.objects.filter(child=item_by_code("P9"), parent=item_by_code("H1")).exists()
    page = tablet("stores").get(reverse("runs:shot_read")).content.decode()
    assert page.index("Choose</option>") < page.index("EPOXY</option>")
