"""What waits in Review: holds, entries to place, departures, countersigns, swaps, flags; one query each."""

from __future__ import annotations

from django.db.models import Count, QuerySet

from records.items.models import Hold, LabelSwap
from records.ledger.models import Flag, Unplaced

from .models import Disposition, Nonconformance

LATEST_FLAGS = 50


def holds_that_bind() -> QuerySet[Hold]:
    """Holds not lifted, the oldest first."""
    return Hold.objects.filter(lift=None).select_related("item__state", "words", "entry__by__name_words").order_by("at")


def entries_to_place() -> QuerySet[Unplaced]:
    """Entries that could not be placed and that nobody has settled, the oldest first."""
    return Unplaced.objects.filter(settled=None).select_related("entry").order_by("said_at")


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


def latest_flags() -> QuerySet[Flag]:
    """The latest rules broken by what was done."""
    return Flag.objects.select_related("entry__by__name_words").order_by("-pk")[:LATEST_FLAGS]
