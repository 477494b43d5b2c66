"""Reading a recorder file from its bytes: what it says, and what of it can't be trusted."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

import numpy as np

from .fields import DELIMITERS
from .log import Channel, Clock, Findings, Kind, NotALog, RecorderLog
from .preamble import preamble_of
from .source import Asked, Source, Told, in_columns, take_apart
from .tall import read_tall, tall_of
from .wide import read_wide
from .zones import checked_zone, told

# Without heading and time, fewer rows than this may be any text with numbers in it.
_FEWEST_ROWS = 3
DATE_ORDERS = {"day-first": "dmy", "month-first": "mdy"}


def read_log(raw: bytes, *, name: str, zone: str | None = None, columns: Sequence[str] | None = None,
             dates: str | None = None) -> RecorderLog:  # fmt: skip
    """Read a recorder file truly, or say in one sentence why not.

    Parameters
    ----------
    raw : bytes
        The file as it was written.
    name : str
        Its name, for the sentences only: nothing is told from it.
    zone : str, optional
        Zone of the tz database for times without offset.
    columns : sequence of str, optional
        Only these channels.
    dates : str, optional
        ``day-first`` or ``month-first``, where the file leaves it open.

    Raises
    ------
    NotALog
        For a file that is empty, binary, of another kind or without rows of readings, an unknown zone or channel.
    """
    known_zone = checked_zone(zone) if zone and zone.strip() else None
    asked = Asked(name, known_zone, columns, DATE_ORDERS[dates] if dates else None)
    findings = Findings()
    source = take_apart(raw, name, findings)
    table, lines, parts = in_columns(source)
    headings = [heading.heading for heading in table.headings]
    said = preamble_of(source.layout.preamble, [*headings, *source.units], asked.order)
    tall = tall_of(table)
    if tall is not None:
        read = read_tall(source, table, lines, said, tall, asked, findings)
    else:
        read = read_wide(source, table, lines, parts, said, asked, findings)
    _refuse_without_times(read, source, name, findings)
    return _put_together(read, raw, source, asked, findings)


def _refuse_without_times(read: Told, source: Source, name: str, findings: Findings) -> None:
    """Refuse a file none of whose rows has a readable time, and one line that merely looks like a row."""
    line = read.timeline
    open_times = any(p.kind in (Kind.AMBIGUOUS_TIME, Kind.NO_SUCH_TIME) for p in findings.problems)
    if not line.kept.any() and not open_times:
        raise NotALog(f"{name}: no row has a readable time; export it with times such as 2026-11-24 09:41:10.")
    if line.clock is Clock.NONE and source.header_line is None and read.rows < _FEWEST_ROWS:
        raise NotALog(f"{name} has no columns of readings with a time; export it as CSV or xlsx with its headings.")


def _put_together(read: Told, raw: bytes, source: Source, asked: Asked, findings: Findings) -> RecorderLog:
    line = read.timeline
    times = None if line.times is None else line.times[line.kept]
    seconds = line.seconds[line.kept]
    if times is not None and times.size:
        seconds = (times - times[0]) / np.timedelta64(1, "s")
    first, last = _ends(read, times, seconds)
    if len(line.starts) > 1:
        often = "once" if len(line.starts) == 2 else f"{len(line.starts) - 1} times"
        findings.notes.append(f"The count falls back {often}: {len(line.starts)} batches in one file.")
    return RecorderLog(
        name=asked.name,
        sha256=hashlib.sha256(raw).hexdigest(),
        rows=read.rows,
        rows_set_aside=read.rows_set_aside,
        clock=line.clock,
        first=first,
        last=last,
        zone=line.zone,
        encoding=source.encoding,
        delimiter=DELIMITERS[source.table.delimiter] if source.table.delimiter else None,
        decimal=read.decimal,
        header_line=source.header_line,
        channels=tuple(_wanted(read.channels, asked)),
        events=tuple(sorted(read.events, key=lambda event: event.line)),
        problems=findings.told(),
        notes=tuple(findings.notes),
        times=times,
        seconds=seconds - seconds[0] if line.clock is Clock.TIME_OF_DAY else seconds,
        lines=read.lines[line.kept],
        starts=line.starts,
    )


def _ends(read: Told, times: np.ndarray | None, seconds: np.ndarray) -> tuple[str | float | None, str | float | None]:
    """First and last time as told to people."""
    line = read.timeline
    if times is not None and times.size:
        return told(times.min(), line.zone), told(times.max(), line.zone)
    if line.clock is Clock.ELAPSED:
        return float(seconds.min()), float(seconds.max())
    if line.clock is Clock.TIME_OF_DAY:
        return _clock_time(seconds.min()), _clock_time(seconds.max())
    return None, None


def _clock_time(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 3600 % 24:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def _wanted(channels: Sequence[Channel], asked: Asked) -> list[Channel]:
    """The channels asked for, all without a wish. Raises NotALog for a name that no channel has."""
    if not asked.channels:
        return list(channels)
    wanted: list[Channel] = []
    for name in asked.channels:
        plain = name.strip().casefold()
        found = [c for c in channels if plain in (c.name.strip().casefold(), c.heading.strip().casefold())]
        if not found:
            names = ", ".join(channel.name for channel in channels)
            raise NotALog(f"{asked.name} has no channel {name}; its channels are {names}.")
        wanted.extend(channel for channel in found if channel not in wanted)
    return wanted
