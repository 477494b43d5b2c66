"""How a lot keeps: when it was opened, when it left the freezer and came back, and a longer life that was allowed."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from records.ledger.patterns import Fact, Version, WordsField, version_rules

from .things import Item


class LifeEntry(Version):
    """A line of a lot's keeping: its package was opened, it left the freezer, or it went in."""

    class What(models.TextChoices):
        OPENED = "opened", _("opened")
        OUT = "out", _("out of the freezer")
        IN = "in", _("into the freezer")

    item = models.ForeignKey(Item, models.PROTECT, related_name="life_entries")
    what = models.CharField(max_length=6, choices=What)
    at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "life entries"
        constraints = version_rules("life_entry")
        indexes = [models.Index(fields=["item", "at"], name="life_entry_of_item")]


class LifeExtension(Fact):
    """A later last good day, by a certificate of a test, where the departure was allowed. The old day stays on file."""

    item = models.ForeignKey(Item, models.PROTECT, related_name="extensions")
    until = models.DateField()
    certificate = models.CharField(max_length=80)
    words = WordsField(null=True)
    at = models.DateTimeField()
