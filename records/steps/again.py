"""Numbers that wait to be measured again: those that count still."""

from __future__ import annotations

from django.db.models import Exists, OuterRef, QuerySet

from plant.equipment.models import Tool

from .models import MeasureAgain, StepRecord


def still_waiting() -> QuerySet[MeasureAgain]:
    """What is to be measured again. A mould closed once more since is measured anew: nothing waits on it any more."""
    closed = StepRecord.objects.standing().filter(
        unit=OuterRef("unit"),
        operation__n=1,
        operation__tool_kind=Tool.Kind.MOULD,
        ended_at__gt=OuterRef("entry__happened_at"),
    )
    return MeasureAgain.objects.exclude(Exists(closed), operation__isnull=False)
