"""What waits in Review: holds, entries to place, departures, countersigns, swaps, flags; one query each."""

from __future__ import annotations

from datetime import timedelta

from django.db.models import Count, QuerySet

from records.items.actions.labels import SWAP
from records.items.models import Hold, LabelSwap
from records.items.queries import SCRAPPED
from records.ledger.models import Entry, Flag, Unplaced

from .models import Disposition, Nonconformance

LATEST_FLAGS = 20
NEAR, MOST_NEAR = timedelta(days=3), 12


def holds_that_bind() -> QuerySet[Hold]:
    """Holds that wait for somebody, the oldest first.

    Those of swapped labels end with the swap, which stands for itself; on what is scrapped nothing is to be decided.
    """
    rows = Hold.objects.filter(lift=None).exclude(reason=SWAP).exclude(item__state__where=SCRAPPED)
    return rows.select_related("item__state", "words", "entry__by__name_words").order_by("at")


def entries_to_place() -> QuerySet[Unplaced]:
    """Entries that could not be placed and that nobody has settled, the oldest first."""
    return Unplaced.objects.filter(settled=None).select_related("entry").order_by("said_at")


def entries_near(unplaced: Unplaced) -> QuerySet[Entry]:
    """Entries that may tell an unplaced one right: of its kind, from the days around it, the latest first."""
    span = (unplaced.said_at - NEAR, unplaced.said_at + NEAR)
    rows = Entry.objects.filter(kind=unplaced.said_kind, happened_at__range=span)
    return rows.select_related("by__name_words").order_by("-pk")[:MOST_NEAR]


def departures_undecided() -> QuerySet[Nonconformance]:
    """Departures on which nobody has decided, the oldest first."""
    waiting = Nonconformance.objects.newest().filter(disposition=None)
    return waiting.select_related("item__state", "words", "entry__by__name_words").order_by("found_at")


def decisions_to_countersign() -> QuerySet[Disposition]:
    """Units allowed as they are by one person, for a second to agree."""
    one_hand = Disposition.objects.filter(choice=Disposition.Choice.AS_IS, countersign=None)
    return one_hand.select_related("nonconformance__item__state", "entry__by__name_words").order_by("entry_id")


def swaps_unconfirmed() -> QuerySet[LabelSwap]:
    """Swapped labels that two people have not confirmed yet."""
    swaps = LabelSwap.objects.annotate(hands=Count("confirmations")).filter(hands__lt=2)
    return swaps.select_related("one__state", "other__state", "entry").order_by("entry_id")


def flags_to_look_at() -> QuerySet[Flag]:
    """Rules broken by what was done, that nobody has looked at, the oldest first."""
    return Flag.objects.filter(answer=None).select_related("entry__by__name_words").order_by("pk")


def flags_answered() -> QuerySet[Flag]:
    """The latest of those that somebody has looked at."""
    rows = Flag.objects.filter(answer__isnull=False)
    related = ("entry__by__name_words", "answer__words", "answer__entry__by__name_words")
    return rows.select_related(*related).order_by("-answer__pk")[:LATEST_FLAGS]
