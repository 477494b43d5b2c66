"""Who decides when the first person is away: a list by kind of decision, kept like the rest of the rulebook."""

from __future__ import annotations

from datetime import date

from django.db.models import Q
from django.utils.translation import gettext as _

from .models import Deputy
from .rights import RIGHTS

# Decisions for which somebody is named, by their act, in the words of a list.
DECISIONS = {
    "hold lifted": "a hold",
    "departure decided": "a departure",
    "departure countersigned": "a countersignature",
    "run decided": "a run",
    "signal answered": "a signal",
    "unplaced settled": "an entry that could not be placed",
    "swap confirmed": "swapped labels",
    "unit released": "a release",
    "lot accepted": "a delivery",
    "call answered": "a call from the floor",
}


def deputies_on(day: date) -> list[Deputy]:
    """Who is named for each decision on a day, one query."""
    named = Deputy.objects.newest().filter(Q(until_on__isnull=True) | Q(until_on__gte=day), from_on__lte=day)
    return list(named.select_related("holder__name_words", "deputy__name_words").order_by("decision"))


def named_for(decision: str, day: date) -> Deputy | None:
    """Who is named for one decision on a day, with the deputy; nobody where the roles alone decide."""
    return next((row for row in deputies_on(day) if row.decision == decision), None)


def deciders_on(day: date) -> dict[str, str]:
    """Who decides on a day, and who does when that person is away, in words by the act that decides."""
    return {row.decision: decider_words(row) for row in deputies_on(day)}


def decider_words(row: Deputy) -> str:
    """Who decides, as a screen says it."""
    return _("%(name)s; when away %(deputy)s") % {"name": row.holder.name, "deputy": row.deputy.name}


def may_decide(decision: str) -> str:
    """Roles that may decide, where nobody is named."""
    return ", ".join(sorted(str(role.label) for role in RIGHTS[decision]))
