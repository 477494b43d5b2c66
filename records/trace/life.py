"""The life line of a unit: one strand from left to right, thick where it was worked on, thin where it waited.

Lots join it from below, a hold is the square on it and the hatch up to its lifting. Days on which nothing happened are
drawn together, so each stretch of time has a scale of its own and its date below it. Lengths in px. No Django.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise

WIDTH, LEFT, RIGHT = 1360, 26, 1326
STRAND, WORDS, AXIS = 112, 34, 236
APART = 104  # least distance between two words above the strand
MOST_WORDS = 12
CODE_WIDTH, CODE_ROWS, CODE_STEP = 152, 3, 17
QUIET_DAY, LONGEST_QUIET, SHORTEST = 7, 84, 20
MARGIN = timedelta(minutes=20)


@dataclass(frozen=True)
class Event:
    """One thing that happened: when, its state, its word, and whether it was done once more."""

    at: datetime
    state: str
    word: str
    again: bool = False


@dataclass(frozen=True)
class Join:
    """Things that went in at one moment."""

    at: datetime
    codes: tuple[str, ...]


@dataclass(frozen=True)
class Stretch:
    """A piece of the strand from one place to another."""

    left: float
    right: float

    @property
    def width(self) -> float:
        return self.right - self.left


@dataclass(frozen=True)
class Spot:
    """An event on the strand: its place, and where its words stand above it."""

    at: float
    text: float
    state: str
    word: str
    when: str


@dataclass(frozen=True)
class Joined:
    """Lots that join: the place on the strand, and where their codes stand below."""

    at: float
    text: float
    top: float
    lines: tuple[tuple[float, str], ...]


@dataclass(frozen=True)
class Life:
    """The whole picture."""

    spots: tuple[Spot, ...]
    loops: tuple[str, ...]
    worked: tuple[Stretch, ...]
    held: tuple[Stretch, ...]
    joined: tuple[Joined, ...]
    quiet: tuple[tuple[Stretch, str], ...]
    dates: tuple[tuple[float, str], ...]
    begin: float
    end: float
    now: str
    width: int = WIDTH
    height: int = AXIS + 26


@dataclass(frozen=True)
class _Scale:
    """Places of moments, by stretches that each are straight."""

    edges: tuple[datetime, ...]
    places: tuple[float, ...]

    def at(self, moment: datetime) -> float:
        n = min(max(bisect_right(self.edges, moment), 1), len(self.edges) - 1)
        start, stop = self.edges[n - 1], self.edges[n]
        share = (moment - start) / (stop - start)
        return round(self.places[n - 1] + min(max(share, 0), 1) * (self.places[n] - self.places[n - 1]), 1)


def draw_life(
    events: Sequence[Event],
    *,
    worked: Iterable[tuple[datetime, datetime]] = (),
    joins: Sequence[Join] = (),
    holds: Iterable[tuple[datetime, datetime | None]] = (),
    now: datetime | None = None,
) -> Life | None:
    """Picture of a life; none where nothing happened.

    Parameters
    ----------
    events, joins : sequence of Event, of Join
        What happened and what went in, the first first. Times as the works' clock shows them, all with one offset rule.
    worked : pairs of datetime
        From when to when hands or machines were on it.
    holds : pairs of datetime
        From when to when it was held; None for a hold that binds.
    now : datetime or None
        The present, where the life goes on; None for one that ended with its last event.
    """
    moments = sorted([*(event.at for event in events), *(join.at for join in joins)])
    if not moments:
        return None
    scale, days, quiet = _scale(moments, now)
    last = scale.at(now or moments[-1])
    return Life(
        spots=_spots(_few(events, scale), scale),
        loops=tuple(_loop(scale.at(event.at)) for event in events if event.again),
        worked=tuple(Stretch(scale.at(a), max(scale.at(b), scale.at(a) + 6)) for a, b in worked),
        held=tuple(Stretch(scale.at(a), last if b is None else scale.at(b)) for a, b in holds),
        joined=_joined(joins, scale),
        quiet=quiet,
        dates=tuple((place, f"{day.day} {day:%b}") for place, day in days),
        begin=scale.at(moments[0]),
        end=last,
        now=f"now, {now.day} {now:%b} {now:%H:%M}" if now else "",
    )


def _scale(
    moments: Sequence[datetime], now: datetime | None
) -> tuple[_Scale, list[tuple[float, date]], tuple[tuple[Stretch, str], ...]]:
    """Scale over the days on which something happened, places of their dates, and the quiet stretches between."""
    by_day: dict[date, list[datetime]] = {}
    for moment in moments:
        by_day.setdefault(moment.date(), []).append(moment)
    spans = [(times[0] - MARGIN, times[-1] + MARGIN, len(times)) for times in by_day.values()]
    gaps = [(b[0] - a[1]) for a, b in pairwise(spans)]
    if now is not None:
        gaps.append(max(now - spans[-1][1], timedelta(minutes=1)))
    widths = [min(SHORTEST + QUIET_DAY * gap.days, LONGEST_QUIET) for gap in gaps]
    room = max(RIGHT - LEFT - sum(widths), len(spans) * SHORTEST)
    whole = sum(count for _, _, count in spans) + 0.6 * len(spans)
    edges, places = [spans[0][0]], [float(LEFT)]
    days, quiet = [], []
    for n, (start, stop, count) in enumerate(spans):
        days.append((round(places[-1], 1), start.date() if start.date() in by_day else stop.date()))
        edges.append(max(stop, edges[-1] + timedelta(minutes=1)))
        places.append(places[-1] + room * (count + 0.6) / whole)
        if n < len(gaps):
            nights = round(gaps[n] / timedelta(days=1))
            quiet.append((Stretch(places[-1], places[-1] + widths[n]), f"{nights} d" if nights > 1 else ""))
            edges.append(max(edges[-1] + gaps[n], edges[-1] + timedelta(seconds=1)))
            places.append(places[-1] + widths[n])
    squeeze = (RIGHT - LEFT) / max(places[-1] - LEFT, RIGHT - LEFT)
    shrunk = tuple(round(LEFT + (place - LEFT) * squeeze, 1) for place in places)
    return (
        _Scale(tuple(edges), shrunk),
        _kept_apart([(LEFT + (place - LEFT) * squeeze, day) for place, day in days], 52),
        tuple((Stretch(LEFT + (s.left - LEFT) * squeeze, LEFT + (s.right - LEFT) * squeeze), w) for s, w in quiet),
    )


def _kept_apart(found: list[tuple[float, date]], least: float) -> list[tuple[float, date]]:
    """Dates that have room: one too near to the last is left out."""
    kept: list[tuple[float, date]] = []
    for place, day in found:
        if not kept or place - kept[-1][0] >= least:
            kept.append((round(place, 1), day))
    return kept


def _loop(at: float) -> str:
    """The strand goes back over itself to a place: what was done there was done once more."""
    return (
        f"M{at:g} {STRAND}C{at + 4:g} {STRAND - 30} {at - 14:g} {STRAND - 42} {at - 30:g} {STRAND - 34}"
        f"C{at - 46:g} {STRAND - 26} {at - 44:g} {STRAND - 8} {at - 30:g} {STRAND}"
    )


def _few(events: Sequence[Event], scale: _Scale) -> list[tuple[Event, int]]:
    """Events with how many more each stands for: those that lie closest share their words until all have room."""
    kept = [(event, 0) for event in events]
    while len(kept) > MOST_WORDS:
        distances = [scale.at(b.at) - scale.at(a.at) for (a, _), (b, _) in pairwise(kept)]
        n = distances.index(min(distances))
        (first, more), (second, extra) = kept[n], kept[n + 1]
        worst = second if second.state in ("held", "outside", "scrapped") else first
        kept[n : n + 2] = [(worst, more + extra + 1)]
    return kept


def _spots(kept: Sequence[tuple[Event, int]], scale: _Scale) -> tuple[Spot, ...]:
    places = [scale.at(event.at) for event, _ in kept]
    texts = _spread(places)
    days = [None, *(event.at.date() for event, _ in kept)]
    return tuple(
        Spot(place, text, event.state, _shortened(event.word, more), _when(event.at, known=days[n] == event.at.date()))
        for n, (place, text, (event, more)) in enumerate(zip(places, texts, kept, strict=True))
    )


def _when(moment: datetime, *, known: bool) -> str:
    """The time, and the day where the word before stands on another one."""
    return f"{moment:%H:%M}" if known else f"{moment.day} {moment:%b} {moment:%H:%M}"


def _spread(places: Sequence[float]) -> list[float]:
    """Places of words, each beside its event as far as the one before leaves room, all within the picture."""
    texts = list(places)
    for n in range(1, len(texts)):
        texts[n] = max(texts[n], texts[n - 1] + APART)
    most = float(RIGHT - APART + 40)
    for n in reversed(range(len(texts))):
        texts[n] = round(min(texts[n], most), 1)
        most = texts[n] - APART
    return texts


def _shortened(word: str, more: int) -> str:
    room = 11 if more else 15
    cut = word if len(word) <= room else f"{word[: room - 1].rstrip()}…"
    return f"{cut} +{more}" if more else cut


def _joined(joins: Sequence[Join], scale: _Scale) -> tuple[Joined, ...]:
    """Codes below the strand, in rows so that none covers another; what finds no room is counted."""
    ends = [0.0] * CODE_ROWS
    found: list[Joined] = []
    for join in joins:
        at = scale.at(join.at)
        text = min(at + 10, RIGHT - CODE_WIDTH)
        row = next((n for n, end in enumerate(ends) if text >= end), None)
        if row is None:
            continue  # the list beside the picture names it
        told = list(join.codes[:2]) + ([f"and {len(join.codes) - 2} more"] if len(join.codes) > 2 else [])
        tall = min(len(told), CODE_ROWS - row)
        for n in range(row, row + tall):
            ends[n] = text + CODE_WIDTH
        top = STRAND + 58 + CODE_STEP * row
        found.append(Joined(at, text, top, tuple((top + CODE_STEP * n, word) for n, word in enumerate(told[:tall]))))
    return tuple(found)
