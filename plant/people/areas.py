"""The areas of the site, where each begins, and which roles see it. The actions check rights; the pages only follow."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.urls import NoReverseMatch, resolve, reverse
from django.utils import translation

from .models import Person
from .rights import Role, whose

View = Callable[..., HttpResponse]
EVERYBODY = frozenset(Role)
_DESK = EVERYBODY - {Role.OPERATOR}


@dataclass(frozen=True)
class Area:
    """One area: its word in the top bar, the address it begins at, who sees it, and what it is for."""

    word: str
    begins_at: str
    roles: frozenset[Role]
    purpose: str
    speaks: bool = False  # whether its pages follow the language of the badge; the desk is English

    @property
    def address(self) -> str:
        """Where it begins; empty while no page stands there."""
        try:
            return reverse(self.begins_at)
        except NoReverseMatch:
            return ""

    def is_seen_by(self, person: Person) -> bool:
        return bool(person.roles & self.roles)


# In the order of the top bar.
AREAS = (
    Area("Floor", "floor:station_list", EVERYBODY, "Log what is done at a station.", speaks=True),
    Area("Stores", "items:stock", _DESK, "Receive, accept and split lots; what can be used today."),
    Area("Curves", "runs:run_list", _DESK - {Role.STORES}, "Cure, fill and vacuum runs and how they were judged."),
    Area("Charts", "spc:chart_list", _DESK - {Role.STORES}, "Measures over time, their signals and their limits."),
    Area("Review", "quality:bench", _DESK, "What waits for a decision."),
    Area("Trace", "trace:find", _DESK, "Any code to its unit, its lots, and where they went."),
    Area("Plant", "steps:today", _DESK - {Role.STORES}, "Units by step, and what they wait for."),
    Area("Rulebook", "catalogue:rulebook", _DESK, "Parts, routes, recipes and bands in force."),
)
_BY_WORD = {area.word: area for area in AREAS}


def areas_of(person: Person) -> list[Area]:
    """Areas that a person sees and that have a page."""
    return [area for area in AREAS if area.is_seen_by(person) and area.address]


def opens(person: Person, address: str) -> bool:
    """Whether the page at an address stands in an area that a person sees, or in none."""
    area = getattr(resolve(urlsplit(address).path).func, "area", None)
    return area is None or area.is_seen_by(person)


# Where a role begins its day; the first that a person holds and that has a page.
_BEGINNINGS = (
    (Role.OPERATOR, "Floor"),
    (Role.LEAD, "Floor"),
    (Role.STORES, "Stores"),
    (Role.REVIEW, "Review"),
    (Role.ENGINEER, "Curves"),
    (Role.MANAGER, "Plant"),
    (Role.AUDITOR, "Trace"),
)


def beginning_of(person: Person) -> str:
    """Address at which a person of one role begins; empty for several roles, who choose for themselves."""
    if len(person.roles) != 1:
        return ""
    return next((_BY_WORD[word].address for role, word in _BEGINNINGS if role in person.roles), "")


def shown_in(word: str) -> Callable[[View], View]:
    """A view whose page stands in an area and is open to whoever may do its act, seen or not."""

    def decorate(view: View) -> View:
        @wraps(view)
        def marked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            request.area = word  # type: ignore[attr-defined]
            return view(request, *args, **kwargs)

        return marked

    return decorate


def in_area(word: str) -> Callable[[View], View]:
    """A view that only those who see the area may open; anybody else is answered 403."""
    area = _BY_WORD[word]

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not area.is_seen_by(request.user):  # type: ignore[arg-type]  # the middleware lets nobody else in
                raise PermissionDenied(f"{word} is for {whose(area.roles)}: ask there.")
            request.area = word  # type: ignore[attr-defined]
            language = request.user.language if area.speaks else settings.LANGUAGE_CODE  # type: ignore[union-attr]
            with translation.override(language):
                return view(request, *args, **kwargs)

        guarded.area = area  # type: ignore[attr-defined]
        return guarded

    return decorate
