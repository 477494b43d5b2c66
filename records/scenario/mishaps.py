"""What goes wrong on the way: wrong scans, a late entry, a key used twice, a label swap, rework, a gauge found out."""

from __future__ import annotations

from contextlib import suppress
from datetime import date, timedelta
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
from .works import BORE_GAUGE, CALLIPER, MANDRELS, RULER, SCALE_BIG, SCALE_FINE, STATIONS


def calibrate_all(diary: Diary) -> None:
    """Every gauge and scale is found good at the beginning."""
    for gauge in (CALLIPER, BORE_GAUGE, RULER):
        found = Found("good", error="0", resolution="0.01", due_on=date(2027, 1, 31), certificate="own check")
        diary.act("edda", partial(calibrate_gauge, gauge, found))
    for scale, step in ((SCALE_FINE, "0.1"), (SCALE_BIG, "0.5")):
        found = Found("good", error="0", resolution=step, unit="g", smallest_load="5", due_on=date(2027, 1, 31))
        diary.act("edda", partial(calibrate_gauge, scale, found))


def find_gauge_out(diary: Diary) -> None:
    """The length bar is found out at its check: whatever it passed since the last good one is in doubt."""
    error = f"{causes.GAUGE_ERROR_MM:.2f}"
    found = Found("out", error=error, left_error="0", remark="knocked; reads too high")
    diary.act("edda", lambda said: calibrate_gauge(RULER, found, said=said))
    good = Found("good", error="0", due_on=date(2027, 3, 31))
    diary.act("edda", lambda said: calibrate_gauge(RULER, good, said=said))


def wrong_scan(diary: Diary) -> None:
    """The wrong spool was scanned for a tube; it is corrected."""
    tube, spools = diary.last_tube, diary.stock.spools
    if not tube or len(spools) < 2:
        return
    link = Link.objects.filter(child=item_by_code(tube), first=None).select_related("entry", "parent__state")[0]
    right = next(code for code in reversed(spools) if code != link.parent.code)
    correction = items.Correction(link.parent.code, right)
    key = link.entry.key
    diary.act("marta", lambda said: items.correct_link(key, correction, words="read the spool beside it", said=said))


def late_entry(diary: Diary) -> None:
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


def same_key_twice(diary: Diary) -> None:
    """A tablet sends a key again with other content: the first is kept, the second kept apart for Review."""
    spool, station = stores.spool(diary, 300), STATIONS["Winding"]
    said = diary.said("marta")
    with clock.at(diary.now + timedelta(seconds=15)):
        items.move_item(spool, station=station, said=said)
        with suppress(Refused):  # the second is kept in the list of unplaced entries
            items.move_item(spool, station=STATIONS["Stores"], said=said)


def label_swap(diary: Diary) -> None:
    """Two rears wore each other's label since this morning; two people say how they know."""
    ready = diary.stock.ready["rear"]
    pairs = [(one, other) for one in ready for other in ready if one < other and _same_part(one, other)]
    if not pairs:
        return
    one, other = pairs[0]
    since = diary.now - timedelta(minutes=1)
    words = "labels stuck on at the same bench"
    swap = diary.act("jonas", lambda said: swap_labels(one, other, since=since, words=words, said=said))
    for who in ("jonas", "quill"):
        diary.act(who, lambda said: items.confirm_swap(swap, words="weight written on the tag", said=said))


def _same_part(one: str, other: str) -> bool:
    return item_by_code(one).part.pk == item_by_code(other).part.pk


def rework(diary: Diary) -> None:
    """A rear is taken out of a frame and another put in, with fresh adhesive."""
    frames = [frame for frame in diary.stock.bonded if frame]
    if not frames or not diary.stock.ready["rear"]:
        return
    frame = frames[-1]
    old = Link.objects.newest().filter(child=item_by_code(frame), parent__revision__part__kind="rear", status=0)
    rear = old.select_related("parent__state")[0].parent.code
    station = STATIONS["Bonding"]
    words = "gap in the bond line at the stay"
    diary.act("jonas", lambda said: items.take_out(frame, item=rear, words=words, station=station, said=said))
    better = diary.stock.ready["rear"].pop(0)
    pot = stores.adhesive_pot(diary, 1)
    lot = Input(pot, read_quantity("30 g"))
    diary.act("jonas", lambda said: items.put_in(frame, item=better, said=said))
    diary.act("jonas", lambda said: items.put_in(frame, lot=lot, said=said))
    diary.act("jonas", lambda said: items.scrap(rear, words=words, said=said))


def renumber_one(diary: Diary) -> None:
    """A label is spoilt in the heat; the frame gets a new number, the old one still finds it."""
    if diary.stock.bonded:
        frame = diary.stock.bonded[-1]
        new = house_code("TW", 2026, 900000 + diary.made)
        diary.act("quill", lambda said: items.renumber(frame, to=new, words="label spoilt in the heat", said=said))
        diary.stock.bonded[-1] = new


def rebuild_press(diary: Diary) -> None:
    """The press is rebuilt: the chart of the stays begins a new piece."""
    for characteristic in Characteristic.objects.filter(name="stay-length"):
        diary.act(
            "edda",
            partial(break_chart, characteristic, words="press 2 rebuilt after the cold half"),
        )
