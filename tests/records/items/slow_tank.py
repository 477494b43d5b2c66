"""A tank in exact fractions, and a tank stirred to make the bounds fail; nothing of the program's sums."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from random import Random

from hypothesis import strategies as st

from records.items.mixing import CHARGE, CLEAN, DRAW, Line

START = datetime(2026, 3, 2, tzinfo=UTC)
Taken = dict[int, Fraction]


def at(hour: float) -> datetime:
    return START + timedelta(hours=hour)


def in_order(lines: Sequence[Line]) -> list[Line]:
    """By time; at one instant cleanings, charges, draws, then births."""
    return sorted(lines, key=lambda line: (line.at, (CLEAN, CHARGE, DRAW).index(line.kind), line.item))


def mixed_exactly(lines: Sequence[Line]) -> tuple[dict[int, Taken], Taken]:
    """What each draw, by its number, takes of each lot under perfect mixing, and what is left in the tank."""
    tank: Taken = {}
    draws = {}
    for line in in_order(lines):
        if line.kind == CLEAN:
            tank = {}
        elif line.kind == CHARGE:
            tank[line.item] = tank.get(line.item, Fraction(0)) + line.amount
        else:
            volume = sum(tank.values())
            share = min(Fraction(line.amount), volume) / volume if volume else Fraction(0)
            draws[line.number] = {lot: amount * share for lot, amount in tank.items()}
            tank = {lot: amount * (1 - share) for lot, amount in tank.items()}
    return draws, tank


def stirred_badly(lines: Sequence[Line], chance: Random) -> dict[int, dict[int, int]]:
    """What each draw takes of each lot when the tank is not stirred at all but layered in some order each time."""
    tank: dict[int, int] = {}
    draws = {}
    for line in in_order(lines):
        if line.kind == CLEAN:
            tank = {}
        elif line.kind == CHARGE:
            tank[line.item] = tank.get(line.item, 0) + line.amount
        else:
            draws[line.number] = taken = _layered(tank, line.amount, chance)
            tank = {lot: amount - taken[lot] for lot, amount in tank.items()}
    return draws


def _layered(tank: dict[int, int], amount: int, chance: Random) -> dict[int, int]:
    taken = dict.fromkeys(tank, 0)
    layers = list(tank)
    chance.shuffle(layers)
    parted = chance.random() < 0.5
    for turn in range(2):
        for lot in layers:
            left = min(tank[lot] - taken[lot], amount - sum(taken.values()))
            taken[lot] += chance.randint(0, left) if parted and not turn else left
    return taken


AMOUNTS = st.integers(1, 9) | st.integers(1, 10**4) | st.integers(1, 25 * 10**9)


@st.composite
def logs(draw: st.DrawFn, *, longest: int = 14, times: int = 10) -> list[Line]:
    """A tank's log in any order, several lines at one instant, cleanings among them, draws beyond what is there."""
    lines = []
    for number in range(1, draw(st.integers(1, longest)) + 1):
        kind = draw(st.sampled_from([CLEAN, CHARGE, CHARGE, CHARGE, DRAW, DRAW, DRAW]))
        line = Line(number, kind, at(draw(st.integers(0, times))))
        if kind == CHARGE:
            line = replace(line, item=draw(st.integers(1, 4)), amount=draw(AMOUNTS))
        elif kind == DRAW:
            line = replace(line, item=100 + number, amount=draw(AMOUNTS))
        lines.append(line)
    return draw(st.permutations(lines))
