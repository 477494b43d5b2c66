"""What may not be done with an item: holds and their lifting, labels that were swapped."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from plant.catalogue.models import Operation
from records.ledger.patterns import Fact, WordsField

from .things import Item


class Hold(Fact):
    """An item that may not be used, moved on or shipped until the hold is lifted."""

    class Scope(models.IntegerChoices):
        ALL = 1, _("use, step, send-out and ship")
        AFTER = 2, _("every step after the named one, send-out and ship")
        SHIP = 3, _("ship only")

    item = models.ForeignKey(Item, models.PROTECT, related_name="holds")
    reason = models.CharField(max_length=40)  # a code from the list; words stand apart
    words = WordsField(null=True)
    scope = models.SmallIntegerField(choices=Scope, default=Scope.ALL)
    operation = models.ForeignKey(Operation, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="hold_says_why",
                condition=~Q(reason=""),
                violation_error_message=_("Choose why this is held."),
            ),
        ]

    @property
    def is_by_hand(self) -> bool:
        """Whether a person held it, not the rulebook on what a person entered."""
        return self.entry.kind in ("hold placed", "put aside")


class HoldLift(Fact):
    """The end of a hold, with its reason; ``is_withdrawn`` where it was placed by a mis-tap and never meant."""

    hold = models.OneToOneField(Hold, models.PROTECT, related_name="lift")
    words = WordsField(null=True)
    at = models.DateTimeField()
    is_withdrawn = models.BooleanField(default=False, db_default=False)

    @property
    def ending(self) -> str:
        """How the hold ended, in a word."""
        return "withdrawn" if self.is_withdrawn else "lifted"


class LabelSwap(Fact):
    """Two units whose labels were on each other since a moment; both held until two people confirm."""

    one = models.ForeignKey(Item, models.PROTECT, related_name="+")
    other = models.ForeignKey(Item, models.PROTECT, related_name="+")
    since = models.DateTimeField()
    words = WordsField(null=True)


class SwapConfirm(Fact):
    """A person who says how they know which of two swapped units is which."""

    swap = models.ForeignKey(LabelSwap, models.PROTECT, related_name="confirmations")
    person = models.ForeignKey("people.Person", models.PROTECT, related_name="+")
    words = WordsField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["swap", "person"], name="swap_confirmed_once_a_person")]
