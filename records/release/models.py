"""Letting a frame go: the gate as it stood, and the labels that were printed."""

from __future__ import annotations

from django.db import models

from records.items.models import Item, ItemCode
from records.ledger.patterns import Fact


class Release(Fact):
    """A named person let a unit go."""

    unit = models.ForeignKey(Item, models.PROTECT, related_name="releases")
    at = models.DateTimeField()


class ReleaseLine(Fact):
    """One line of the gate as it stood at release: a step on file, a run judged, a measure within."""

    release = models.ForeignKey(Release, models.PROTECT, related_name="lines")
    what = models.CharField(max_length=12)
    name = models.CharField(max_length=40)
    verdict = models.CharField(max_length=12)


class LabelPrint(Fact):
    """A label printed for a code; the copy number stands in the symbol."""

    item_code = models.ForeignKey(ItemCode, models.PROTECT, related_name="prints")
    copy = models.SmallIntegerField()
    reason = models.CharField(max_length=40, blank=True, default="")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item_code", "copy"], name="label_copy_once"),
            models.CheckConstraint(name="reprint_says_why", condition=models.Q(copy=1) | ~models.Q(reason="")),
        ]
