"""How often somebody outside may ask: so many times within a span, counted in this process and kept nowhere.

No address reaches a record or a file. Each web process counts for itself, so the bound of a plant is so many times
higher; what must hold exactly is a rule of an act, which counts rows.
"""

from __future__ import annotations

import ipaddress
from collections import OrderedDict, deque
from datetime import datetime, timedelta
from threading import Lock

from django.conf import settings
from django.http import HttpRequest

from plant.people.throttling import address_told_by_proxy
from records.ledger.clock import clock

MOST_KEPT = 20_000  # of those who asked last. A choice of this project: some megabytes.


class Pace:
    """So many times within a span, for each who asks."""

    def __init__(self, most: int, within: timedelta) -> None:
        self.most, self.within = most, within
        self._asked: OrderedDict[str, deque[datetime]] = OrderedDict()
        self._lock = Lock()

    def lets(self, who: str) -> bool:
        """Count that somebody asks, and tell whether they still may."""
        with self._lock:
            times = self._times_of(who)
            if len(times) >= self.most:
                return False
            times.append(clock.now())
            return True

    def is_spent(self, who: str) -> bool:
        """Whether somebody has asked as often as they may; asking this counts for nothing."""
        with self._lock:
            return len(self._times_of(who)) >= self.most

    def forget(self) -> None:
        """Begin anew for everybody."""
        with self._lock:
            self._asked.clear()

    def _times_of(self, who: str) -> deque[datetime]:
        times = self._asked.setdefault(who, deque())
        self._asked.move_to_end(who)
        while times and times[0] <= clock.now() - self.within:
            times.popleft()
        while len(self._asked) > MOST_KEPT:
            self._asked.popitem(last=False)
        return times


def asker_of(request: HttpRequest) -> str:
    """Who asks, as far as pace goes: an address, or the network of 64 bits that one connection gets in IPv6."""
    told = address_told_by_proxy(request) if settings.BEHIND_PROXY else request.META.get("REMOTE_ADDR", "")
    try:
        address = ipaddress.ip_address(told)
    except ValueError:
        return told
    return str(ipaddress.ip_network((address, 64), strict=False)) if address.version == 6 else str(address)
