"""Emergency sheets: paper for the time when no tablet works, each numbered and looked for until it is back."""

from __future__ import annotations

from typing import Self

from django.db import models
from django.db.models import Q

from plant.catalogue.models import Operation
from plant.equipment.models import Station
from records.items.models import HouseCodeField, Item
from records.ledger.patterns import Fact, FactQuerySet, WordsField


class SheetQuerySet(FactQuerySet):
    """Questions about sheets."""

    def out(self) -> Self:
        """Sheets that were printed and are not back, the oldest first."""
        return self.filter(returned=None).order_by("pk")


class EmergencySheet(Fact):
    """A numbered sheet of paper for a station; what stands on it is what was in force when it was printed."""

    code = HouseCodeField(max_length=40, unique=True)
    station = models.ForeignKey(Station, models.PROTECT, related_name="sheets")
    printed_at = models.DateTimeField()

    objects = SheetQuerySet.as_manager()  # type: ignore[misc]  # Django's managers are class variables in fact

    def __str__(self) -> str:
        return str(self.code)


class SheetLine(Fact):
    """One line to tick: a step of a unit that waited there, or a step of any unit, whose code is written in."""

    sheet = models.ForeignKey(EmergencySheet, models.PROTECT, related_name="lines")
    n = models.SmallIntegerField()
    operation = models.ForeignKey(Operation, models.PROTECT, related_name="+")
    unit = models.ForeignKey(Item, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["sheet", "n"], name="sheet_line_once")]


class SheetReturn(Fact):
    """A sheet is back: how many of its lines were used, none where it came back empty or torn."""

    sheet = models.OneToOneField(EmergencySheet, models.PROTECT, related_name="returned")
    lines = models.SmallIntegerField()
    words = WordsField(null=True)

    class Meta:
        constraints = [models.CheckConstraint(name="sheet_lines_counted", condition=Q(lines__gte=0))]
