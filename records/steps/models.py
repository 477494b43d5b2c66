"""A unit's way along its route: one record for each attempt at an operation, with tools and readings."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Count, F, Q
from django.utils.translation import gettext_lazy as _

from plant.catalogue.carriers import Carrier
from plant.catalogue.models import Operation
from plant.equipment.models import Tool
from records.items.models import Item, Place
from records.ledger.patterns import Fact, State, StepsField, Version, version_rules, whole


class StepRecord(Version):
    """One attempt at one operation for one unit. Who did it is the maker of the entry."""

    class Outcome(models.TextChoices):
        DONE = "done", "done"
        FAILED = "failed", "failed"
        INTERRUPTED = "interrupted", "interrupted"

    unit = models.ForeignKey(Item, models.PROTECT, related_name="steps")
    operation = models.ForeignKey(Operation, models.PROTECT, related_name="+")
    attempt = models.SmallIntegerField(default=1)
    place = models.ForeignKey(Place, models.PROTECT, null=True, related_name="+")
    began_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField()
    outcome = models.CharField(max_length=12, choices=Outcome, default=Outcome.DONE)
    rules_seen = models.CharField(max_length=40, blank=True, default="")  # revisions shown to the maker

    class Meta:
        constraints = [
            *version_rules("step_record"),
            models.UniqueConstraint(
                fields=["unit", "operation", "attempt"], name="step_attempt_once", condition=Q(version=1)
            ),
        ]
        indexes = [models.Index(fields=["unit", "ended_at"], name="step_record_of_unit")]


class StepTool(Fact):
    """A tool used in a step."""

    step = models.ForeignKey(StepRecord, models.PROTECT, related_name="tools")
    tool = models.ForeignKey(Tool, models.PROTECT, related_name="uses")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["step", "tool"], name="step_tool_once")]


class StepReading(Fact):
    """A number read in a step, words such as a programme's revision, or why nothing could be read."""

    step = models.ForeignKey(StepRecord, models.PROTECT, related_name="readings")
    name = models.CharField(max_length=40)
    value = StepsField(null=True)  # none of words, and where it could not be read
    unit_kind = models.CharField(max_length=16)
    unit = models.CharField(max_length=8)
    written = models.CharField(max_length=40)
    reason = models.CharField(max_length=20, blank=True, default="")

    class Meta:
        constraints = whole("value", table="step_reading")


class UnitCarrier(Version):
    """What holds a unit's identity, from when to when: where its code was read, and on what.

    ``code`` is what was read on it; ``is_own`` whether that names the unit: one with another's code is kept as it is.
    One carrier stands for a unit at a time; the next one ends it.
    """

    unit = models.ForeignKey(Item, models.PROTECT, related_name="carriers")
    kind = models.CharField(max_length=10, choices=Carrier)
    code = models.CharField(max_length=40)
    copy = models.SmallIntegerField(null=True)  # number of the label that was read, where it tells one
    is_own = models.BooleanField(default=True)
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    reason = models.CharField(max_length=40, blank=True, default="")  # why it ended, or why another one was put on

    class Meta:
        constraints = [
            *version_rules("unit_carrier"),
            models.CheckConstraint(
                name="unit_carrier_ends_after_it_begins",
                condition=Q(ended_at=None) | Q(ended_at__gte=F("began_at")),
                violation_error_message=_("A carrier ends after it began."),
            ),
        ]
        indexes = [
            models.Index(fields=["unit", "began_at"], name="unit_carrier_of_unit"),
            models.Index(fields=["code"], name="unit_carrier_of_code"),
        ]

    @property
    def is_on(self) -> bool:
        """Whether it carries the identity at present."""
        return self.ended_at is None


class MeasureAgain(Fact):
    """A number outside its band that is kept while its unit waits: it is measured again, and not before ``until``."""

    unit = models.ForeignKey(Item, models.PROTECT, related_name="to_measure_again")
    operation = models.ForeignKey(Operation, models.PROTECT, null=True, related_name="+")
    name = models.CharField(max_length=40)
    written = models.CharField(max_length=40)
    unit_text = models.CharField(max_length=8, blank=True, default="")
    until = models.DateTimeField()

    class Meta:
        verbose_name_plural = "to measure again"
        constraints = [
            models.CheckConstraint(
                name="measure_again_says_what",
                condition=~Q(name="") & ~Q(written=""),
                violation_error_message=_("Say what is measured again, and what it read."),
            )
        ]


class Waiting(State):
    """The operation that a unit waits for, since the last that was told of its steps; none when its route is done."""

    unit = models.OneToOneField(Item, models.PROTECT, primary_key=True, related_name="waiting")
    operation = models.ForeignKey(Operation, models.PROTECT, null=True, related_name="waiting")
    since = models.DateTimeField()

    @classmethod
    def from_records(cls) -> list[dict[str, Any]]:
        """The first operation of each unit's route that is not on file as done."""
        from .queries import waiting_by_records  # reads stand above the models

        return waiting_by_records()


class ToolCycles(State):
    """How often a tool was used."""

    tool = models.OneToOneField(Tool, models.PROTECT, primary_key=True, related_name="cycles")
    cycles = models.IntegerField(default=0)

    class Meta:
        verbose_name_plural = "tool cycles"

    @classmethod
    def from_records(cls) -> list[dict[str, Any]]:
        """Uses counted from the step records that stand."""
        standing = Q(uses__step__in=StepRecord.objects.standing())
        ever_used = Tool.objects.filter(pk__in=StepTool.objects.values("tool"))
        uses = ever_used.annotate(n=Count("uses", standing)).order_by("pk")
        return [{"tool_id": pk, "cycles": n} for pk, n in uses.values_list("pk", "n")]
