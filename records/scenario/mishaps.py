"""What goes wrong on the way: wrong scans, a late entry, a key used twice, a label swap, rework, a gauge found out.

Each says whether it could happen: what lacks the units for it stays due until the works has them.
"""

from __future__ import annotations

from contextlib import suppress
from datetime import timedelta
from functools import partial

from plant.catalogue.models import Characteristic
from plant.codes import house_code
from plant.equipment.actions import Found, calibrate_gauge
from plant.quantities import read_quantity
from records.items import actions as items
from records.items.making import Input
from records.items.models import Link
from records.items.queries import item_by_code
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.quality.actions import swap_labels
from records.spc.actions import break_chart
from records.steps import actions as steps

from . import causes, stores
from .diary import Diary
from .shaping import is_held
from .works import BORE_GAUGE, CALLIPER, CHECKED_FOR, MANDRELS, RULER, SCALE_BIG, SCALE_FINE, STATIONS


def calibrate_all(diary: Diary) -> None:
    """Every gauge and scale is found good at the beginning."""
    due = diary.now.date() + CHECKED_FOR
    for gauge in (CALLIPER, BORE_GAUGE, RULER):
        found = Found("good", error="0", resolution="0.01", due_on=due, certificate="own check")
        diary.act("edda", partial(calibrate_gauge, gauge, found))
    for scale, step in ((SCALE_FINE, "0.1"), (SCALE_BIG, "0.5")):
        found = Found("good", error="0", resolution=step, unit="g", smallest_load="5", due_on=due)
        diary.act("edda", partial(calibrate_gauge, scale, found))


def find_gauge_out(diary: Diary) -> bool:
    """The length bar is found out at its check: whatever it passed since the last good one is in doubt."""
    error = f"{causes.GAUGE_ERROR_MM:.2f}"
    found = Found("out", error=error, left_error="0", remark="knocked; reads too high")
    diary.act("edda", lambda said: calibrate_gauge(RULER, found, said=said))
    good = Found("good", error="0", due_on=diary.now.date() + CHECKED_FOR)
    diary.act("edda", lambda said: calibrate_gauge(RULER, good, said=said))
    return True


def wrong_scan(diary: Diary) -> bool:
    """The wrong spool was scanned for a tube; it is corrected."""
    tube, spools = diary.last_tube, diary.stock.spools
    if not tube or len(spools) < 2:
        return False
    link = Link.objects.filter(child=item_by_code(tube), first=None).select_related("entry", "parent__state")[0]
    right = next(code for code in reversed(spools) if code != link.parent.code)
    correction = items.Correction(link.parent.code, right)
    key = link.entry.key
    diary.act("marta", lambda said: items.correct_link(key, correction, words="read the spool beside it", said=said))
    return True


def late_entry(diary: Diary) -> bool:
    """A tube wound on paper from a held spool is told in the afternoon: taken, flagged, and held by itself."""
    spool = stores.spool(diary, 300)
    hold = diary.act(
        "quill", lambda said: items.place_hold(spool, reason="supplier-call", words="one bobbin in doubt", said=said)
    )
    lots = [Input(spool, read_quantity("300 g"))]
    made = steps.Made([MANDRELS[0]], STATIONS["Winding"])
    at = diary.now + diary.step / 2
    diary.act("lenz", lambda said: steps.wind("", part="TUBE", spools=lots, made=made, said=said), at=at, done=True)
    diary.act("quill", lambda said: items.lift_hold(hold.entry.key, words="supplier cleared it", said=said))
    return True


def same_key_twice(diary: Diary) -> bool:
    """A tablet sends a key again with other content: the first is kept, the second kept apart for Review."""
    spool, station = stores.spool(diary, 300), STATIONS["Winding"]
    said = diary.said("marta")
    with clock.at(diary.now + timedelta(seconds=15)):
        items.move_item(spool, station=station, said=said)
        with suppress(Refused):  # the second is kept in the list of unplaced entries
            items.move_item(spool, station=STATIONS["Stores"], said=said)
    return True


def label_swap(diary: Diary) -> bool:
    """Two rears wore each other's label since this morning; two people say how they know."""
    here = diary.stock.ready["rear"] + [m.unit for m in diary.stock.moulded if m.unit.startswith("RT")]
    pairs = [(one, other) for one in here for other in here if one < other and _same_part(one, other)]
    pairs = [pair for pair in pairs if not any(is_held(unit) for unit in pair)]
    if not pairs:
        return False
    one, other = pairs[0]
    since = diary.now - timedelta(minutes=1)
    words = "labels stuck on at the same bench"
    swap = diary.act("jonas", lambda said: swap_labels(one, other, since=since, words=words, said=said))
    for who in ("jonas", "quill"):
        diary.act(who, lambda said: items.confirm_swap(swap, words="weight written on the tag", said=said))
    return True


def _same_part(one: str, other: str) -> bool:
    return item_by_code(one).part.pk == item_by_code(other).part.pk


def rework(diary: Diary) -> bool:
    """A rear is taken out of the frame bonded last and another put in, with fresh adhesive."""
    if not diary.stock.bonded:
        return False
    frame = diary.stock.bonded[-1]
    old = Link.objects.newest().filter(child=item_by_code(frame), parent__revision__part__kind="rear", status=0)
    rear = old.select_related("parent__state")[0].parent.code
    better = next((unit for unit in diary.stock.ready["rear"] if _same_part(unit, rear)), None)
    if better is None:
        return False
    station = STATIONS["Bonding"]
    words = "gap in the bond line at the stay"
    diary.act("jonas", lambda said: items.take_out(frame, item=rear, words=words, station=station, said=said))
    diary.stock.ready["rear"].remove(better)
    pot = stores.adhesive_pot(diary, 1)
    lot = Input(pot, read_quantity("30 g"))
    diary.act("jonas", lambda said: items.put_in(frame, item=better, said=said))
    diary.act("jonas", lambda said: items.put_in(frame, lot=lot, said=said))
    diary.act("jonas", lambda said: items.scrap(rear, words=words, said=said))
    return True


def renumber_one(diary: Diary) -> bool:
    """A label is spoilt in the heat; the frame gets a new number, the old one still finds it."""
    if not diary.stock.bonded:
        return False
    frame = diary.stock.bonded[-1]
    new = house_code("TW", diary.now.year, 900000 + diary.made)
    diary.act("quill", lambda said: items.renumber(frame, to=new, words="label spoilt in the heat", said=said))
    diary.stock.bonded[-1] = new
    return True


def rebuild_press(diary: Diary) -> bool:
    """The press is rebuilt: the chart of the stays begins a new piece."""
    for characteristic in Characteristic.objects.filter(name="stay-length"):
        diary.act(
            "edda",
            partial(break_chart, characteristic, words="press 2 rebuilt after the cold half"),
        )
    return True
