"""The one clock: every act asks it for the time. Only story, simulator and tests set it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime


class Clock:
    """The server's time, or the time it was set to."""

    def __init__(self) -> None:
        self._set: datetime | None = None

    def now(self) -> datetime:
        return self._set or datetime.now(UTC)

    @contextmanager
    def at(self, moment: datetime) -> Iterator[None]:
        """The clock stands at ``moment`` inside the block."""
        before, self._set = self._set, moment.astimezone(UTC)
        try:
            yield
        finally:
            self._set = before


clock = Clock()
