"""A plant of many frames, drawn from a seed as whole arrays: what was born when, and what is made from what.

Numbers only; ``filling`` makes rows of them. Sizes are a stress setting, common practice, no source: a frame every ten
minutes and a half, six preforms a frame, twelve shots a pot, a resin batch in some 400 frames.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from records.items.mixing import CHARGE, CLEAN, DRAW, Line, work_out
from tests.builders import MONDAY

Numbers = NDArray[np.int64]

SECOND = 10**6  # times are microseconds since 1970, as databases keep them
HOUR = 3600 * SECOND
DAY = 24 * HOUR
EVERY = 365 * DAY // 50_000
START = int((MONDAY + timedelta(days=14)).timestamp()) * SECOND

GRAM = 10**6
KILO = 10**9
RESIN, HARDENER = 1700 * GRAM, 510 * GRAM
TUBES, GRADES, HEADS = 6, 3, 4
SHOTS, POTS_A_BATCH, POTS_A_HARDENER = 12, 48, 150
BATCHES_A_CLEANING = 3
FRAMES_A_GLUE = 8
# So many uses in a hundred were a wrong scan of the thing before, put right an hour later.
WRONG = 1.5
TAKEN_OUT = 0.5


@dataclass(frozen=True)
class Things:
    """Things of one part, in order of birth; ``delivered`` is how much one delivery brings, nought if made here."""

    born: Numbers
    delivered: int = 0


@dataclass(frozen=True)
class Uses:
    """One kind of use: thing ``of`` of the children is made from thing ``it`` of the parents."""

    child: str
    parent: str
    of: Numbers
    it: Numbers
    amount: int | None = None  # [steps]
    reason: str = ""
    wrong: Numbers = field(default_factory=lambda: np.empty(0, np.int64))  # rows that were scanned wrong


@dataclass(frozen=True)
class TankLog:
    """Lines of the tank in order: kind, when, the resin charged or the amount drawn, how much."""

    kind: Numbers
    at: Numbers
    item: Numbers
    amount: Numbers


@dataclass
class Plant:
    """Everything that was drawn. ``fronts_out`` are front triangles taken out of their frames two days later."""

    things: dict[str, Things] = field(default_factory=dict)
    uses: list[Uses] = field(default_factory=list)
    tank: TankLog | None = None
    shares: Numbers = field(default_factory=lambda: np.empty((0, 5), np.int64))  # drawn, resin, share, least, most
    fronts_out: Numbers = field(default_factory=lambda: np.empty(0, np.int64))


def plant_of(frames: int, seed: int = 9162) -> Plant:
    """A plant that has bonded so many frames."""
    rng = np.random.default_rng(seed)
    plant = Plant()
    nominal = START + np.arange(frames) * EVERY
    _pots(plant, rng, nominal)
    _preforms(plant, rng, nominal)
    _triangles(plant, rng, frames)
    _frames(plant, nominal)
    plant.uses = [_with_slips(uses, rng) for uses in plant.uses]
    plant.fronts_out = np.flatnonzero(rng.random(frames) < TAKEN_OUT / 100)
    return plant


def _sources(raw: Numbers, used_at: Numbers, lead: int) -> tuple[Numbers, Numbers, Numbers]:
    """What is used, numbered by first use: number for each use, birth ``lead`` before it, and its raw number."""
    found, where = np.unique(raw, return_inverse=True)
    first = np.full(len(found), np.iinfo(np.int64).max)
    np.minimum.at(first, where, used_at)
    order = np.argsort(first, kind="stable")
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    return rank[where], first[order] - lead, found[order]


def _pots(plant: Plant, rng: np.random.Generator, nominal: Numbers) -> None:
    """Pots of resin and hardener; three in ten take their resin from the tank, by a drawn lot of their own."""
    pots = np.arange(-(-len(nominal) * 2 // SHOTS))
    born = nominal[pots * SHOTS // 2] - DAY
    is_drawn = rng.random(len(pots)) < 0.3
    batch = pots // POTS_A_BATCH
    from_tank, straight = pots[is_drawn], pots[~is_drawn]
    log = _tank_log(batch[from_tank], born[from_tank] - 300 * SECOND)
    charges = log.kind == CHARGE
    # A batch is used by the pots that took it straight and by the tank.
    resin, resin_born, _ = _sources(
        np.concatenate([batch[straight], log.item[charges]]),
        np.concatenate([born[straight], log.at[charges]]),
        10 * DAY,
    )
    renumbered = log.item.copy()
    renumbered[charges] = resin[len(straight) :]
    plant.tank = TankLog(log.kind, log.at, renumbered, log.amount)
    plant.shares = _shares(plant.tank)
    hardener, hardener_born, _ = _sources(pots // POTS_A_HARDENER, born, 10 * DAY)
    drawn = np.arange(len(from_tank))
    plant.things |= {
        "resin": Things(resin_born, 110 * KILO),
        "hardener": Things(hardener_born, 100 * KILO),
        "drawn": Things(born[from_tank] - 300 * SECOND),
        "pot": Things(born),
    }
    plant.uses += [
        Uses("pot", "resin", straight, resin[: len(straight)], RESIN, "mix"),
        Uses("pot", "drawn", from_tank, drawn, RESIN, "mix"),
        Uses("pot", "hardener", pots, hardener, HARDENER, "mix"),
    ]


def _tank_log(batch: Numbers, drawn_at: Numbers) -> TankLog:
    """Charged with each batch before its first draw, cleaned out every few batches; a draw's worth stays behind."""
    lines = [(DRAW, at, n, RESIN) for n, at in enumerate(drawn_at.tolist())]
    cleaned = -1
    for number in np.unique(batch).tolist():
        draws = drawn_at[batch == number]
        first, more = int(draws.min()), 0
        if number // BATCHES_A_CLEANING != cleaned:
            cleaned, more = number // BATCHES_A_CLEANING, 1
            lines.append((CLEAN, first - 1200 * SECOND, -1, 0))
        lines.append((CHARGE, first - 600 * SECOND, number, RESIN * (len(draws) + more)))
    table = np.array(sorted(lines, key=lambda line: line[1]), np.int64).reshape(-1, 4)
    return TankLog(*table.T)


def _shares(log: TankLog) -> Numbers:
    """What each draw holds of each resin, as the program works it out."""
    columns = (log.kind, np.array(log.at, "M8[us]"), log.item, log.amount)
    rows = zip(*(column.tolist() for column in columns), strict=True)
    worked = work_out([Line(n, kind, at, item, amount) for n, (kind, at, item, amount) in enumerate(rows)])
    stored = [
        (draw.line.item, part.lot, part.share_ppb, part.least_ppb, part.most_ppb)
        for draw in worked.draws
        for part in draw.portions
        if part.stored
    ]
    return np.array(stored, np.int64).reshape(-1, 5)


def _preforms(plant: Plant, rng: np.random.Generator, nominal: Numbers) -> None:
    """Preforms of fibre of three grades, wound on four heads each, with binder from tins."""
    preforms = np.arange(len(nominal) * TUBES)
    born = nominal[preforms // TUBES] - 3 * DAY + preforms % TUBES * 100 * SECOND
    grade, head = preforms % GRADES, rng.integers(0, HEADS, len(preforms))
    next_head = (head + 1) % HEADS
    first, second = np.empty_like(preforms), np.empty_like(preforms)
    for one in range(GRADES):
        mine = np.flatnonzero(grade == one)
        served = np.cumsum(head[mine, None] == np.arange(HEADS), axis=0)  # by each head so far
        at = np.arange(len(mine))
        first[mine] = (served[at, head[mine]] - 1) // 80
        second[mine] = served[at, next_head[mine]] // 80
    takes_two = preforms[rng.random(len(preforms)) < 0.15]
    raw = (grade * HEADS + head) * 10**6 + first
    more = (grade * HEADS + next_head)[takes_two] * 10**6 + second[takes_two]
    spool, spool_born, raws = _sources(np.concatenate([raw, more]), np.concatenate([born, born[takes_two]]), HOUR)
    fibre, fibre_born, _ = _sources(_lots_of_spools(rng, raws // 10**6 // HEADS), spool_born, 10 * DAY)
    tin, tin_born, _ = _sources(preforms // 2000, born, HOUR)
    binder, binder_born, _ = _sources(np.arange(len(tin_born)) // 150, tin_born, 10 * DAY)
    plant.things |= {
        "fibre": Things(fibre_born, 300 * KILO),
        "binder": Things(binder_born, 400 * KILO),
        "spool": Things(spool_born),
        "tin": Things(tin_born),
        "preform": Things(born),
    }
    plant.uses += [
        Uses("spool", "fibre", np.arange(len(fibre)), fibre, 6 * KILO, "split"),
        Uses("tin", "binder", np.arange(len(binder)), binder, 2500 * GRAM, "split"),
        Uses("preform", "spool", preforms, spool[: len(preforms)], 60 * GRAM),
        Uses("preform", "spool", takes_two, spool[len(preforms) :], 20 * GRAM),
        Uses("preform", "tin", preforms, tin, GRAM),
    ]


def _lots_of_spools(rng: np.random.Generator, grade: Numbers) -> Numbers:
    """Lots of 50 spools each; they are issued out of order, so that about three lots of a grade are open together."""
    lots = np.empty_like(grade)
    for one in range(GRADES):
        mine = np.flatnonzero(grade == one)
        numbers = np.arange(len(mine) + 200)
        issued = np.argsort(numbers + rng.uniform(0, 150, len(numbers)))[: len(mine)]
        lots[mine] = one * 10**6 + issued // 50
    return lots


def _triangles(plant: Plant, rng: np.random.Generator, frames: int) -> None:
    """Front and rear triangles: three preforms each, a shot from a pot, an insert from the side's set."""
    pot_born = plant.things["pot"].born
    raw, used_at = [], []
    for side, name in enumerate(("front", "rear")):
        n = np.arange(frames)
        shot = n * 2 + side
        born = pot_born[shot // SHOTS] + 600 * SECOND + shot % SHOTS * 120 * SECOND
        plant.things[name] = Things(born)
        for tube in range(3):
            plant.uses.append(Uses(name, "preform", n, n * TUBES + side * 3 + tube))
        plant.uses.append(Uses(name, "pot", n, shot // SHOTS, 180 * GRAM))
        raw.append(side * 10**6 + np.maximum(n + rng.integers(-200, 201, frames), 0) // 2000)
        used_at.append(born)
    insert, insert_born, _ = _sources(np.concatenate(raw), np.concatenate(used_at), HOUR)
    hardware, hardware_born, _ = _sources(np.arange(len(insert_born)) // 50, insert_born, 10 * DAY)
    plant.things |= {"hardware": Things(hardware_born, 120_000), "insert": Things(insert_born)}
    plant.uses += [
        Uses("front", "insert", np.arange(frames), insert[:frames], 1),
        Uses("rear", "insert", np.arange(frames), insert[frames:], 1),
        Uses("insert", "hardware", np.arange(len(hardware)), hardware, 2400, "split"),
    ]


def _frames(plant: Plant, nominal: Numbers) -> None:
    """Frames: two triangles and adhesive from a pot that serves eight."""
    n = np.arange(len(nominal))
    glue = n // FRAMES_A_GLUE
    glue_born = nominal[::FRAMES_A_GLUE]
    pots = np.arange(len(glue_born))
    part_a, a_born, _ = _sources(pots // 200, glue_born, 10 * DAY)
    part_b, b_born, _ = _sources(pots // 300, glue_born, 10 * DAY)
    plant.things |= {
        "adhesive": Things(a_born, 30 * KILO),
        "adhesive-hardener": Things(b_born, 30 * KILO),
        "glue": Things(glue_born),
        "frame": Things(glue_born[glue] + 300 * SECOND + n % FRAMES_A_GLUE * 300 * SECOND),
    }
    plant.uses += [
        Uses("glue", "adhesive", pots, part_a, 120 * GRAM, "mix"),
        Uses("glue", "adhesive-hardener", pots, part_b, 60 * GRAM, "mix"),
        Uses("frame", "front", n, n),
        Uses("frame", "rear", n, n),
        Uses("frame", "glue", n, glue, 20 * GRAM),
    ]


def _with_slips(uses: Uses, rng: np.random.Generator) -> Uses:
    """The same with a few wrong scans, where a lot of which there are many goes into a unit."""
    if uses.child not in ("preform", "front", "rear", "frame") or uses.amount is None:
        return uses
    slips = np.flatnonzero((rng.random(len(uses.of)) < WRONG / 100) & (uses.it > 0))
    return Uses(uses.child, uses.parent, uses.of, uses.it, uses.amount, uses.reason, slips)
