"""Zones: what a file says about its own, and local times turned to UTC without a guess at the hour that comes twice."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from functools import cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

import numpy as np

from .log import NotALog, Stamps, Whole
from .stamps import FIXED_LETTERS, offset_min

# Names of zones in words, as desk systems write them: zone of the tz database, offset of the standard time. [min]
_NAMED = {
    "pacific": ("America/Los_Angeles", -480),
    "mountain": ("America/Denver", -420),
    "central": ("America/Chicago", -360),
    "eastern": ("America/New_York", -300),
    "atlantic": ("America/Halifax", -240),
    "central european": ("Europe/Berlin", 60),
    "w. europe": ("Europe/Berlin", 60),
    "romance": ("Europe/Paris", 60),
    "central europe": ("Europe/Budapest", 60),
    "eastern european": ("Europe/Helsinki", 120),
    "gmt": ("Europe/London", 0),
    "british": ("Europe/London", 0),
}
_IN_WORDS = re.compile(
    rf"(?i)\b({'|'.join(map(re.escape, sorted(_NAMED, key=len, reverse=True)))}) (standard|daylight|summer) time\b"
)
_EXPLICIT = re.compile(r"(?<![A-Za-z])((?:UTC|GMT)\s?[+\-−]\s?\d{1,2}(?::?\d{2})?|[+\-−]\d{2}:\d{2})(?!\d)")
_UTC = re.compile(r"(?i)(?<![a-z])utc(?![a-z])|(?<![A-Za-z])GMT(?![A-Za-z])|\bzulu\b")
_LETTERS = re.compile(rf"(?<![A-Za-z])({'|'.join(sorted(FIXED_LETTERS, key=len, reverse=True))})(?![A-Za-z])")
_ZONE_LINE = re.compile(r"(?i)\b(?:time ?)?zone\b|zeitzone|\btz\b|utc[ -]?offset")
_TZ_NAME = re.compile(r"\b([A-Z][A-Za-z]+/[A-Z][A-Za-z_]+(?:/[A-Z][A-Za-z_]+)?)\b")
_FIXED = re.compile(r"[+-]\d\d:\d\d")
_LONGEST_SHOWN = 40
# Offsets change on quarter hours only; one look-up serves all stamps of a quarter.
_QUARTER = np.timedelta64(15, "m")


@dataclass(frozen=True)
class SaidZone:
    """What the file says about its zone: ``name`` when it is certain, ``doubt`` in words when it says two things."""

    name: str | None = None
    doubt: str = ""


@dataclass(frozen=True)
class Placed:
    """Local times in UTC, NaT where the zone leaves them open. Positions of those that came twice or never were."""

    times: Stamps
    ambiguous: Whole
    resolved: Whole
    impossible: Whole


def checked_zone(name: str) -> str:
    """The zone that the person gave, a name or a fixed offset. Raises NotALog when there is none of that name."""
    plain = name.strip()
    if _FIXED.fullmatch(plain) and np.isfinite(offset_min(plain)):
        return zone_name(offset_min(plain))
    known = _zones().get(plain.casefold())
    if known is None:
        shown = "".join(filter(str.isprintable, name))[:_LONGEST_SHOWN]
        raise NotALog(f"There is no zone {shown}; give a name of the tz database such as Europe/Berlin or UTC.")
    return known


@cache
def _zones() -> dict[str, str]:
    """Names of all zones as the tz database spells them; the machine's own zone is none of them."""
    return {name.casefold(): name for name in available_timezones() if name not in ("localtime", "Factory")}


def said_zone(heading: str, texts: Sequence[str], first: np.datetime64) -> SaidZone:
    """The zone that the heading of the times or a line before the rows names."""
    for text in (heading, *texts):
        words = _IN_WORDS.search(text)
        if words:
            return _zone_in_words(words, first)
        is_zone_line = text is heading or _ZONE_LINE.search(text)
        name = _TZ_NAME.search(text) if is_zone_line else None
        if name and _exists(name[1]):
            return SaidZone(name[1])
        explicit = _EXPLICIT.search(text) if is_zone_line else None
        offset = offset_min(explicit[1].replace(" ", "")) if explicit else np.nan
        if np.isfinite(offset):
            return SaidZone(zone_name(offset))
        if explicit:  # an offset that no zone has says nothing, least of all UTC
            continue
        letters = _LETTERS.search(text) if is_zone_line else None
        if letters and letters[1] != "Z":
            return SaidZone(zone_name(FIXED_LETTERS[letters[1]]))
        if is_zone_line and _UTC.search(text):
            return SaidZone("UTC")
    return SaidZone()


def _zone_in_words(match: re.Match[str], first: np.datetime64) -> SaidZone:
    """ "Standard time" in summer names two clocks: the zone's own, or one that never changes."""
    zone, standard_min = _NAMED[match[1].lower()]
    says_summer = match[2].lower() != "standard"
    offset = ZoneInfo(zone).utcoffset(first.astype("datetime64[s]").item())
    is_summer = offset is not None and offset != timedelta(minutes=standard_min)
    if says_summer == is_summer:
        return SaidZone(zone_name(standard_min + 60 * says_summer))
    other = "summer" if is_summer else "standard"
    return SaidZone(None, f"The file says {match[0]}, but on its first day clocks there showed {other} time")


def zone_name(minutes: float) -> str:
    """A fixed offset as the name of a zone: UTC, +01:00."""
    whole = int(minutes)
    return "UTC" if whole == 0 else f"{'-' if whole < 0 else '+'}{abs(whole) // 60:02d}:{abs(whole) % 60:02d}"


def _exists(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True


def to_utc(times: Stamps, zone: str) -> Placed:
    """Local times of a zone in UTC. An hour that comes twice is taken apart only where the rows show both passes.

    The rows show both when their clock goes back once inside that hour: what stands before is the first pass.
    """
    none = np.array([], dtype=np.int64)
    if zone == "UTC" or zone[0] in "+-":
        return Placed(times - np.timedelta64(int(offset_min(zone)), "m"), none, none, none)
    known = ~np.isnat(times)
    quarters, inverse = np.unique(times[known].astype("datetime64[m]").astype(np.int64) // 15, return_inverse=True)
    offsets = np.array([_offsets(quarter, zone) for quarter in quarters], dtype=np.int64).reshape(-1, 2)
    first, second = np.zeros(len(times), dtype=np.int64), np.zeros(len(times), dtype=np.int64)
    first[known], second[known] = offsets[inverse, 0], offsets[inverse, 1]
    twice, never = known & (first > second), known & (first < second)
    chosen = first.copy()
    open_rows, resolved = [], []
    for group in np.split(np.flatnonzero(twice), np.flatnonzero(np.diff(np.flatnonzero(twice)) > 1) + 1):
        if not group.size:
            continue
        falls = np.flatnonzero(np.diff(times[group]) < np.timedelta64(0, "us"))
        if falls.size == 1:
            chosen[group[falls[0] + 1 :]] = second[group[falls[0] + 1 :]]
            resolved.append(group)
        else:
            open_rows.append(group)
    utc = times - chosen.astype("timedelta64[m]")
    ambiguous = np.concatenate(open_rows) if open_rows else none
    utc[ambiguous] = np.datetime64("NaT")
    utc[never] = np.datetime64("NaT")
    return Placed(utc, ambiguous, np.concatenate(resolved) if resolved else none, np.flatnonzero(never))


def _offsets(quarter: int, zone: str) -> tuple[int, int]:
    """Offsets that a local quarter hour has in a zone, first and second pass. [min]"""
    local = (datetime(1970, 1, 1) + timedelta(minutes=15 * int(quarter))).replace(tzinfo=ZoneInfo(zone))
    first, second = local.utcoffset(), local.replace(fold=1).utcoffset()
    return tuple(round(offset.total_seconds() / 60) if offset else 0 for offset in (first, second))  # type: ignore[return-value]


def told(time: np.datetime64, zone: str | None) -> str:
    """RFC 3339 of an instant in its zone; without a zone as in the file, with no offset."""
    instant: datetime = time.astype("datetime64[us]").item()
    if zone is None:
        return instant.isoformat()
    if zone[0] in "+-":
        return instant.replace(tzinfo=UTC).astimezone(timezone(timedelta(minutes=offset_min(zone)))).isoformat()
    return instant.replace(tzinfo=UTC).astimezone(ZoneInfo(zone)).isoformat()
