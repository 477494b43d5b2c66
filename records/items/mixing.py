"""What a draw from a tank holds, worked out from the tank's log; no Django.

For every lot in the tank three numbers are kept: what perfect mixing gives, and the least and most that mass balance
allows however badly it was stirred. Perfect mixing is common practice, no source; the bounds are plain mass balance.
All amounts are whole steps, so sums are exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

CLEAN, CHARGE, DRAW = 0, 1, 2
BILLION = 10**9
# Below this share, and with nothing that must be in it, no link is stored: the log answers for the trace.
FLOOR_PPB = 1000


@dataclass(frozen=True)
class Line:
    """One line of a tank's log. ``item`` is the lot charged or drawn into, 0 for a cleaning; ``amount`` in steps."""

    number: int
    kind: int
    at: datetime
    item: int = 0
    amount: int = 0

    @property
    def order(self) -> tuple[datetime, int, int]:
        """By time; at one instant cleanings, charges, draws; then the order of births, never that of arrival."""
        return (self.at, self.kind, self.item)


@dataclass(frozen=True)
class Portion:
    """One lot's part in a draw: by perfect mixing, at least, at most. [parts per billion of the draw]"""

    lot: int
    share_ppb: int
    least_ppb: int
    most_ppb: int

    @property
    def confirmed(self) -> bool:
        """Whether a billionth of the draw or more must be this lot."""
        return self.least_ppb >= 1

    @property
    def stored(self) -> bool:
        """Whether it is more than a trace."""
        return self.confirmed or self.share_ppb >= FLOOR_PPB


@dataclass(frozen=True)
class Draw:
    """What one draw holds; ``short`` is what it took more than the tank held, of unknown origin. [steps]"""

    line: Line
    portions: tuple[Portion, ...]
    short: int


@dataclass(frozen=True)
class Worked:
    """A log worked out: its draws in order, and what is in the tank at the end by perfect mixing. [steps]"""

    draws: tuple[Draw, ...]
    contents: dict[int, int]


@dataclass
class _Lot:
    est: int = 0
    lo: int = 0
    hi: int = 0


@dataclass
class _Tank:
    lots: dict[int, _Lot] = field(default_factory=dict)

    @property
    def volume(self) -> int:
        return sum(lot.est for lot in self.lots.values())

    def charge(self, number: int, amount: int) -> None:
        lot = self.lots.setdefault(number, _Lot())
        lot.est += amount
        lot.lo += amount
        lot.hi += amount

    def draw(self, line: Line) -> Draw:
        volume = self.volume
        taken = min(line.amount, volume)
        portions = tuple(_portion(number, lot, taken, volume) for number, lot in sorted(self.lots.items()))
        for number, part in _whole_parts(self.lots, taken, volume).items():
            lot = self.lots[number]
            lot.est -= part
            lot.lo = max(0, lot.lo - taken)
            lot.hi = min(lot.hi, volume - taken)
        return Draw(line, portions, line.amount - taken)


def _portion(number: int, lot: _Lot, taken: int, volume: int) -> Portion:
    if not taken:
        return Portion(number, 0, 0, 0)
    share = (2 * lot.est * BILLION + volume) // (2 * volume)
    least = max(0, taken - (volume - lot.lo)) * BILLION // taken
    most = min(BILLION, -(-min(taken, lot.hi) * BILLION // taken))
    return Portion(number, share, least, most)


def _whole_parts(lots: dict[int, _Lot], taken: int, volume: int) -> dict[int, int]:
    """Split ``taken`` by perfect mixing into whole steps: remainders by largest fraction, ties to the lower number."""
    if not volume:
        return dict.fromkeys(lots, 0)
    parts = {number: taken * lot.est // volume for number, lot in lots.items()}
    left = taken - sum(parts.values())
    by_fraction = sorted(lots, key=lambda number: (-(taken * lots[number].est % volume), number))
    for number in by_fraction[:left]:
        parts[number] += 1
    return parts


def work_out(lines: Sequence[Line]) -> Worked:
    """Work a tank's log out, in order of time whatever the order given.

    Parameters
    ----------
    lines : sequence of Line
        The log, or the part of it that begins after a cleaning. [steps]

    Returns
    -------
    Worked
        Every draw with a portion for each lot charged since the last cleaning, those of which nothing is left too.

    Examples
    --------
    >>> from datetime import datetime
    >>> day = [datetime(2026, 3, n) for n in range(1, 5)]
    >>> log = [Line(1, CHARGE, day[0], 1, 20), Line(2, DRAW, day[1], 101, 18),
    ...        Line(3, CHARGE, day[2], 2, 20), Line(4, DRAW, day[3], 102, 4)]
    >>> [(p.share_ppb, p.confirmed) for p in work_out(log).draws[1].portions]
    [(90909091, False), (909090909, True)]
    """
    tank = _Tank()
    draws = []
    for line in sorted(lines, key=lambda line: line.order):
        if line.amount < 0:
            raise ValueError(f"amounts must not be negative, got {line.amount} in line {line.number}")
        if line.kind == CLEAN:
            tank = _Tank()
        elif line.kind == CHARGE:
            tank.charge(line.item, line.amount)
        else:
            draws.append(tank.draw(line))
    return Worked(tuple(draws), {number: lot.est for number, lot in tank.lots.items()})


def stretch(lines: Sequence[Line], times: Sequence[datetime]) -> list[Line]:
    """Lines from the last cleaning before the earliest of ``times`` to the first cleaning after the latest."""
    cleanings = [line.at for line in lines if line.kind == CLEAN]
    start = max((at for at in cleanings if at < min(times)), default=None)
    stop = min((at for at in cleanings if at > max(times)), default=None)
    return [line for line in lines if (start is None or line.at >= start) and (stop is None or line.at <= stop)]
