"""Moves and consignments: how things come to where they are."""

from __future__ import annotations

from django.db import models

from records.ledger.patterns import Fact, WordsField

from .codes import HouseCodeField
from .things import Item, Place


class Move(Fact):
    """An item came to a place."""

    item = models.ForeignKey(Item, models.PROTECT, related_name="moves")
    place = models.ForeignKey(Place, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["item", "at"], name="move_of_item")]


class Consignment(Fact):
    """Units that leave together or come back together."""

    class Direction(models.TextChoices):
        OUT = "out", "out, to come back"
        SHIP = "ship", "shipped for good"
        BACK = "back", "come back"

    code = HouseCodeField(max_length=40, unique=True)
    direction = models.CharField(max_length=4, choices=Direction)
    place = models.ForeignKey(Place, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    back_of = models.ForeignKey("self", models.PROTECT, null=True, related_name="returns")


class ConsignmentLine(Fact):
    """One unit of a consignment."""

    consignment = models.ForeignKey(Consignment, models.PROTECT, related_name="lines")
    item = models.ForeignKey(Item, models.PROTECT, related_name="consignment_lines")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["consignment", "item"], name="consignment_line_once")]


class CustomerReturn(Fact):
    """A frame that a customer brought or sent back, and why."""

    item = models.ForeignKey(Item, models.PROTECT, related_name="returns")
    line = models.OneToOneField(ConsignmentLine, models.PROTECT, related_name="customer_return")
    reason = WordsField(null=True)
