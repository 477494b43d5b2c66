"""Runs: one pass through a process, the recorder files of it, and how it was judged."""

from __future__ import annotations

from django.db import models

from plant.catalogue.models import RecipeRevision, RecipeRule
from plant.equipment.models import Recorder
from records.items.models import HouseCodeField, Item, Place
from records.ledger.patterns import Fact, StepsField, Version, WordsField, version_rules, whole


class Run(Version):
    """One pass through a process with the units in it."""

    class Kind(models.TextChoices):
        LEAK_TEST = "leak-test", "leak test"
        FILL = "fill", "fill"
        CURE = "cure", "cure"
        BONDING = "bonding", "bonding heat"
        METERING = "metering", "metered shot"

    code = HouseCodeField(max_length=40)
    kind = models.CharField(max_length=10, choices=Kind)
    place = models.ForeignKey(Place, models.PROTECT, null=True, related_name="+")
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            *version_rules("run"),
            models.UniqueConstraint(fields=["code"], name="run_code_once", condition=models.Q(version=1)),
        ]

    def __str__(self) -> str:
        return self.code


class RunUnit(Fact):
    """A unit that was in a run."""

    run = models.ForeignKey(Run, models.PROTECT, related_name="units")
    unit = models.ForeignKey(Item, models.PROTECT, related_name="runs")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["run", "unit"], name="run_unit_once")]


class Log(Fact):
    """One recorder file of a run. The bytes stand in a table of their own."""

    run = models.ForeignKey(Run, models.PROTECT, related_name="logs")
    recorder = models.ForeignKey(Recorder, models.PROTECT, null=True, related_name="+")
    name = models.CharField(max_length=120)
    sha256 = models.CharField(max_length=64, unique=True)
    block_sha256 = models.CharField(max_length=64)
    rows = models.IntegerField()
    rows_set_aside = models.IntegerField(default=0)
    zone = models.CharField(max_length=64, blank=True, default="")
    first_at = models.DateTimeField(null=True)
    last_at = models.DateTimeField(null=True)


class LogChannel(Fact):
    """One channel of a log: what it shows and how much of it is there."""

    log = models.ForeignKey(Log, models.PROTECT, related_name="channels")
    n = models.SmallIntegerField()
    name = models.CharField(max_length=80)
    role = models.CharField(max_length=40, blank=True, default="")
    quantity = models.CharField(max_length=24, blank=True, default="")
    unit = models.CharField(max_length=12, blank=True, default="")
    readings = models.IntegerField()
    missing = models.IntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["log", "n"], name="log_channel_once")]


class LogBytes(Fact):
    """The file as it was sent, and its curve packed for drawing."""

    log = models.OneToOneField(Log, models.PROTECT, primary_key=True, related_name="bytes")
    raw = models.BinaryField()
    block = models.BinaryField()

    class Meta:
        verbose_name_plural = "log bytes"


class Assessment(Fact):
    """How a log was judged under a recipe revision; a later one supersedes it, none is overwritten."""

    class Verdict(models.TextChoices):
        WITHIN = "within", "within"
        EDGE = "near-edge", "near edge"
        OUTSIDE = "outside", "outside"
        NOT_SHOWN = "not-shown", "not shown"

    run = models.ForeignKey(Run, models.PROTECT, related_name="assessments")
    log = models.ForeignKey(Log, models.PROTECT, related_name="assessments")
    recipe_revision = models.ForeignKey(RecipeRevision, models.PROTECT, related_name="assessments")
    verdict = models.CharField(max_length=10, choices=Verdict)


class AssessmentPhase(Fact):
    """A phase found in the curve."""

    assessment = models.ForeignKey(Assessment, models.PROTECT, related_name="phases")
    name = models.CharField(max_length=40)
    from_at = models.DateTimeField()
    to_at = models.DateTimeField()


class AssessmentCheck(Fact):
    """One rule of the recipe against what the curve shows."""

    assessment = models.ForeignKey(Assessment, models.PROTECT, related_name="checks")
    rule = models.ForeignKey(RecipeRule, models.PROTECT, related_name="+")
    words = models.CharField(max_length=240)
    got = StepsField(null=True)
    unit_kind = models.CharField(max_length=16)
    verdict = models.CharField(max_length=10, choices=Assessment.Verdict)
    from_at = models.DateTimeField(null=True)
    to_at = models.DateTimeField(null=True)

    class Meta:
        constraints = whole("got", table="assessment_check")


class RunDecision(Fact):
    """What a person decided on a run that was not plainly within."""

    class Choice(models.TextChoices):
        ACCEPT = "accept", "accepted"
        FAIL = "fail", "failed"

    run = models.ForeignKey(Run, models.PROTECT, related_name="decisions")
    assessment = models.ForeignKey(Assessment, models.PROTECT, related_name="decisions")
    choice = models.CharField(max_length=8, choices=Choice)
    words = WordsField(null=True)
