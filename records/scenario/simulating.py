"""The whole course, day by day."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from plant.catalogue.actions import open_works
from plant.catalogue.models import Part
from plant.people.models import Person, Works
from records.items.actions import accept_lot, read_certificate
from records.items.models import Hold, Item
from records.items.queries import item_by_code
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.commands import CannotAnswer
from records.ledger.memory import only_writer
from records.ledger.models import Entry, Flag
from records.ledger.sealing import seal_all

from . import leaving, mishaps, shaping, stores
from .diary import MODELS, Diary, midnight
from .works import FIRST_DAY, opening

Progress = Callable[[str], None]
SPARE_DAYS = 10
MONDAY = 0


@only_writer()
def simulate(
    frames: int, weeks: int, seed: int, folder: Path, progress: Progress, first_day: date = FIRST_DAY
) -> dict[str, Any]:
    """Make production in an empty works through the same actions as people. Raises ``CannotAnswer``."""
    if Works.objects.exists():
        raise CannotAnswer("A works is open in this database; simulate needs one with nothing in it.")
    if frames < 1 or weeks < 1:
        raise CannotAnswer("Give at least one frame and one week.")
    if first_day.weekday() != MONDAY:
        raise CannotAnswer(f"The works begins on a Monday; {first_day} is a {first_day:%A}.")
    if midnight(first_day) + timedelta(weeks=weeks) > clock.now():
        raise CannotAnswer(f"{weeks} weeks from {first_day} are not over yet; begin earlier.")
    started = time.monotonic()
    folder.mkdir(parents=True, exist_ok=True)
    begin = midnight(first_day) - timedelta(days=1)
    with clock.at(begin):
        key = uuid5(NAMESPACE_URL, f"tarnside/{seed}/opening")
        open_works(opening(first_day), said=Said(Person.objects.set_up(), key, begin))
    diary = Diary(frames, weeks, seed, folder, first_day)
    first_days(diary)
    day = 0
    while not is_finished(diary, day):
        one_day(diary, day)
        progress(f"day {day + 1}: {diary.made} of {frames} frames bonded, {len(diary.stock.shipped)} shipped")
        day += 1
    leaving.field_failures(diary)
    seal_all()
    return figures(diary, time.monotonic() - started)


def first_days(diary: Diary) -> None:
    """Before the first tube: gauges checked, materials in, and the usual trouble in quarantine."""
    diary.begin_day(0)
    mishaps.calibrate_all(diary)
    stores.quarantine_troubles(diary)
    stores.open_lot(diary, "INS-52", "1 pcs")
    stores.receive(diary, "BND-U")


def is_finished(diary: Diary, day: int) -> bool:
    """All frames made and the weeks over; losses in the last days may take a few more."""
    return (diary.made >= diary.frames and day >= diary.days) or day >= diary.days + SPARE_DAYS


def one_day(diary: Diary, day: int) -> None:
    """One working day: what comes last on a frame's way first, so that nothing overtakes itself."""
    diary.begin_day(day)
    weekday = day % 5
    if weekday in (1, 3):
        leaving.paint(diary)
    leaving.release(diary)
    if weekday == 4:
        leaving.ship_frames(diary)
    for frame in list(diary.stock.bonded):
        diary.stock.bonded.remove(frame)
        shaping.polish(diary, frame)
    for moulded in list(diary.stock.moulded):
        diary.stock.moulded.remove(moulded)
        shaping.machine(diary, shaping.cure(diary, moulded))
    bond_frames(diary)
    mould_triangles(diary)
    trouble_of_the_day(diary, day)
    stores.write_off_pots(diary)


def bond_frames(diary: Diary) -> None:
    """Fronts and rears of one model are bonded, two frames from a pot of adhesive."""
    pot, uses = "", 0
    for model in MODELS:
        while diary.bonded_of(model) < diary.wanted_of(model) and (pair := next_pair(diary, model)):
            shaping.prepare(diary, *pair)
            if uses % 2 == 0:
                pot = stores.adhesive_pot(diary, 2)
            uses += 1
            shaping.bond(diary, model, *pair, pot)
            # Only now are there both a frame just bonded and a rear that is ready.
            let_happen(diary, mishaps.rework)


def next_pair(diary: Diary, model: str) -> tuple[str, str] | None:
    """The front and the rear of a model that are ready longest, taken from the shelf; none when either lacks."""
    ready = diary.stock.ready
    pair = [next((unit for unit in ready[end] if model_of(unit) == model), "") for end in ("front", "rear")]
    if not all(pair):
        return None
    for end, unit in zip(("front", "rear"), pair, strict=True):
        ready[end].remove(unit)
    return pair[0], pair[1]


def model_of(unit: str) -> str:
    """Short name of the model that a triangle is for."""
    return item_by_code(unit).part.number[:2]


def shots_of_the_day(diary: Diary) -> list[tuple[str, str]]:
    """As many fronts and rears of each model as the rest of the course asks for."""
    days_left = max(1, diary.days - 4 - diary.day)
    shots = []
    for model in MODELS:
        for end in ("front", "rear"):
            have = sum(model_of(unit) == model for unit in diary.stock.ready[end])
            missing = diary.wanted_of(model) - diary.bonded_of(model) - have
            shots += [(model, end)] * -(-max(0, missing) // days_left)
    return shots


def mould_triangles(diary: Diary) -> None:
    """Tubes are wound, a pot mixed for one to three shots, the moulds closed and filled; they cure overnight."""
    shots = shots_of_the_day(diary)
    while shots:
        batch = [shots.pop(0) for _ in range(min(diary.random.randint(1, 3), len(shots)))]
        for _, end in batch:
            for _ in range(shaping.TUBES[end]):
                shaping.wind(diary)
        inserts = [stores.frame_inserts(diary) if end == "front" else [] for _, end in batch]
        closed = [shaping.close(diary, model, end, pieces) for (model, end), pieces in zip(batch, inserts, strict=True)]
        for moulded in closed:
            shaping.check(diary, moulded)
        pot = stores.resin_pot(diary, len(batch))
        diary.stock.moulded += [shaping.fill(diary, moulded, pot) for moulded in closed]


TROUBLES: dict[float, Callable[[Diary], bool]] = {
    0.1: mishaps.same_key_twice,
    0.2: mishaps.wrong_scan,
    0.3: stores.clean_tank,
    0.35: mishaps.late_entry,
    0.45: mishaps.rework,
    0.5: mishaps.label_swap,
    0.6: mishaps.renumber_one,
    0.7: mishaps.rebuild_press,
    0.85: mishaps.find_gauge_out,
}


def let_happen(diary: Diary, *troubles: Callable[[Diary], bool]) -> None:
    """Those of the troubles that are due happen, where they can."""
    for trouble in troubles:
        if trouble in diary.due and trouble(diary):
            diary.due.remove(trouble)


def trouble_of_the_day(diary: Diary, day: int) -> None:
    """What is planted for this part of the course, and what could not happen before."""
    diary.due += [trouble for part, trouble in TROUBLES.items() if round(part * (diary.days - 1)) == day]
    let_happen(diary, *TROUBLES.values())
    at_risk = diary.stock.lots.get("at-risk")
    if at_risk and day == min(5, diary.days - 1):
        values = stores.ORDERS["HRD-A"][2]
        diary.act("odo", lambda said: read_certificate(at_risk, values, said=said))
        diary.act("odo", lambda said: accept_lot(at_risk, words="certificate came", said=said))
        del diary.stock.lots["at-risk"]


def figures(diary: Diary, seconds: float) -> dict[str, Any]:
    """What was made, as the command tells it."""
    return {
        "command": "simulate",
        "works": "Tarnside Works",
        "seed": diary.seed,
        "frames": diary.made,
        "weeks": diary.weeks,
        "entries": Entry.objects.count(),
        "flagged": Flag.objects.values("entry").distinct().count(),
        "lots": Item.objects.filter(kind=Part.Tracked.LOT).count(),
        "units": Item.objects.filter(kind=Part.Tracked.UNIT).count(),
        "files": diary.files,
        "holds": Hold.objects.count(),
        "shipped": len(diary.stock.shipped),
        "sealed": not Entry.objects.filter(leaf=None).exists(),
        "seconds": round(seconds, 1),
    }
