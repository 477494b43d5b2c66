"""The diary of the scenario: the time of day, who acts, keys from the seed, and what stands where."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import TypeVar
from uuid import NAMESPACE_URL, uuid5
from zoneinfo import ZoneInfo

import numpy as np

from plant.people.models import Person
from records.ledger.acts import Said
from records.ledger.clock import clock

from .causes import Course
from .works import BADGES, FIRST_DAY, ZONE

WORKING_HOURS = 8
MODELS = {"OS": "OSIER", "SE": "SEDGE"}
LONGEST_STEP = timedelta(minutes=6)
Result = TypeVar("Result")


def midnight(day: date) -> datetime:
    """Where a day of the works begins."""
    return datetime.combine(day, time(), ZoneInfo(ZONE))


@dataclass(frozen=True)
class Moulded:
    """A triangle in its closed mould, and what it was closed with."""

    unit: str
    tool: str
    bladder: str
    press: str
    closed_at: datetime


@dataclass
class Stock:
    """Codes of what is open at present: spools, lots, and units by what they wait for."""

    spools: list[str] = field(default_factory=list)
    tubes: list[str] = field(default_factory=list)
    lots: dict[str, str] = field(default_factory=dict)
    moulded: list[Moulded] = field(default_factory=list)
    ready: dict[str, list[str]] = field(default_factory=lambda: {"front": [], "rear": []})
    bonded: list[str] = field(default_factory=list)
    polished: list[str] = field(default_factory=list)
    out: list[str] = field(default_factory=list)
    painted: list[str] = field(default_factory=list)
    released: list[str] = field(default_factory=list)
    shipped: list[str] = field(default_factory=list)


@dataclass
class Diary:
    """One run of the scenario. Everything random comes from the seed."""

    frames: int
    weeks: int
    seed: int
    folder: Path
    first_day: date = FIRST_DAY
    step: timedelta = LONGEST_STEP
    day: int = 0
    keys: int = 0
    bonded: dict[str, int] = field(default_factory=lambda: dict.fromkeys(MODELS, 0))
    shots: int = 0
    files: int = 0
    resin_lots: int = 0
    last_tube: str = ""
    due: list[Callable[[Diary], bool]] = field(default_factory=list)
    stock: Stock = field(default_factory=Stock)

    def __post_init__(self) -> None:
        self.random = random.Random(self.seed)
        self.noise = np.random.default_rng(self.seed)
        self.now = midnight(self.first_day)
        self.people = {name: Person.objects.get(badge=badge) for name, badge in BADGES.items()}

    @property
    def made(self) -> int:
        """Frames bonded so far."""
        return sum(self.bonded.values())

    def bonded_of(self, model: str) -> int:
        """Frames of a model bonded so far."""
        return self.bonded[model]

    def wanted_of(self, model: str) -> int:
        """Frames of a model to be made: a quarter are Sedge."""
        sedge = self.frames // 4
        return sedge if model == "SE" else self.frames - sedge

    @property
    def days(self) -> int:
        """Working days of the whole course."""
        return self.weeks * 5

    @property
    def course(self) -> Course:
        """Where in the course the present day is."""
        return Course(min(1.0, self.day / max(1, self.days - 1)))

    def begin_day(self, day: int) -> None:
        """Half past six on a working day; weekends are closed. The pace follows from what must be made."""
        self.day = day
        week, weekday = divmod(day, 5)
        self.now = midnight(self.first_day) + timedelta(days=7 * week + weekday, hours=6, minutes=30)
        acts = 69 * max(1, self.frames // max(1, self.days)) + 40
        self.step = min(LONGEST_STEP, timedelta(hours=WORKING_HOURS) / acts)

    def said(self, who: str, *, at: datetime | None = None, done: bool = False) -> Said:
        """Who says it, a little later than what was said before, under the next key."""
        self.keys += 1
        key = uuid5(NAMESPACE_URL, f"tarnside/{self.seed}/{self.frames}/{self.weeks}/{self.keys}")
        return Said(self.people[who], key, at or self.now, done=done)

    def act(self, who: str, action: Callable[..., Result], *, at: datetime | None = None, done: bool = False) -> Result:
        """Somebody does something: the works is told of it some seconds later."""
        self.now += self.step
        with clock.at(self.now + timedelta(seconds=15)):
            return action(said=self.said(who, at=at, done=done))
