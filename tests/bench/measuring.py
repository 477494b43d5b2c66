"""A bench's row, and times taken in pairs: ours and the baseline in turn, so that both meet the same machine."""

import gc
import time
from collections.abc import Callable
from dataclasses import dataclass
from operator import ge, le
from statistics import median


@dataclass(frozen=True)
class Row:
    """Ours against a baseline, and the bar that the ratio has to meet; ``unit`` is that of both numbers."""

    name: str
    ours: float
    baseline: float
    unit: str
    ratio: float
    bar: str

    @property
    def verdict(self) -> str:
        """``holds``, or ``falls short``."""
        sign, number = self.bar.split()
        return "holds" if {">=": ge, "<=": le}[sign](self.ratio, float(number)) else "falls short"


def row_of_pairs(name: str, pairs: list[tuple[float, float]], unit: str, bar: str) -> Row:
    """A row from repetitions: medians, and the median of the ratios of each repetition."""
    ours, baseline = (median(side) for side in zip(*pairs, strict=True))
    return Row(name, ours, baseline, unit, median(one / other for one, other in pairs), bar)


def seconds_in_turn(
    ours: Callable[[], object], baseline: Callable[[], object], repetitions: int
) -> list[tuple[float, float]]:
    """Seconds of both, one after the other, as often as asked; which one goes first changes."""
    pairs = []
    for turn in range(repetitions):
        if turn % 2:
            second, first = seconds(baseline), seconds(ours)
        else:
            first, second = seconds(ours), seconds(baseline)
        pairs.append((first, second))
    return pairs


def seconds(work: Callable[[], object]) -> float:
    """How long a work takes; what earlier ones left behind is cleared away before."""
    gc.collect()
    start = time.perf_counter()
    work()
    return time.perf_counter() - start
