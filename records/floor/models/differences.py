"""Entries that a tablet showed under other rules than the server judged them by."""

from __future__ import annotations

from django.db import models

from records.inspection.models import Measurement
from records.ledger.models import Entry
from records.ledger.patterns import Fact, WordsField


class Difference(Fact):
    """The tablet showed one revision, another one was in force: both, for Review to compare."""

    about = models.ForeignKey(Entry, models.PROTECT, related_name="differences")
    what = models.CharField(max_length=80)
    seen = models.CharField(max_length=40)
    judged = models.CharField(max_length=40)
    measurement = models.OneToOneField(Measurement, models.PROTECT, null=True, related_name="difference")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["about", "what"], name="difference_once")]


class DifferenceAnswer(Fact):
    """What somebody of Review found who compared the two."""

    class Found(models.TextChoices):
        STANDS = "stands", "it stands as it was judged"
        PUT_RIGHT = "put-right", "the entry was put right"
        HELD = "held", "the unit is held for it"

    difference = models.OneToOneField(Difference, models.PROTECT, related_name="answer")
    found = models.CharField(max_length=10, choices=Found)
    words = WordsField(null=True)
