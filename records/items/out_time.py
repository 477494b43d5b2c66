"""Time out of the freezer, added up over every time a lot left it. No Django.

It adds up and is never set back by freezing again; time of which nothing is known counts as out; a part that was cut
off takes its parent's sum along (common practice, no source; gmscomposites.com, shelf life: out life is the
accumulated time between freezer and cure). The supplier's data sheet comes before any of this.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

OUT, IN = "out", "in"


@dataclass(frozen=True)
class OutTime:
    """How long a lot was out of the freezer up to a moment, how often, and since when it is out, if it is."""

    spent: timedelta
    times: int
    since: datetime | None


def out_time(came: datetime, lines: Iterable[tuple[datetime, str]], at: datetime) -> OutTime:
    """Time out of the freezer from the day that a lot came up to a moment.

    Parameters
    ----------
    came : datetime
        When the lot came; out, until it is first told to be in.
    lines : iterable of (datetime, str)
        When it left the freezer (``OUT``) and went in (``IN``), in any order. Telling twice changes nothing.
    at : datetime
        The moment of use; what is told of later does not count.

    Examples
    --------
    Three times out: 12, 24 and 5.25 hours are 41.25 hours.

    >>> day = datetime(2026, 3, 2, 6)
    >>> def hours(n): return day + timedelta(hours=n)
    >>> lines = [(hours(12), IN), (hours(40), OUT), (hours(64), IN), (hours(100), OUT)]
    >>> found = out_time(day, lines, hours(105.25))
    >>> found.spent / timedelta(hours=1), found.times, found.since == hours(100)
    (41.25, 3, True)
    """
    spent, times, since = timedelta(), 1, came if came <= at else None
    for moment, what in sorted(line for line in lines if line[0] <= at):
        if what == IN and since is not None:
            spent, since = spent + max(moment - since, timedelta()), None
        elif what == OUT and since is None:
            times, since = times + 1, moment
    if since is not None:
        spent += max(at - since, timedelta())
    return OutTime(spent, times, since)
