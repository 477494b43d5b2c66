"""What was counted on the shelf, and why it differs from the records."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from plant.equipment.models import Gauge
from records.ledger.patterns import Fact, StepsField, WordsField, whole

from .things import Item


class StockCount(Fact):
    """A lot counted or weighed without being told what should be there; and what the records said at that moment.

    A count changes no amount: what is lost is written off, what was not logged is logged.
    """

    item = models.ForeignKey(Item, models.PROTECT, related_name="counts")
    counted = StepsField()
    written = models.CharField(max_length=40)
    expected = StepsField()
    at = models.DateTimeField()
    scale = models.ForeignKey(Gauge, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [*whole("counted", "expected", table="stock_count")]

    @property
    def difference(self) -> int:
        """What was counted less what the records said. [steps]"""
        return self.counted - self.expected


class CountReason(Fact):
    """Why a count differs from the records."""

    class Why(models.TextChoices):
        SCALES = "scales", _("the scales and rounding")
        UNLOGGED = "unlogged", _("a draw was not logged")
        LOST = "lost", _("spilled, spoiled or taken as a sample")
        OTHER_LOT = "other-lot", _("another lot was drawn from, or counted")
        MISCOUNTED = "miscounted", _("the count was wrong")
        UNKNOWN = "unknown", _("looked for and not found")

    count = models.OneToOneField(StockCount, models.PROTECT, related_name="explained")
    why = models.CharField(max_length=10, choices=Why)
    words = WordsField(null=True)
