"""Times as people and files write them: with an offset, or by a clock whose zone is known. No Django.

An hour that comes twice when the clocks go back, or one that does not exist, is refused, never guessed.
"""

from __future__ import annotations

from datetime import MAXYEAR, MINYEAR, UTC, datetime
from zoneinfo import ZoneInfo

from records.ledger.refusals import Refused


def read_time(text: str, zone: ZoneInfo) -> datetime:
    """Instant of a written time. Refuses ``not-a-time``, ``ambiguous-time``, ``no-such-time``."""
    try:
        moment = datetime.fromisoformat(text.strip())
        if moment.year in (MINYEAR, MAXYEAR):
            raise ValueError("no room for an offset")
    except ValueError as wrong:
        raise Refused(
            "not-a-time", "“%(text)s” is no time. Write it as 2026-11-24T14:31.", text=text.strip()
        ) from wrong
    return moment.astimezone(UTC) if moment.tzinfo else by_clock(moment, zone)


def by_clock(local: datetime, zone: ZoneInfo) -> datetime:
    """Instant that a clock of a zone shows. Refuses ``ambiguous-time`` and ``no-such-time``."""
    earlier = local.replace(tzinfo=zone, fold=0)
    later = local.replace(tzinfo=zone, fold=1)
    if earlier.utcoffset() == later.utcoffset():
        return earlier.astimezone(UTC)
    shown = local.strftime("%Y-%m-%d %H:%M")
    # Where a clock is put on, the time read back from its instant is another one.
    if earlier.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != local:
        raise Refused("no-such-time", "%(time)s does not exist: the clocks were put on. Write it again.", time=shown)
    raise Refused("ambiguous-time", "%(time)s comes twice: the clocks were put back. Write the offset.", time=shown)


def written_out(moment: datetime, zone: ZoneInfo) -> str:
    """A moment whole, as it stands on a paper: with its year, and with the offset where the hour comes twice.

    Examples
    --------
    >>> written_out(datetime(2026, 11, 24, 14, 31, tzinfo=UTC), ZoneInfo("Europe/Rome"))
    '24 Nov 2026 15:31'
    >>> written_out(datetime(2026, 10, 25, 0, 30, tzinfo=UTC), ZoneInfo("Europe/Rome"))
    '25 Oct 2026 02:30 (+02:00)'
    """
    local = moment.astimezone(zone)
    comes_twice = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
    offset = f" ({local.isoformat()[-6:]})" if comes_twice else ""
    return f"{local.day} {local:%b %Y %H:%M}{offset}"
