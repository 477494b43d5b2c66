"""Departures from what was asked, and what was decided about them."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from records.items.models import HouseCodeField, Item
from records.ledger.models import Flag
from records.ledger.patterns import Fact, Version, WordsField, version_rules


class Nonconformance(Version):
    """A departure found on an item."""

    class Defect(models.TextChoices):
        DIMENSION = "dimension", "dimension outside its band"
        CURE = "cure", "cure outside its recipe"
        LEAK = "leak", "leak test failed"
        DRY = "dry-patch", "dry patch"
        VOID = "void", "void or porosity"
        BOND = "bond", "bond line"
        SURFACE = "surface", "surface"
        MATERIAL = "material", "material"
        FIELD = "field", "failure in use"
        REPORTED = "reported", "damage told from outside"
        OTHER = "other", "other"

    code = HouseCodeField(max_length=40)
    item = models.ForeignKey(Item, models.PROTECT, related_name="nonconformances")
    defect = models.CharField(max_length=12, choices=Defect)
    words = WordsField(null=True)
    found_at = models.DateTimeField()

    class Meta:
        constraints = [
            *version_rules("nonconformance"),
            models.UniqueConstraint(fields=["code"], name="nonconformance_code_once", condition=Q(version=1)),
        ]

    @property
    def told_by(self) -> str:
        """Who noted it; what came by a public page has nobody's name."""
        return "whoever has it" if self.entry.kind == "damage reported" else self.entry.by.name


class OwnerReport(Fact):
    """A departure that whoever has a frame told on its public page, without a badge: a claim until somebody has looked.

    ``contact`` is how to answer, where that was told.
    """

    departure = models.OneToOneField(Nonconformance, models.PROTECT, related_name="owner_report")
    contact = WordsField(null=True)


class Disposition(Fact):
    """What was decided on a departure."""

    class Choice(models.TextChoices):
        REWORK = "rework", "rework"
        AS_IS = "as-is", "allow as is"
        SCRAP = "scrap", "scrap"
        RETURN = "return", "return to supplier"
        NONE = "no-departure", "no departure found"

    nonconformance = models.OneToOneField(Nonconformance, models.PROTECT, related_name="disposition")
    choice = models.CharField(max_length=12, choices=Choice)
    words = WordsField(null=True)


# How a decided departure is drawn, where it is not plainly done.
BECAME: dict[str, str] = {Disposition.Choice.AS_IS: "allowed", Disposition.Choice.SCRAP: "scrapped"}


class Countersign(Fact):
    """A second person who agrees that a unit is allowed as it is."""

    disposition = models.OneToOneField(Disposition, models.PROTECT, related_name="countersign")
    decider = models.ForeignKey("people.Person", models.PROTECT, related_name="+")
    signer = models.ForeignKey("people.Person", models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(name="countersigned_by_another_person", condition=~Q(decider=F("signer")))
        ]


class FlagAnswer(Fact):
    """What somebody found who looked at an entry that was kept although it broke a rule."""

    class Found(models.TextChoices):
        STANDS = "stands", "it happened as it was entered"
        RIGHT = "put-right", "the entry was wrong and is put right"
        DEPARTURE = "departure", "a departure is noted for it"

    flag = models.OneToOneField(Flag, models.PROTECT, related_name="answer")
    found = models.CharField(max_length=10, choices=Found)
    words = WordsField(null=True)
