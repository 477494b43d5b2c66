"""The page of a unit for whoever has it: whose token it is, what is known against riding it, what the works adds.

It names no person, no lot, no supplier and no reason of a hold: those are for the works. What binds is every hold on
the unit and on the units built into it; a lot that is held says nothing about a frame until somebody holds the frame.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from django.conf import settings
from django.db.models import Exists, OuterRef

from plant.people.queries import works_day
from plant.scans import read_scan
from plant.speaking import day_words, say
from records.items.models import Consignment, ConsignmentLine, Hold, Item, ItemCode, ItemState
from records.items.queries import SCRAPPED, SHIPPED
from records.ledger.refusals import Refused

from .models import Passport, Release
from .tokens import read_token


class Notice(StrEnum):
    """What a rider must know first."""

    NONE = "none"  # nothing is known against riding it
    HELD = "held"  # do not ride
    NOT_OUT = "not-out"  # by the records it has not left the works


@dataclass(frozen=True)
class PassportPage:
    """What the page of a unit tells: who it is, its notice and the day of that, lines that the works chose."""

    code: str
    model: str
    notice: Notice
    noticed_on: date | None
    lines: tuple[tuple[str, str], ...] = ()

    @property
    def noticed(self) -> str:
        """The day of the notice in the language in use."""
        return full_day(self.noticed_on) if self.noticed_on else ""


def passport_by_token(token: str) -> Passport | None:
    """Passport of a token, with ``stands``: whether its page answers."""
    made = read_token(token)
    stands = Exists(Passport.objects.standing().filter(pk=OuterRef("pk")))
    related = ("unit__state", "unit__revision__part")
    return (
        Passport.objects.filter(token=made).annotate(stands=stands).select_related(*related).first() if made else None
    )


def passports_of(unit: Item) -> list[Passport]:
    """Passports of a unit, the newest first, each with ``stands``; two queries."""
    stands = Exists(Passport.objects.standing().filter(pk=OuterRef("pk")))
    related = ("entry__by__name_words", "ended__entry__by__name_words")
    return list(Passport.objects.filter(unit=unit).annotate(stands=stands).select_related(*related).order_by("-pk"))


def names_unit(link: str, unit: Item) -> bool:
    """Whether the fields of a Digital Link name a unit, by its present serial or one that it had."""
    try:
        code = read_scan(f"https://owner.invalid/01/{link}").code
    except Refused:
        return False
    return ItemCode.objects.filter(item=unit, code=code).exists()


def page_of(unit: Item) -> PassportPage:
    """The page of a unit at this moment, by a number of queries that its records don't change."""
    held_since = Hold.objects.filter(item__in=_built_into(unit), lift=None).order_by("at").values_list("at", flat=True)
    since = held_since.first()
    where = unit.state.where
    if since is not None or where == SCRAPPED:
        notice = Notice.HELD
    else:
        notice = Notice.NONE if where == SHIPPED else Notice.NOT_OUT
    lines = tuple(line for name in settings.PASSPORT_LINES for line in _LINES[name](unit))
    part = unit.part
    return PassportPage(unit.state.code, part.name or part.number, notice, works_day(since) if since else None, lines)


def _built_into(unit: Item) -> set[int]:
    """A unit and the units in it, however deep; a query for each depth."""
    found: set[int] = set()
    frontier = {unit.pk}
    while frontier:
        found |= frontier
        frontier = set(ItemState.objects.filter(inside__in=frontier).values_list("pk", flat=True)) - found
    return found


def full_day(day: date) -> str:
    """A day with its year: "24 Nov 2026"."""
    return f"{day_words(day)} {day.year}"


# ---- lines that the works may choose, by the names of the setting


def _made(unit: Item) -> Iterator[tuple[str, str]]:
    yield say("Begun"), full_day(works_day(unit.born_at))


def _shipped(unit: Item) -> Iterator[tuple[str, str]]:
    lines = ConsignmentLine.objects.standing().filter(item=unit, consignment__direction=Consignment.Direction.SHIP)
    at = lines.order_by("-consignment__at").values_list("consignment__at", flat=True).first()
    if at is not None:
        yield say("Shipped"), full_day(works_day(at))


def _released(unit: Item) -> Iterator[tuple[str, str]]:
    """A named person let it go; how many lines of the gate they had before them, never what these said."""
    release = Release.objects.filter(unit=unit).order_by("-pk").first()
    if release is not None:
        day = full_day(works_day(release.at))
        yield say("Released"), say("%(day)s, checks on file: %(count)s", day=day, count=release.lines.count())


_LINES = {"begun": _made, "shipped": _shipped, "released": _released}
