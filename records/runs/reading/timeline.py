"""The clock of a log judged: rows that can't be placed, hours that come twice, steps back, twice the same, gaps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .axis import Axis
from .log import Clock, Findings, Floats, Kind, Stamps, Whole
from .zones import SaidZone, said_zone, to_utc, told, zone_name

# A step this many times the usual one is a gap: at least two samples are missing.
GAP = 2.5
# A clock that was never set starts at one of the first years of its count; runs are later.
_UNSET_BEFORE = np.datetime64("2002-01-01", "us")
_UNSET_GAP = np.timedelta64(5 * 365, "D")


@dataclass(frozen=True)
class Timeline:
    """Rows placed in time. ``times`` in UTC when ``zone`` is known. ``kept`` is False for rows to set aside. [s]"""

    clock: Clock
    times: Stamps | None
    seconds: Floats
    kept: np.ndarray
    zone: str | None
    starts: tuple[int, ...]


def timeline_of(axis: Axis, lines: Whole, texts: tuple[str, ...], zone: str | None, findings: Findings,
                *, header_line: int | None, day_order_given: bool) -> Timeline:  # fmt: skip
    """Place the rows and tell what is wrong with their clock."""
    kept = np.ones(len(lines), dtype=bool)
    if axis.times is None:
        return _undated(axis, lines, kept, findings, header_line)
    if (axis.asked and not day_order_given) or not axis.year_known:
        _tell_open_date(axis, findings)
        unknown = np.full(len(lines), np.nan)
        return Timeline(Clock.NONE, None, unknown, kept, None, (0,))
    times = axis.times.copy()
    _set_aside_unread(times, kept, lines, findings)
    _set_aside_unset(times, kept, lines, findings)
    times, name = _in_utc(axis, times, kept, lines, texts, zone, findings, header_line)
    valid = times[kept]
    origin = valid[0] if valid.size else np.datetime64(0, "us")
    seconds = np.where(np.isnat(times), np.nan, (times - origin) / np.timedelta64(1, "s"))
    _tell_steps(times, kept, lines, name, findings, coarse=axis.day_numbers)
    return Timeline(Clock.STAMPS, times, seconds, kept, name, (0,))


def _undated(axis: Axis, lines: Whole, kept: np.ndarray, findings: Findings, header_line: int | None) -> Timeline:
    if axis.clock is Clock.NONE:
        words = "No column of the file is a time, so its rows can't be placed; export it with stamps."
        findings.add(Kind.NO_TIME, header_line, words)
        return Timeline(axis.clock, None, axis.seconds, kept, None, (0,))
    unread = ~np.isfinite(axis.seconds)
    kept &= ~unread
    findings.add_each(Kind.NO_TIME, lines[unread], "Line {line} has no readable time. It was set aside.")
    placed = np.flatnonzero(kept)
    steps = np.diff(axis.seconds[placed])
    falls = np.flatnonzero(steps < 0) + 1
    low = axis.seconds[placed[0]] if placed.size else 0.0
    usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 0.0
    # A counter that falls back to its beginning starts a further batch; to anywhere else it is a fault of the clock.
    begins = [int(n) for n in falls if axis.seconds[placed[n]] <= low + 2 * usual]
    back = [n for n in falls if int(n) not in begins]
    findings.add_each(Kind.TIME_BACK, lines[placed[back]], "The time goes back at line {line}.")
    if axis.clock is Clock.COUNTER:
        words = f"The column {axis.heading} rises like a time but has no unit, so no times can be given."
        findings.add(Kind.UNIT_UNKNOWN, header_line, words)
        return Timeline(axis.clock, None, np.full(len(lines), np.nan), kept, None, (0, *begins))
    if axis.clock is Clock.TIME_OF_DAY:
        findings.add(Kind.NO_TIME, header_line, "The rows have a time of day, but no date stands anywhere in the file.")
    _tell_gaps(axis.seconds[placed], lines[placed], findings)
    twice = placed[1:][steps == 0]
    findings.add_each(Kind.TIME_TWICE, lines[twice], "Line {line} has the time of the row before it. Both are kept.")
    return Timeline(axis.clock, None, axis.seconds, kept, None, (0, *begins))


def _tell_open_date(axis: Axis, findings: Findings) -> None:
    if axis.asked:
        words = ("No row settles which number of the dates is the day, the month or the year; say which comes first "
                 "(--dates day-first or month-first) or export with the year first.")  # fmt: skip
        findings.add(Kind.DAY_OR_MONTH, None, words)
    else:
        findings.add(Kind.NO_TIME, None, "The rows have day and month, but no year stands anywhere in the file.")


def _set_aside_unread(times: Stamps, kept: np.ndarray, lines: Whole, findings: Findings) -> None:
    unread = np.isnat(times)
    kept &= ~unread
    findings.add_each(Kind.NO_TIME, lines[unread], "Line {line} has no readable time. It was set aside.")


def _set_aside_unset(times: Stamps, kept: np.ndarray, lines: Whole, findings: Findings) -> None:
    """Rows stamped by a clock that had lost its setting: where they belong is for a person to say."""
    if not kept.any():
        return
    usual = np.sort(times[kept])[int(kept.sum()) // 2]
    unset = kept & (times < _UNSET_BEFORE) & (times < usual - _UNSET_GAP)
    kept &= ~unset
    words = "Line {line} was stamped while the clock was not set. Set aside; a person must say where it belongs."
    findings.add_each(Kind.NO_TIME, lines[unset], words)
    times[unset] = np.datetime64("NaT")


def _in_utc(axis: Axis, times: Stamps, kept: np.ndarray, lines: Whole, texts: tuple[str, ...], zone: str | None,
            findings: Findings, header_line: int | None) -> tuple[Stamps, str | None]:  # fmt: skip
    """Times in UTC and the name of their zone; as written and None where nothing says the zone."""
    if axis.is_utc:
        return times, "UTC"
    offsets = axis.offsets_min[kept]
    if offsets.size and np.isfinite(offsets).all():
        shifts = np.where(np.isfinite(axis.offsets_min), axis.offsets_min, 0).astype("timedelta64[m]")
        different = np.unique(offsets)
        return times - shifts, zone or (zone_name(different[0]) if different.size == 1 else "UTC")
    said = said_zone(axis.heading, texts, times[kept][0]) if kept.any() else SaidZone()
    if zone is not None and said.name not in (None, zone):
        findings.notes.append(f"The file says its zone is {said.name}; that is used, not {zone}.")
    if said.doubt and zone is None:
        words = f"{said.doubt}; its times are told as in the file. Say which by --zone."
        findings.add(Kind.AMBIGUOUS_TIME, header_line, words)
    name = said.name or zone
    if name is None:
        return times, None
    placed = to_utc(times, name)
    _tell_twice(placed.resolved, lines, name, findings)
    words = (
        f"The time of line {{line}} comes twice in {name} that night and nothing says which it is. It was set aside."
    )
    findings.add_each(Kind.AMBIGUOUS_TIME, lines[placed.ambiguous], words)
    words = f"The time of line {{line}} does not exist in {name}: the clock goes forward over it. It was set aside."
    findings.add_each(Kind.NO_SUCH_TIME, lines[placed.impossible], words)
    kept[placed.ambiguous] = False
    kept[placed.impossible] = False
    return placed.times, name


def _tell_twice(resolved: Whole, lines: Whole, zone: str, findings: Findings) -> None:
    if resolved.size:
        words = (f"From line {lines[resolved[0]]} on an hour comes twice in {zone}. The clock goes back once "
                 f"inside it, so what stands before is the first pass and what follows the second.")  # fmt: skip
        findings.add(Kind.AMBIGUOUS_TIME, int(lines[resolved[0]]), words)


def _tell_steps(times: Stamps, kept: np.ndarray, lines: Whole, zone: str | None, findings: Findings,
                *, coarse: bool) -> None:  # fmt: skip
    placed, at = times[kept], lines[kept]
    if placed.size < 2:
        return
    back = np.diff(placed) < np.timedelta64(0, "us")
    for n in np.flatnonzero(back) + 1:
        words = f"The clock goes back at line {at[n]}, from {told(placed[n - 1], zone)} to {told(placed[n], zone)}."
        findings.add(Kind.TIME_BACK, int(at[n]), words)
    order = np.argsort(placed, kind="stable")
    repeats = order[1:][np.diff(placed[order]) == np.timedelta64(0, "us")]
    words = ("Line {line} has the stamp of an earlier row: the stamps are rounded." if coarse
             else "Line {line} has the stamp of an earlier row. Both are kept, in the order of the file.")  # fmt: skip
    findings.add_each(Kind.TIME_TWICE, at[np.sort(repeats)], words)
    if not coarse:
        _tell_gaps((placed - placed[0]) / np.timedelta64(1, "s"), at, findings)


def _tell_gaps(seconds: Floats, lines: Whole, findings: Findings) -> None:
    steps = np.diff(seconds)
    rising = steps[steps > 0]
    if rising.size < 3:
        return
    usual = float(np.median(rising))
    for n in np.flatnonzero(steps > GAP * usual) + 1:
        words = f"A gap of {steps[n - 1]:g} s before line {lines[n]}; the usual step is {usual:g} s."
        findings.add(Kind.TIME_JUMP, int(lines[n]), words)


def is_latest_first(axis: Axis) -> bool:
    """Whether the file has the latest row on top."""
    seconds = axis.seconds if axis.times is None else axis.times[~np.isnat(axis.times)].astype(np.int64)
    steps = np.diff(seconds[np.isfinite(seconds)])
    return steps.size > 2 and bool((steps < 0).mean() > 0.9)
