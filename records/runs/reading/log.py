"""What a recorder file says once it is read: channels over time, and everything that was wrong with it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Stamps = NDArray[np.datetime64]
Whole = NDArray[np.int64]

# More rows of one kind than a person reads are told as one row with their count.
MOST_OF_A_KIND = 50


class NotALog(Exception):
    """A file that can't be read as a recorder file: one plain sentence that says what, where and what to do."""


class Kind(StrEnum):
    """Kinds of trouble with a recorder file."""

    SHORT_ROW = "short-row"
    LONG_ROW = "long-row"
    JOINED_ROWS = "joined-rows"
    NOT_A_NUMBER = "not-a-number"
    ERROR_CODE = "error-code"
    NO_TIME = "no-time"
    TIME_BACK = "time-back"
    TIME_TWICE = "time-twice"
    TIME_JUMP = "time-jump"
    AMBIGUOUS_TIME = "ambiguous-time"
    NO_SUCH_TIME = "no-such-time"
    DAY_OR_MONTH = "day-or-month"
    UNIT_UNKNOWN = "unit-unknown"
    CUT_SHORT = "cut-short"


class Clock(StrEnum):
    """How the rows of a file are placed in time."""

    STAMPS = "stamps"  # a date and a time of day
    ELAPSED = "elapsed"  # seconds since a start that the file doesn't name
    TIME_OF_DAY = "time-of-day"  # a time of day without any date
    COUNTER = "counter"  # a number that rises, in no unit that the file names
    NONE = "none"


@dataclass(frozen=True)
class Problem:
    """One thing wrong with the file; ``line`` is None where the whole file is meant."""

    line: int | None
    kind: Kind
    words: str


@dataclass(frozen=True)
class Event:
    """A line that is no sample: a mark that the recorder or a person set, a restart, a closing line."""

    line: int
    words: str


@dataclass(frozen=True)
class Channel:
    """One measured row of values.

    ``values`` has one number for each row kept, nan where there is no reading. [unit]
    ``missing`` counts the rows of this channel without a reading; in a file with one line for each channel and stamp
    it doesn't count rows that belong to others. ``heading`` is the heading as it stands in the file.
    """

    name: str
    quantity: str | None
    unit: str | None
    values: Floats
    missing: int
    heading: str

    @property
    def n(self) -> int:
        """Number of readings."""
        return int(np.isfinite(self.values).sum())

    @property
    def minimum(self) -> float | None:
        """Lowest reading, None when there is none. [unit]"""
        return float(np.nanmin(self.values)) if self.n else None

    @property
    def maximum(self) -> float | None:
        """Highest reading, None when there is none. [unit]"""
        return float(np.nanmax(self.values)) if self.n else None


@dataclass(frozen=True)
class RecorderLog:
    """A recorder file read truly: what it says, and what of it can't be trusted.

    ``rows`` counts rows of samples, set aside or not; arrays hold those kept, in file order.
    ``times`` are UTC where ``zone`` is known, else as in the file; None without a date.
    ``seconds`` are seconds since the first row kept, nan where a row can't be placed. [s]
    ``starts`` are the positions in the arrays at which a counter fell back: a further batch begins there.
    ``first`` and ``last`` are as told to people: RFC 3339 for stamps, the number of seconds for elapsed time.
    """

    name: str
    sha256: str
    rows: int
    rows_set_aside: int
    clock: Clock
    first: str | float | None
    last: str | float | None
    zone: str | None
    encoding: str | None
    delimiter: str | None
    decimal: str | None
    header_line: int | None
    channels: tuple[Channel, ...]
    events: tuple[Event, ...]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]
    times: Stamps | None
    seconds: Floats
    lines: Whole
    starts: tuple[int, ...] = (0,)

    def channel(self, name: str) -> Channel:
        """The channel of this name, as in the file or without its unit. Raises KeyError."""
        wanted = name.strip().casefold()
        for channel in self.channels:
            if wanted in (channel.name.casefold(), channel.heading.strip().casefold()):
                return channel
        raise KeyError(name)


@dataclass
class Findings:
    """Problems and notes as they are found, in the order of the file when told."""

    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def add(self, kind: Kind, line: int | None, words: str) -> None:
        """One problem."""
        self.problems.append(Problem(line, kind, words))

    def add_each(self, kind: Kind, lines: Iterable[int], words: str) -> None:
        """The same problem on many lines; ``{line}`` in the words is the line."""
        self.problems.extend(Problem(int(line), kind, words.replace("{line}", str(int(line)))) for line in lines)

    def told(self) -> tuple[Problem, ...]:
        """By line; more than fifty of one kind as one row with the line of the first and the count."""
        shown: list[Problem] = []
        for kind in Kind:
            of_kind = sorted((p for p in self.problems if p.kind == kind), key=lambda p: p.line or 0)
            if len(of_kind) > MOST_OF_A_KIND:
                first = of_kind[0]
                of_kind = [Problem(first.line, kind, f"{len(of_kind)} of this kind; the first: {first.words}")]
            shown.extend(of_kind)
        return tuple(sorted(shown, key=lambda p: p.line or 0))
