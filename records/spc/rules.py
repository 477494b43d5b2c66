"""Run rules: which points of a chart call for somebody to look."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from math import ulp

from records.spc.limits import Limits


@dataclass(frozen=True)
class Rule:
    """``least`` of ``of`` points in a row lie more than ``beyond`` sigma from the centre, all on one side."""

    name: str
    least: int
    of: int
    beyond: float


OUTSIDE_LIMITS = Rule("outside-limits", least=1, of=1, beyond=3.0)
# Eight in a row, as in the zone rules of the Statistical Quality Control Handbook, 1956 (from memory).
RUN_ONE_SIDE = Rule("run-one-side", least=8, of=8, beyond=0.0)
RULES = {rule.name: rule for rule in (OUTSIDE_LIMITS, RUN_ONE_SIDE)}
DEFAULT_RULES = (OUTSIDE_LIMITS, RUN_ONE_SIDE)


@dataclass(frozen=True)
class Signal:
    """A rule that fired: at which place, from which on, up to which it goes on, counted from 0."""

    rule: str
    at: int
    first: int
    last: int
    above: bool


def find_signals(
    values: Sequence[float | None],
    limits: Limits | Sequence[Limits],
    *,
    rules: Sequence[Rule] = DEFAULT_RULES,
    starts: Collection[int] = (),
) -> tuple[Signal, ...]:
    """Signals of a row of plotted values, by place.

    Parameters
    ----------
    values : sequence of float or None
        Plotted statistic in the order made; None where there is no point. [u]
    limits : Limits or one for each value
        Three-sigma limits, the same for all or stepping from point to point. [u]
    rules : sequence of Rule
        What is looked for.
    starts : collection of int
        Places where a new piece begins: no run goes over them.

    Returns
    -------
    tuple of Signal
        Each point outside is a signal of its own; a run that goes on is one signal, ``at`` the point that made it full.

    Notes
    -----
    On a limit is inside, on the centre is on neither side; both with a slack of a billionth of sigma and of the last
    binary digits of the value, else rounding would decide. No run goes over an empty place. A rule of several points
    may fire before its window is full once enough points qualify.

    References
    ----------
    .. [1] L. S. Nelson, "The Shewhart control chart: tests for special causes", Journal of Quality Technology 16
       (1984); zone rules of 1956 (from memory). Conventions as stated in ``tests/reference/spc``.

    Examples
    --------
    >>> find_signals([0.1, 3.2], Limits(0, -3, 3))
    (Signal(rule='outside-limits', at=1, first=1, last=1, above=True),)
    """
    each = [limits] * len(values) if isinstance(limits, Limits) else list(limits)
    if len(each) != len(values):
        raise ValueError(f"limits must be one or one for each of {len(values)} values, got {len(each)}")
    found: list[Signal] = []
    for rule in rules:
        sides = [0 if v is None else side_beyond(v, at, rule.beyond) for v, at in zip(values, each, strict=True)]
        fresh = {place for place, value in enumerate(values) if value is None} | set(starts)
        for side in (1, -1):
            found += _signals_of_side(rule, [s == side for s in sides], fresh, above=side > 0)
    return tuple(sorted(found, key=lambda signal: (signal.at, signal.rule)))


def side_beyond(value: float, limits: Limits, beyond: float) -> int:
    """1 when a value lies more than ``beyond`` sigma above the centre, -1 when below, else 0.

    A third of the way from centre to limit counts as a sigma, on each side for itself.
    """
    up = limits.centre + beyond * (limits.upper - limits.centre) / 3
    down = limits.centre - beyond * (limits.centre - limits.lower) / 3
    slack = 1e-9 * (limits.upper - limits.lower) / 6 + 8 * ulp(max(abs(value), abs(limits.centre)))
    return int(value > up + slack) - int(value < down - slack)


def _signals_of_side(rule: Rule, beyond: Sequence[bool], fresh: Collection[int], *, above: bool) -> list[Signal]:
    """Signals of one rule on one side; ``fresh`` are places where the count begins again."""
    found: list[Signal] = []
    start = 0
    for place, is_beyond in enumerate(beyond):
        if place in fresh:
            start = place
        window = [p for p in range(max(start, place - rule.of + 1), place + 1) if beyond[p]]
        if not is_beyond or len(window) < rule.least:
            continue
        before = found[-1] if found else None
        if before is not None and rule.of > 1 and before.last == place - 1 and before.last >= start:
            found[-1] = Signal(rule.name, before.at, before.first, place, above)
        else:
            found.append(Signal(rule.name, place, window[0], place, above))
    return found
