"""Letting a frame go: the gate as it stood, the labels that were printed, and its page for whoever rides it."""

from __future__ import annotations

from django.db import models

from records.items.models import Item, ItemCode
from records.ledger.patterns import Fact, FactQuerySet

from .tokens import LENGTH


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
    """A label printed for a code; the copy number stands in the symbol.

    ``thing`` is the code of what is no item: a station, tool, gauge, recorder or badge.
    """

    item_code = models.ForeignKey(ItemCode, models.PROTECT, null=True, related_name="prints")
    thing = models.CharField(max_length=40, blank=True, default="")
    copy = models.SmallIntegerField()
    reason = models.CharField(max_length=40, blank=True, default="")

    @property
    def code(self) -> str:
        return self.item_code.code if self.item_code else self.thing

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item_code", "copy"], name="label_copy_once"),
            models.UniqueConstraint(
                fields=["thing", "copy"], name="label_of_thing_once", condition=~models.Q(thing="")
            ),
            models.CheckConstraint(name="reprint_says_why", condition=models.Q(copy=1) | ~models.Q(reason="")),
            models.CheckConstraint(
                name="label_is_of_one_thing",
                condition=models.Q(models.Q(item_code=None), ~models.Q(thing=""))
                | models.Q(item_code__isnull=False, thing=""),
            ),
        ]


class LabelCheck(Fact):
    """A label was scanned back once it was stuck on: it can be read, and it is on the thing that it names."""

    printed = models.ForeignKey(LabelPrint, models.PROTECT, related_name="checks")
    at = models.DateTimeField()


class PassportQuerySet(FactQuerySet):
    def standing(self) -> PassportQuerySet:
        """Passports whose page answers: the newest of each unit, unless it was closed."""
        later = Passport.objects.filter(unit=models.OuterRef("unit"), pk__gt=models.OuterRef("pk"))
        return self.filter(~models.Exists(later), ended=None)


class Passport(Fact):
    """The page of a unit for whoever has it, under a token that nobody can guess; a newer one takes its place."""

    unit = models.ForeignKey(Item, models.PROTECT, related_name="passports")
    token = models.CharField(max_length=LENGTH, unique=True)
    reason = models.CharField(max_length=40, blank=True, default="")  # why it took the place of another

    objects = PassportQuerySet.as_manager()  # type: ignore[misc]  # Django's managers are class variables in fact


class PassportEnd(Fact):
    """A passport that was closed: its page tells no more of the unit."""

    passport = models.OneToOneField(Passport, models.PROTECT, related_name="ended")
    reason = models.CharField(max_length=40)

    class Meta:
        constraints = [models.CheckConstraint(name="passport_end_says_why", condition=~models.Q(reason=""))]
