"""Charts of characteristics: where a chart starts anew, the limits it is frozen at, signals and their answers."""

from __future__ import annotations

from django.db import models

from plant.catalogue.models import Characteristic
from records.inspection.models import Measurement
from records.ledger.patterns import Fact, WordsField


class ChartBreak(Fact):
    """A chart starts a new piece: something was rebuilt, readings before and after are not one process."""

    characteristic = models.ForeignKey(Characteristic, models.PROTECT, related_name="breaks")
    at = models.DateTimeField()
    words = WordsField(null=True)


class Baseline(Fact):
    """Limits frozen from a span of measurements. Kept in thousandths of a step, as a mean falls between steps."""

    characteristic = models.ForeignKey(Characteristic, models.PROTECT, related_name="baselines")
    from_at = models.DateTimeField()
    to_at = models.DateTimeField()
    n = models.IntegerField()
    centre_milli = models.BigIntegerField()
    mean_range_milli = models.BigIntegerField()
    words = WordsField(null=True)


class BaselinePoint(Fact):
    """A measurement that a baseline rests on: that version of it. A newer version marks the baseline."""

    baseline = models.ForeignKey(Baseline, models.PROTECT, related_name="points")
    n = models.IntegerField()
    measurement = models.ForeignKey(Measurement, models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["baseline", "n"], name="baseline_point_once")]


class SignalAnswer(Fact):
    """What was found behind a signal and what was done about it."""

    characteristic = models.ForeignKey(Characteristic, models.PROTECT, related_name="answers")
    measurement = models.ForeignKey(Measurement, models.PROTECT, related_name="answers")
    rule = models.CharField(max_length=40)
    cause_found = models.BooleanField()
    removed = models.BooleanField()
    words = WordsField(null=True)
