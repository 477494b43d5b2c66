"""Downloads of one recorder put together: what stands in two of them is one reading, never two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from .log import Channel, Event, Kind, Problem, RecorderLog, Stamps
from .timeline import GAP
from .zones import told


class NotOneRecord(ValueError):
    """Files that don't continue one another: one plain sentence why."""


def join_logs(logs: Sequence[RecorderLog]) -> RecorderLog:
    """One log of all downloads of one recorder, each reading once; the order of the files doesn't count.

    Two downloads belong together when they have the same channels in the same units and, where their times overlap,
    the same readings at the same times. The notes say what was put together. Raises NotOneRecord.
    """
    for log in logs[1:]:
        _refuse_strangers(logs[0], log)
    if len(logs) < 2:
        return logs[0]
    ordered = sorted(logs, key=lambda log: (_times(log).min(), -len(_times(log))))
    joined = ordered[0]
    for log in ordered[1:]:
        joined = _joined(joined, log)
    return joined


def continuing(logs: Sequence[RecorderLog]) -> RecorderLog:
    """The last of the logs, with those of the others that it continues."""
    joined = logs[-1]
    for log in reversed(logs[:-1]):
        try:
            joined = join_logs([log, joined])
        except NotOneRecord:
            continue
    return joined


def _times(log: RecorderLog) -> Stamps:
    return log.times if log.times is not None else np.array([], dtype="datetime64[us]")


def _refuse_strangers(one: RecorderLog, other: RecorderLog) -> None:
    """Refuse files of which nothing says that one recorder wrote them, or that can't be placed in time together."""
    for log in (one, other):
        if not _times(log).size:
            raise NotOneRecord(f"{log.name} has no dates, so it can't be put together with another file.")
        if (np.diff(_times(log)) < np.timedelta64(0, "us")).any():
            raise NotOneRecord(f"The clock of {log.name} goes back, so it can't be put together with another file.")
    if _signs(one) != _signs(other):
        raise NotOneRecord(f"{one.name} and {other.name} have other channels; give files of one recorder only.")
    if one.zone != other.zone:
        raise NotOneRecord(f"{one.name} and {other.name} are in other zones; say which holds for both by --zone.")


def _signs(log: RecorderLog) -> list[tuple[str, str | None]]:
    return sorted((channel.heading.strip().casefold(), channel.unit) for channel in log.channels)


def _joined(one: RecorderLog, other: RecorderLog) -> RecorderLog:
    """``one`` with the rows of ``other`` that lie after it; ``one`` begins no later."""
    first, second = _times(one), _times(other)
    both = (first >= second[0]) & (first <= min(first[-1], second[-1]))
    twice = second <= first[-1]
    partner = {channel.heading.strip().casefold(): channel for channel in other.channels}
    pairs = [(channel, partner[channel.heading.strip().casefold()]) for channel in one.channels]
    if not np.array_equal(first[both], second[twice]) or not all(
        np.array_equal(a.values[both], b.values[twice], equal_nan=True) for a, b in pairs
    ):
        since, until = told(second[0], one.zone), told(min(first[-1], second[-1]), one.zone)
        raise NotOneRecord(
            f"{one.name} and {other.name} differ between {since} and {until}, which both hold; one of them isn't of "
            f"this recorder or was changed."
        )
    fresh = ~twice
    times = np.concatenate([first, second[fresh]])
    further = int(one.lines.max()) + 1
    set_aside = one.rows_set_aside + (other.rows_set_aside if fresh.any() else 0)
    return replace(
        one,
        name=f"{one.name} and {other.name}",
        rows=len(times) + set_aside,
        rows_set_aside=set_aside,
        last=told(times[-1], one.zone),
        channels=tuple(_longer(a, b, fresh) for a, b in pairs),
        events=_all_events(one, other, further),
        problems=(*one.problems, *_gap(one, other), *(_of_file(problem, other.name) for problem in other.problems)),
        notes=(*one.notes, *other.notes, _words(one, other, int(twice.sum()), int(fresh.sum()))),
        times=times,
        seconds=(times - times[0]) / np.timedelta64(1, "s"),
        lines=np.concatenate([one.lines, other.lines[fresh] + further]),
        starts=(0,),
    )


def _longer(one: Channel, other: Channel, fresh: np.ndarray) -> Channel:
    values = np.concatenate([one.values, other.values[fresh]])
    return replace(one, values=values, missing=int(np.isnan(values).sum()))


def _all_events(one: RecorderLog, other: RecorderLog, further: int) -> tuple[Event, ...]:
    """Events of both, those that stand in both once."""
    known = {event.words for event in one.events}
    return (*one.events, *(Event(e.line + further, e.words) for e in other.events if e.words not in known))


def _gap(one: RecorderLog, other: RecorderLog) -> list[Problem]:
    """The time between the end of one file and the beginning of the next, where samples are missing there."""
    step = (_times(other)[0] - _times(one)[-1]) / np.timedelta64(1, "s")
    usual = float(np.median(np.diff(_times(one)) / np.timedelta64(1, "s"))) if len(_times(one)) > 1 else 0.0
    if not 0 < GAP * usual < step:
        return []
    words = f"A gap of {step:g} s between {one.name} and {other.name}; the usual step is {usual:g} s."
    return [Problem(int(other.lines[0]), Kind.TIME_JUMP, words)]


def _of_file(problem: Problem, name: str) -> Problem:
    return replace(problem, words=f"In {name}: {problem.words}")


def _words(one: RecorderLog, other: RecorderLog, twice: int, fresh: int) -> str:
    if not twice:
        return f"{other.name} goes on where {one.name} ends; no row stands in both."
    kept = f"{fresh} rows of it are new" if fresh else "it holds nothing new"
    return f"{twice} rows of {other.name} stand in {one.name} too and were taken once; {kept}."
