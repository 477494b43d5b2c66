"""A slow, obvious model of what is made from what: lines with all their states, a tank's log, nothing derived kept.

Every question is answered by going through everything from the beginning.
"""

from dataclasses import dataclass, field
from datetime import datetime

from records.items.mixing import CHARGE, DRAW, Line, work_out
from tests.records.trace.slow_walk import BILLION, Way

STANDS, ENDED, WITHDRAWN = 0, 2, 3


@dataclass
class Knot:
    """A link between two items, with what was said of it at which entry."""

    child: int
    parent: int
    at: datetime
    possible: int | None = None
    said: list[tuple[int, int]] = field(default_factory=list)  # entry, status

    def status(self, upto: int) -> int:
        return next((status for entry, status in reversed(self.said) if entry <= upto), WITHDRAWN)


@dataclass
class Poured:
    """A line of the tank's log, with what was said of it at which entry: the lot or none any more."""

    kind: int
    at: datetime
    amount: int = 0
    said: list[tuple[int, int | None]] = field(default_factory=list)  # entry, item (0 for a cleaning), none: withdrawn

    def item(self, upto: int) -> int | None:
        return next((item for entry, item in reversed(self.said) if entry <= upto), None)


@dataclass
class Model:
    """Everything that was told."""

    items: dict[int, int] = field(default_factory=dict)  # item: entry of its birth
    knots: list[Knot] = field(default_factory=list)
    log: list[Poured] = field(default_factory=list)

    def tie(self, entry: int, child: int, parent: int, at: datetime, possible: int | None = None) -> Knot:
        knot = Knot(child, parent, at, possible, [(entry, STANDS)])
        self.knots.append(knot)
        return knot

    def pour(self, entry: int, kind: int, at: datetime, item: int = 0, amount: int = 0) -> Poured:
        line = Poured(kind, at, amount, [(entry, item)])
        self.log.append(line)
        return line

    def ways(self, upto: int) -> list[Way]:
        """Ways from parent to child as known at an entry, those of the tank worked out from the whole log."""
        found = []
        for knot in self.knots:
            status = knot.status(upto)
            if status != WITHDRAWN:
                cls = 2 if status == ENDED else int(knot.possible is not None)
                found.append((knot.parent, knot.child, cls, BILLION if knot.possible is None else knot.possible))
        for draw in work_out(self.lines(upto)).draws:
            for portion in draw.portions:
                cls = 0 if portion.confirmed else 1
                found.append((portion.lot, draw.line.item, cls, portion.share_ppb))
        return found

    def lines(self, upto: int) -> list[Line]:
        """The tank's log as known at an entry."""
        found = []
        for number, line in enumerate(self.log, start=1):
            item = line.item(upto)
            if item is not None:
                found.append(Line(number, line.kind, line.at, item, line.amount))
        return found

    def charged(self, entry: int) -> list[Poured]:
        return [line for line in self.log if line.kind == CHARGE and line.said[0][0] == entry]

    def drawn(self) -> list[Poured]:
        return [line for line in self.log if line.kind == DRAW]

    def made_by(self, entry: int) -> list[Knot]:
        """Links that an entry opened and that still stand."""
        return [k for k in self.knots if k.said[0][0] == entry and k.said[-1][1] == STANDS]
