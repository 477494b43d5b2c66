"""Which columns place the rows in time, and when that is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import compress

import numpy as np

from .cells import DOTTED_TIME, kind_of, sampled
from .headings import Heading
from .log import Clock, Floats, Stamps
from .numbers import Numbers, decimal_mark, numbers_of
from .preamble import Preamble
from .stamps import DAY_S, Stamped, stamps_of
from .units import between

_TIME_NAME = re.compile(
    r"(?i)(?:\b|_)(?:time|zeit|uhrzeit|clock|elapsed|tempo|temps|hora|ora\b|heure|laufzeit|dauer|duration)|time\b|^t$|^t_"
)
_PLAIN_TIME = re.compile(r"(?i)(?:time|zeit|uhrzeit|datum|date|timestamp)")
_STAMP_NAME = re.compile(r"(?i)date|datum|stamp|time|zeit|epoch|unix|fecha")
_GONE_BY = re.compile(r"(?i)elapsed|test ?time|step ?time|run ?time|laufzeit|duration|dauer|since|seit")
COUNTER_NAME = re.compile(
    r"(?i)#|n[or]?\.?|index|idx|rec(?:ord)?[ _]?(?:#|no\.?|nr\.?|number)?|log[ _]nr\.?|lfd\.?[ _]?nr\.?"
    r"|sample(?:[ _]?(?:no|nr|#)\.?)?|scan|row|zeile|id|point|pos|z(?:ä|ae)hler|count(?:er)?|rn"
)
BATCH_NAME = re.compile(r"(?i)(?:batch|charge|run|cycle|lauf)[ _]?(?:id|no|nr|number|nummer|#)?\.?")
_GONE_TIME = re.compile(r"\s*(?:(\d+)(?:\s*d\s*|\.))?(\d{1,4}):(\d{1,2})(?::(\d{1,2}(?:[.,]\d+)?))?\s*")
_MIDNIGHT = re.compile(r"[ T]0?0:00(?::00(?:\.0+)?)?\s*$")
_DOTTED = re.compile(rf"\s*{DOTTED_TIME}\s*")
# Date and time, or each of the two, written as digits alone.
_ALL_DIGITS = re.compile(r"\s*(?:19|20)\d{10}(?:\d\d)?\s*")
_DATE_DIGITS = re.compile(r"\s*(?:19|20)\d{6}\s*")
_CLOCK_DIGITS = re.compile(r"\s*\d{3,6}\s*")
# Day numbers of spreadsheets count from 1899-12-30; 25000 to 80000 are the years 1968 to 2119.
_DAY_ZERO = np.datetime64("1899-12-30", "us")
_SAMPLE = 120
_NUMBERS = 0.2
# A time gone by of a hundred years is no time. [s]
_LONGEST_S = 100 * 365 * DAY_S
_NEARLY = 0.9


@dataclass(frozen=True)
class Axis:
    """The time of each row. ``times`` as written, NaT where unreadable, None without a date; ``seconds`` for the rest.

    ``offsets_min`` nan where a stamp names no offset. ``used`` are the columns that are time and no channel.
    ``differs`` are the headings of other columns of dates and times, which say other times.
    ``asked`` tells that day and month can't be told apart, ``year_known`` is False when no year stands anywhere.
    """

    clock: Clock
    times: Stamps | None
    seconds: Floats
    offsets_min: Floats
    used: frozenset[int]
    heading: str = ""
    asked: bool = False
    year_known: bool = True
    is_utc: bool = False
    started: bool = False
    day_numbers: bool = False
    differs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Columns:
    """Cells of the rows kept, by column, with headings and the kind that most cells of a column have."""

    cells: list[Sequence[str]]
    headings: list[Heading]
    kinds: list[str] = field(default_factory=list)

    def rows(self, keep: np.ndarray) -> Columns:
        """The same columns with some rows only."""
        if keep.all():
            return self
        return Columns([list(compress(cells, keep)) for cells in self.cells], self.headings, self.kinds)


def columns_of(cells: list[Sequence[str]], headings: list[Heading]) -> Columns:
    """Columns with their kinds: N numbers, S stamps, T words, E nothing."""
    kinds = []
    for column in cells:
        filled = [cell for cell in column if cell.strip()]
        seen = [kind_of(cell) for cell in sampled(filled, _SAMPLE)]
        # A column with a good share of numbers holds readings, however many words stand among them.
        has_numbers = seen.count("N") >= _NUMBERS * len(seen) and seen.count("S") < seen.count("N")
        kinds.append("N" if seen and has_numbers else max("NSTE", key=seen.count) if seen else "E")
    return Columns(cells, headings, kinds)


def axis_of(columns: Columns, said: Preamble) -> Axis:
    """The time of each row, from the best that the file offers: stamps, day numbers, time gone by, start and step."""
    stamped = {n: stamps_of(columns.cells[n], said.dates) for n, kind in enumerate(columns.kinds) if kind == "S"}
    times_used = frozenset(stamped)
    return (
        _from_stamps(columns, said, {n: stamps for n, stamps in stamped.items() if stamps is not None}, times_used)
        or _from_digits(columns, said)
        or _from_numbers(columns)
        or _from_gone_by(columns, said, times_used)
        or _from_time_of_day(columns, said, stamped)
        or _from_start_and_step(columns, said)
        or _nowhere(columns)
    )


def _from_stamps(columns: Columns, said: Preamble, stamped: dict[int, Stamped], used: frozenset[int]) -> Axis | None:
    for n, stamps in stamped.items():
        if not stamps.dated:
            continue
        heading = columns.headings[n].heading
        clock = _clock_beside(columns, n, stamped)
        if clock is not None:
            pairs = zip(columns.cells[n], columns.cells[clock], strict=True)
            both = stamps_of([f"{_MIDNIGHT.sub('', day).strip()} {time.strip()}" for day, time in pairs], said.dates)
            stamps = both or stamps
            heading = f"{heading} {columns.headings[clock].heading}"
        seconds = np.full(len(columns.cells[n]), np.nan)
        differs = tuple(
            columns.headings[m].heading
            for m, other in stamped.items()
            if m != n and other.dated and clock is None and not np.array_equal(other.times, stamps.times)
        )
        return Axis(Clock.STAMPS, stamps.times, seconds, stamps.offsets_min, used, heading, stamps.asked,
                    stamps.year_known, differs=differs)  # fmt: skip
    return None


def _clock_beside(columns: Columns, n: int, stamped: dict[int, Stamped]) -> int | None:
    """The column of times of day that belongs to a column of dates alone, None for one that holds times itself.

    A workbook writes midnight behind every date; points or an h in place of colons are taken under a heading that
    says that it is a time.
    """
    days = columns.cells[n]
    if any(":" in _MIDNIGHT.sub("", day) for day in days):
        return None
    clocks = [m for m, other in stamped.items() if not other.dated]
    clocks += [
        m
        for m, heading in enumerate(columns.headings)
        if m != n and columns.kinds[m] in "ST" and _TIME_NAME.search(heading.heading)
        and all(_DOTTED.fullmatch(cell) for cell in sampled(columns.cells[m], _SAMPLE))
    ]  # fmt: skip
    return next((m for m in clocks if m > n), clocks[0] if clocks else None)


def _from_digits(columns: Columns, said: Preamble) -> Axis | None:
    """Date and time written as digits alone, 20261124090000, in one column or in two."""
    for n, kind in enumerate(columns.kinds):
        heading = columns.headings[n].heading
        if kind != "N" or not _STAMP_NAME.search(heading):
            continue
        cells = columns.cells[n]
        if _are(cells, _ALL_DIGITS):
            return _from_texts([f"{cell.strip()[:8]} {cell.strip()[8:]}" for cell in cells], said, {n}, heading)
        m = n + 1
        is_pair = m < len(columns.kinds) and _is_time(columns.headings[m]) and _are(columns.cells[m], _CLOCK_DIGITS)
        if is_pair and _are(cells, _DATE_DIGITS):
            longest = max(len(cell.strip()) for cell in columns.cells[m])
            width = 6 if longest > 4 else 4  # 90000 is nine o'clock, its zero lost
            pairs = zip(cells, columns.cells[m], strict=True)
            texts = [f"{day.strip()} {time.strip().zfill(width)}" for day, time in pairs]
            return _from_texts(texts, said, {n, m}, f"{heading} {columns.headings[m].heading}")
    return None


def _are(cells: Sequence[str], layout: re.Pattern[str]) -> bool:
    """Whether nearly all cells have a layout."""
    seen = sampled(cells, _SAMPLE)
    return sum(1 for cell in seen if layout.fullmatch(cell)) > _NEARLY * len(seen)


def _from_texts(texts: Sequence[str], said: Preamble, used: set[int], heading: str) -> Axis | None:
    stamps = stamps_of(texts, said.dates)
    if stamps is None:
        return None
    return Axis(Clock.STAMPS, stamps.times, np.full(len(texts), np.nan), stamps.offsets_min, frozenset(used), heading)


def _from_numbers(columns: Columns) -> Axis | None:
    """Day numbers of a spreadsheet, or seconds or milliseconds since 1970."""
    for n, kind in enumerate(columns.kinds):
        heading = columns.headings[n].heading
        if kind != "N" or not _STAMP_NAME.search(heading):
            continue
        values = _numbers(columns.cells[n]).values
        if not np.isfinite(values).any():
            continue
        low, high = np.nanmin(values), np.nanmax(values)
        is_days = low > 25_000 and high < 80_000 and "." in "".join(columns.cells[n][:50]).replace(",", ".")
        scale = next((s for s in (1.0, 1e-3, 1e-6, 1e-9) if low * s > 9.4e8 and high * s < 4.1e9), None)
        if is_days:
            micros = np.round(values * DAY_S) * 1e6
            return _numbered(_DAY_ZERO, micros, n, heading, day_numbers=True)
        if scale:
            return _numbered(np.datetime64(0, "us"), np.round(values * scale * 1e6), n, heading, is_utc=True)
    return None


def _numbered(zero: np.datetime64, micros: Floats, n: int, heading: str, *, is_utc: bool = False,
              day_numbers: bool = False) -> Axis:  # fmt: skip
    known = np.isfinite(micros)
    times = np.full(len(micros), np.datetime64("NaT", "us"))
    times[known] = zero + micros[known].astype(np.int64).astype("timedelta64[us]")
    blank = np.full(len(micros), np.nan)
    return Axis(Clock.STAMPS, times, blank, blank, frozenset({n}), heading, is_utc=is_utc, day_numbers=day_numbers)


def _from_gone_by(columns: Columns, said: Preamble, used: frozenset[int]) -> Axis | None:
    """A number of seconds, minutes, hours or samples that rises, or a time gone by written as h:m:s."""
    written = [n for n in used if _GONE_BY.search(columns.headings[n].heading) or _starts_at_zero(columns.cells[n])]
    for n in sorted(written):
        seconds = np.array([_gone_s(cell) for cell in columns.cells[n]])
        return _elapsed(seconds, said, used, columns.headings[n].heading)
    named = [n for n, kind in enumerate(columns.kinds) if kind == "N" and _is_time(columns.headings[n])]
    for n in sorted(named, key=lambda n: columns.headings[n].unit is None):
        heading = columns.headings[n]
        values = _numbers(columns.cells[n]).values
        steps = np.diff(values[np.isfinite(values)])
        if steps.size and (steps >= 0).mean() < 0.9:
            continue
        if heading.unit is None:
            blank = np.full(len(values), np.nan)
            return Axis(Clock.COUNTER, None, values, blank, used | {n}, heading.heading)
        factor = (between(heading.unit.unit, "s") or (1.0, 0.0))[0] * heading.unit.factor
        return _elapsed(values * factor, said, used | {n}, heading.heading)
    return None


def _is_time(heading: Heading) -> bool:
    if heading.unit is not None:
        return heading.unit.quantity == "time"
    return _TIME_NAME.search(heading.heading) is not None and heading.quantity is None


def _elapsed(seconds: Floats, said: Preamble, used: frozenset[int], heading: str) -> Axis:
    blank = np.full(len(seconds), np.nan)
    if said.start is None:
        return Axis(Clock.ELAPSED, None, seconds, blank, used, heading)
    known = np.abs(seconds) < _LONGEST_S
    times = np.full(len(seconds), np.datetime64("NaT", "us"))
    times[known] = said.start + np.round(seconds[known] * 1e6).astype(np.int64).astype("timedelta64[us]")
    return Axis(Clock.STAMPS, times, seconds, blank, used, said.start_text, started=True)


def _gone_s(cell: str) -> float:
    match = _GONE_TIME.fullmatch(cell)
    if not match:
        return float("nan")
    if match[4] is None and match[1] is None:  # two groups are minutes and seconds
        return int(match[2]) * 60.0 + float(match[3])
    seconds = float(match[4].replace(",", ".")) if match[4] else 0.0
    return int(match[1] or 0) * DAY_S + int(match[2]) * 3600.0 + int(match[3]) * 60.0 + seconds


def _starts_at_zero(cells: Sequence[str]) -> bool:
    first = next((cell for cell in cells if cell.strip()), "")
    return _GONE_TIME.fullmatch(first) is not None and _gone_s(first) == 0.0


def _from_time_of_day(columns: Columns, said: Preamble, stamped: dict[int, Stamped | None]) -> Axis | None:
    """Times of day; the date is the only one that stands before the rows, and runs on past midnight."""
    for n, stamps in stamped.items():
        if stamps is None:
            continue
        seconds = (stamps.times - np.datetime64("1970-01-01", "us")) / np.timedelta64(1, "s")
        falls = np.concatenate([[0], np.cumsum(np.diff(seconds) < -DAY_S / 2)])
        seconds = np.asarray(seconds + falls * DAY_S, dtype=float)
        heading = columns.headings[n].heading
        days = set(said.dates.known)
        if len(days) != 1 or len(set(said.dates.written)) != 1:
            return Axis(Clock.TIME_OF_DAY, None, seconds, stamps.offsets_min, frozenset(stamped), heading)
        midnight = np.datetime64(days.pop(), "us")
        whole = np.where(np.isfinite(seconds), np.round(seconds * 1e6), 0).astype(np.int64).astype("timedelta64[us]")
        times = np.where(np.isfinite(seconds), midnight + whole, np.datetime64("NaT", "us"))
        return Axis(Clock.STAMPS, times, seconds, stamps.offsets_min, frozenset(stamped), heading)
    return None


def _from_start_and_step(columns: Columns, said: Preamble) -> Axis | None:
    if not said.step_s or not columns.cells:
        return None
    seconds = np.arange(len(columns.cells[0]), dtype=np.float64) * said.step_s
    return _elapsed(seconds, said, frozenset(), "")


def _nowhere(columns: Columns) -> Axis:
    rows = len(columns.cells[0]) if columns.cells else 0
    blank = np.full(rows, np.nan)
    return Axis(Clock.NONE, None, blank, blank, frozenset())


def _numbers(cells: Sequence[str]) -> Numbers:
    return numbers_of(cells, decimal_mark(cells))


def rows_of(axis: Axis, keep: np.ndarray) -> Axis:
    """The axis of some rows only; ``keep`` is a mask or positions."""
    times = None if axis.times is None else axis.times[keep]
    return replace(axis, times=times, seconds=axis.seconds[keep], offsets_min=axis.offsets_min[keep])


def is_second_time(heading: Heading) -> bool:
    """Whether a column of numbers is called Time although another column places the rows."""
    return _PLAIN_TIME.fullmatch(heading.name) is not None
