"""Times that name the places of a chart: told as RFC 3339 where the file's form can be read, else as they stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class Moment:
    """A time of a file as told, and what is wrong with it: ``ambiguous-time``, ``no-such-time`` or nothing."""

    told: str
    trouble: str | None = None


def told_moments(texts: Sequence[str], zone: ZoneInfo | None) -> list[Moment]:
    """Times of a column; one without offset gets that of the zone, unless its hour comes twice or not at all there."""
    return [_told(text, zone) for text in texts]


def _told(text: str, zone: ZoneInfo | None) -> Moment:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return Moment(text)
    if ":" not in text:
        return Moment(text)
    if zone is None or moment.tzinfo is not None:
        return Moment(moment.isoformat())
    early, late = moment.replace(tzinfo=zone), moment.replace(tzinfo=zone, fold=1)
    if early.utcoffset() == late.utcoffset():
        return Moment(early.isoformat())
    there = early.astimezone(UTC).astimezone(zone).replace(tzinfo=None)
    return Moment(moment.isoformat(), "ambiguous-time" if there == moment else "no-such-time")
