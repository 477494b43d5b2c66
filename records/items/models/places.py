"""Moves and consignments: how things come to where they are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from django.db import models
from django.db.models import Exists, OuterRef, Q

from records.ledger.patterns import Fact, FactQuerySet, WordsField

from .codes import HouseCodeField
from .things import Item, Place

if TYPE_CHECKING:
    from records.ledger.marks import Mark


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


class ConsignmentLineQuerySet(FactQuerySet):
    def standing(self, mark: Mark | None = None) -> Self:
        """Lines that no later one has put right, as known at a mark."""
        later = ConsignmentLine.objects.known(mark).filter(instead_of=OuterRef("pk"))
        return self.known(mark).filter(~Exists(later))


class ConsignmentLine(Fact):
    """One unit of a consignment. ``instead_of`` is the line that it puts right: the unit lay in another consignment."""

    consignment = models.ForeignKey(Consignment, models.PROTECT, related_name="lines")
    item = models.ForeignKey(Item, models.PROTECT, related_name="consignment_lines")
    instead_of = models.OneToOneField("self", models.PROTECT, null=True, related_name="put_right")

    objects = ConsignmentLineQuerySet.as_manager()  # type: ignore[misc]

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["consignment", "item"], name="consignment_line_once", condition=Q(instead_of=None)
            )
        ]


class ConsignmentSwap(Fact):
    """Two units lay in each other's consignment, and how that was found."""

    one = models.ForeignKey(Item, models.PROTECT, related_name="+")
    other = models.ForeignKey(Item, models.PROTECT, related_name="+")
    words = WordsField(null=True)


class CustomerReturn(Fact):
    """A frame that a customer brought or sent back, and why."""

    item = models.ForeignKey(Item, models.PROTECT, related_name="returns")
    line = models.OneToOneField(ConsignmentLine, models.PROTECT, related_name="customer_return")
    reason = WordsField(null=True)
