"""Leaving: frames go to the painter and come back, are released by a person, shipped; some come home."""

from __future__ import annotations

from functools import partial

from records.items import actions as items
from records.items.queries import item_by_code
from records.quality.actions import note_departure
from records.release.actions import print_label, release_units, ship
from records.release.gate import gate_of
from records.steps import actions as steps

from . import shaping
from .diary import Diary
from .works import DEALERS, PAINTER, STATIONS

FIELD_FAILURES = 2


def paint(diary: Diary) -> None:
    """On Tuesdays and Thursdays what is polished goes out; what went out the time before comes back."""
    stock = diary.stock
    if stock.out:
        back = list(stock.out)
        station = STATIONS["Stores"]
        diary.act("odo", lambda said: items.bring_back(back, station=station, said=said))
        stock.painted += back
        stock.out.clear()
    if stock.polished:
        going = list(stock.polished)
        diary.act("odo", lambda said: steps.send_out(going, to=PAINTER, said=said))
        stock.out += going
        stock.polished.clear()


def release(diary: Diary) -> None:
    """Painted frames are checked; those whose gate is closed are released by a named person."""
    for frame in list(diary.stock.painted):
        diary.stock.painted.remove(frame)
        if not shaping.finish(diary, frame):
            continue
        if any(line.is_open for line in gate_of(item_by_code(frame))):
            continue
        diary.act("quill", partial(release_units, [frame]))
        diary.act("odo", partial(print_label, frame))
        diary.stock.released.append(frame)


def ship_frames(diary: Diary) -> None:
    """On Fridays released frames are shipped, a few to each dealer."""
    while diary.stock.released:
        box = [diary.stock.released.pop(0) for _ in range(min(3, len(diary.stock.released)))]
        dealer = diary.random.choice(DEALERS)
        diary.act("odo", partial(ship, box, to=dealer))
        diary.stock.shipped += box


def field_failures(diary: Diary) -> None:
    """Two frames with the bad resin come home, where that many were shipped."""
    suspects = [frame for frame in diary.stock.shipped if shaping.holds_bad_resin(diary, frame)]
    failed = (suspects or diary.stock.shipped)[:FIELD_FAILURES]
    for frame in failed:
        come_home(diary, frame, "crack at the bottom bracket shell, found by the dealer")


def come_home(diary: Diary, frame: str, words: str) -> None:
    """A frame comes back from a customer, is noted and held."""
    bench = STATIONS["Bench"]
    diary.act("odo", lambda said: items.return_frame(frame, station=bench, words=words, said=said))
    diary.act("iris", lambda said: note_departure(frame, defect="field", words=words, said=said))
    diary.act("iris", lambda said: items.place_hold(frame, reason="field-failure", words=words, said=said))
