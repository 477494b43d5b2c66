"""The clock of a mixed pot as the floor shows it: minutes left in large type, and what to do once it has ended."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from plant.catalogue.models import Part
from plant.equipment.models import Station
from plant.people.queries import works_zone
from records.items.pots import Pot, standing_pots
from records.items.queries import find_item
from records.ledger.canonical import time_text
from records.ledger.clock import clock
from records.trace.finding import code_of

from .asking import Told

# Which pots are told of at which kind of station, and how many its screen has room for beside all else. The tablet has
# the same (`pots.js`).
POTS_AT = {
    "mixing": (Part.Kind.RESIN_MIX, Part.Kind.ADHESIVE_MIX),
    "press": (Part.Kind.RESIN_MIX,),
    "bonding": (Part.Kind.ADHESIVE_MIX,),
}
NEAREST = 2
WATCH_MIN = 10  # from here on it is watched; common practice, no source
FULL, HEIGHT = 20, 150  # of the vessel's picture: where it is full, and how deep it is


@dataclass(frozen=True)
class PotClock:
    """A pot at a moment."""

    pot: Pot
    at: datetime

    @property
    def minutes(self) -> int:
        """Whole minutes left; nought once it has ended."""
        return max(0, self.pot.minutes_left(self.at))

    @property
    def state(self) -> str:
        """ "run", "watch" under ten minutes, "over" from its end on."""
        if self.at >= self.pot.ends_at:
            return "over"
        return "watch" if self.minutes < WATCH_MIN else "run"

    @property
    def level(self) -> int:
        """Where the surface of what is left of its time stands in the picture of the vessel."""
        life = (self.pot.ends_at - self.pot.began_at).total_seconds()
        left = max(0.0, (self.pot.ends_at - self.at).total_seconds())
        return round(FULL + HEIGHT * (1 - min(1.0, left / life))) if life else FULL + HEIGHT

    @property
    def began(self) -> str:
        return time_text(self.pot.began_at)

    @property
    def ends(self) -> str:
        return time_text(self.pot.ends_at)

    @property
    def ends_at(self) -> str:
        """Time of day at which it ends, as the clocks of the works show it."""
        return self.pot.ends_at.astimezone(works_zone()).strftime("%H:%M")


def pot_clocks(kinds: Sequence[str] = (Part.Kind.RESIN_MIX,)) -> list[PotClock]:
    """Clocks of the pots that stand about, those that may still be used first."""
    now = clock.now()
    clocks = [PotClock(pot, now) for pot in standing_pots(now) if pot.item.part.kind in kinds]
    return sorted(clocks, key=lambda one: (one.state == "over", one.pot.ends_at))


def pots_at(station: Station) -> list[PotClock]:
    """Clocks of the pots that are told of at a station; its screen shows the nearest and leads to the rest."""
    return pot_clocks(POTS_AT[station.kind]) if station.kind in POTS_AT else []


def clock_told(told: Told) -> PotClock | None:
    """Clock of the pot that was scanned; of the one that ends first where none was yet."""
    clocks = pot_clocks()
    scanned = find_item(code_of(told["pot-1"])) if told.get("pot-1") else None
    if scanned is not None:
        return next((one for one in clocks if one.pot.item.pk == scanned.pk), None)
    return clocks[0] if clocks else None
