"""Measurements: one value of one characteristic on one unit, with the readings it was worked out from."""

from __future__ import annotations

from django.db import models

from plant.catalogue.models import CharacteristicRevision
from plant.equipment.models import Gauge
from records.items.models import Item
from records.ledger.patterns import Fact, StepsField, Version, WordsField, version_rules, whole


class Measurement(Version):
    """One value, or the fact that it could not be read."""

    unit = models.ForeignKey(Item, models.PROTECT, related_name="measurements")
    characteristic_revision = models.ForeignKey(CharacteristicRevision, models.PROTECT, related_name="measurements")
    gauge = models.ForeignKey(Gauge, models.PROTECT, null=True, related_name="measurements")
    value = StepsField(null=True)
    unit_kind = models.CharField(max_length=16)
    written = models.CharField(max_length=40, blank=True, default="")
    unit_text = models.CharField(max_length=8, blank=True, default="")
    at = models.DateTimeField()
    reason = models.CharField(max_length=40, blank=True, default="")
    words = WordsField(null=True)
    second = models.ForeignKey("people.Person", models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [*version_rules("measurement"), *whole("value", table="measurement")]
        indexes = [
            models.Index(fields=["unit"], name="measurement_of_unit"),
            models.Index(fields=["characteristic_revision", "at"], name="measurement_in_order"),
        ]


class Reading(Fact):
    """One of several readings that make one value, such as the six of a bore."""

    measurement = models.ForeignKey(Measurement, models.PROTECT, related_name="readings")
    n = models.SmallIntegerField()
    value = StepsField()
    written = models.CharField(max_length=40)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["measurement", "n"], name="reading_once"),
            *whole("value", table="reading"),
        ]
