"""Individuals chart of one characteristic, cut in pieces where the process was changed on purpose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from records.spc.limits import (
    D2_OF_TWO,
    Limits,
    Spread,
    mean,
    moving_range_limits,
    moving_ranges,
    spread_of_moving_ranges,
    three_sigma,
)
from records.spc.rules import DEFAULT_RULES, OUTSIDE_LIMITS, Rule, Signal, find_signals


@dataclass(frozen=True)
class Piece:
    """A stretch of the chart between two breaks, with its own centre. [u]"""

    values: tuple[float | None, ...]
    ranges: tuple[float | None, ...]
    n: int
    limits: Limits


@dataclass(frozen=True)
class PieceChart:
    """Pieces that share one mean moving range. [u]"""

    pieces: tuple[Piece, ...]
    mean_moving_range: float
    ranges: int
    within: Spread
    moving_range: Limits

    def signals(self, rules: Sequence[Rule] = DEFAULT_RULES) -> tuple[Signal, ...]:
        """Signals of the single values; places count through all pieces, no run goes over a break."""
        values = [value for piece in self.pieces for value in piece.values]
        limits = [piece.limits for piece in self.pieces for _ in piece.values]
        return find_signals(values, limits, rules=rules, starts=self.starts)

    def range_signals(self) -> tuple[Signal, ...]:
        """Moving ranges above their limit; neighbours share a reading, so runs of them mean nothing."""
        ranges = [r for piece in self.pieces for r in piece.ranges]
        return find_signals(ranges, self.moving_range, rules=(OUTSIDE_LIMITS,))

    @property
    def starts(self) -> tuple[int, ...]:
        """Place of the first value of each piece, counted from 0 through the whole chart."""
        return tuple(sum(len(piece.values) for piece in self.pieces[:number]) for number in range(len(self.pieces)))


def chart_in_pieces(pieces: Sequence[Sequence[float | None]]) -> PieceChart | None:
    """Individuals chart of readings that are cut in pieces, or None where no two readings stand beside each other.

    Parameters
    ----------
    pieces : sequence of sequences of float or None
        Readings in the order made, by piece; None keeps the place of one that is missing or withdrawn. [u]

    Returns
    -------
    PieceChart or None
        One mean of all moving ranges; each piece its own centre; limits centre -+ 3 x mean / 1.128. Pieces without a
        reading are left out. [u]

    Notes
    -----
    A moving range is formed between neighbours inside one piece only, none over an empty place or a break: it would
    count a change made on purpose as spread. Common practice, no source.

    Examples
    --------
    >>> chart = chart_in_pieces([[10.1, 10.3, 10.2], [12.0, 12.1, 11.9, None, 12.2, 12.0]])
    >>> round(chart.mean_moving_range, 9), chart.ranges, [piece.n for piece in chart.pieces]
    (0.16, 5, [3, 5])
    """
    kept = [tuple(piece) for piece in pieces if any(value is not None for value in piece)]
    ranges = [moving_ranges(piece) for piece in kept]
    count = sum(r is not None for row in ranges for r in row)
    if count == 0:
        return None
    within = spread_of_moving_ranges(ranges)
    mean_range = within.sigma * D2_OF_TWO
    made = []
    for values, row in zip(kept, ranges, strict=True):
        readings = [value for value in values if value is not None]
        made.append(Piece(values, row, len(readings), three_sigma(mean(readings), within.sigma)))
    return PieceChart(tuple(made), mean_range, count, within, moving_range_limits(mean_range))


def cut_at_breaks(
    readings: Sequence[tuple[Any, float | None]], breaks: Sequence[Any]
) -> tuple[tuple[float | None, ...], ...]:
    """Readings in the order made, cut in pieces at breaks.

    Parameters
    ----------
    readings : sequence of (moment, value or None)
        In any order; readings of one moment keep the order given. [moment: anything that sorts; value: u]
    breaks : sequence of moments
        A reading made at the very moment of a break belongs to the piece that begins with it.

    Examples
    --------
    >>> cut_at_breaks([(3, 5.0), (1, 4.0), (2, None)], [3])
    ((4.0, None), (5.0,))
    """
    pieces: list[list[float | None]] = [[]]
    waiting = sorted(breaks, reverse=True)
    for moment, value in sorted(readings, key=lambda reading: reading[0]):
        while waiting and waiting[-1] <= moment:
            waiting.pop()
            pieces.append([])
        pieces[-1].append(value)
    return tuple(tuple(piece) for piece in pieces if piece)
