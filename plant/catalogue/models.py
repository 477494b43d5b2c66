"""What is made, of what, in which steps, within which limits: all of it by revision.

A revision is a record: a change is a new one, proposed with a reason and approved by another person.
"""

from __future__ import annotations

from datetime import datetime
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from records.ledger.patterns import Fact, FactQuerySet, StepsField, WordsField, whole

from .carriers import Carrier


class Part(Fact):
    """A definition: what a material, preform, assembly or frame is. Tracked by lot or by unit."""

    class Kind(models.TextChoices):
        FIBRE = "fibre", "fibre"
        RESIN = "resin", "resin"
        HARDENER = "hardener", "hardener"
        RESIN_MIX = "resin-mix", "mixed resin"
        ADHESIVE = "adhesive", "adhesive"
        ADHESIVE_HARDENER = "adhesive-hardener", "adhesive hardener"
        ADHESIVE_MIX = "adhesive-mix", "mixed adhesive"
        INSERT = "insert", "frame insert"
        BINDER = "binder", "binder"
        COUPON = "coupon", "coupon"
        PREFORM = "preform", "preform"
        FRONT = "front", "front triangle"
        REAR = "rear", "rear triangle"
        FRAME = "frame", "frame"
        BLADDER = "bladder", "bladder"

    POT_KINDS = (Kind.RESIN_MIX, Kind.ADHESIVE_MIX)
    UNIT_KINDS = (Kind.PREFORM, Kind.FRONT, Kind.REAR, Kind.FRAME, Kind.BLADDER)

    class Tracked(models.TextChoices):
        LOT = "L", "by lot"
        UNIT = "U", "by unit"

    number = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=80, blank=True, default="")
    kind = models.CharField(max_length=20, choices=Kind)
    tracked = models.CharField(max_length=1, choices=Tracked)
    unit_kind = models.CharField(max_length=16, blank=True, default="")
    unit = models.CharField(max_length=8, blank=True, default="")
    # Prefix of the codes that the house makes for items of this part.
    prefix = models.CharField(max_length=2, blank=True, default="")

    def __str__(self) -> str:
        return self.number


class Proposal(Fact):
    """A change of the set-up put forward with its reason; it is in force once somebody else approves it."""

    what = models.CharField(max_length=120)
    reason = WordsField(null=True)


class Approval(Fact):
    """A proposal approved, in force from a moment on. Only the opening of an empty works has no approver."""

    proposal = models.OneToOneField(Proposal, models.PROTECT, related_name="approval")
    in_force_from = models.DateTimeField(db_index=True)
    proposer = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    approver = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="approver_is_not_the_proposer",
                condition=Q(approver__isnull=True) | ~Q(approver=F("proposer")),
                violation_error_message="Somebody other than the proposer must approve.",
            )
        ]


class RevisionQuerySet(FactQuerySet):
    def in_force(self, at: datetime) -> Self:
        """Approved revisions in force at a moment, the latest first."""
        approved = self.filter(proposal__approval__in_force_from__lte=at)
        return approved.order_by("-proposal__approval__in_force_from", "-pk")

    def waiting(self) -> Self:
        """Revisions put forward and not approved yet."""
        return self.filter(proposal__approval=None)


class Revision(Fact):
    """One state of a piece of the set-up."""

    proposal = models.ForeignKey(Proposal, models.PROTECT, related_name="+")
    revision = models.CharField(max_length=20)

    objects = RevisionQuerySet.as_manager()  # type: ignore[misc]

    class Meta:
        abstract = True


class PartRevision(Revision):
    """A revision of a part's definition."""

    part = models.ForeignKey(Part, models.PROTECT, related_name="revisions")
    drawing = models.CharField(max_length=40, blank=True, default="")
    # How a lot of it keeps, from the supplier's data sheet; none where that does not limit it.
    opened_life_ms = models.BigIntegerField(null=True)
    out_life_ms = models.BigIntegerField(null=True)  # out of the freezer, in sum
    thaw_ms = models.BigIntegerField(null=True)  # out of the freezer before its package may be opened

    class Meta:
        constraints = [models.UniqueConstraint(fields=["part", "revision"], name="part_revision_once")]

    @property
    def limits_its_keeping(self) -> bool:
        """Whether its data sheet says more of how it keeps than a last good day."""
        return not (self.opened_life_ms is None and self.out_life_ms is None and self.thaw_ms is None)


class CertificateLimit(Fact):
    """What a supplier's certificate must say of a part: a value and where it must lie. On a limit is inside.

    Suppliers use units that the house does not measure in, so the limits are kept in millionths of the unit as written.
    """

    revision = models.ForeignKey(PartRevision, models.PROTECT, related_name="certificate_limits")
    name = models.CharField(max_length=60)
    unit = models.CharField(max_length=12, blank=True, default="")
    lower = StepsField(null=True)
    upper = StepsField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["revision", "name"], name="certificate_limit_once"),
            models.CheckConstraint(
                name="certificate_limit_is_not_upside_down",
                condition=Q(lower__isnull=True) | Q(upper__isnull=True) | Q(lower__lte=F("upper")),
                violation_error_message="The lower limit lies above the upper.",
            ),
            *whole("lower", "upper", table="certificate_limit"),
        ]


class Tank(Fact):
    """A tank for one component, or a bin of small parts: it can hold what is left of several lots at once."""

    class Kind(models.TextChoices):
        TANK = "tank", "tank"
        BIN = "bin", "bin"

    code = models.CharField(max_length=40, unique=True)
    kind = models.CharField(max_length=4, choices=Kind, default=Kind.TANK)
    part = models.ForeignKey(Part, models.PROTECT, related_name="tanks")

    def __str__(self) -> str:
        return self.code


class MixRevision(Revision):
    """How a pot is mixed: what comes out, and how long it may be used."""

    mix = models.CharField(max_length=40)
    part = models.ForeignKey(Part, models.PROTECT, related_name="+")
    pot_life_ms = models.BigIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["mix", "revision"], name="mix_revision_once")]


class MixComponent(Fact):
    """One component of a mix: parts per hundred parts of the first, with its tolerance."""

    mix_revision = models.ForeignKey(MixRevision, models.PROTECT, related_name="components")
    n = models.SmallIntegerField()
    part = models.ForeignKey(Part, models.PROTECT, related_name="+")
    ratio_ppb = models.BigIntegerField()
    plus_ppb = models.BigIntegerField()
    minus_ppb = models.BigIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["mix_revision", "part"], name="mix_component_once")]


class MixHeat(Fact):
    """Mixed mass from which a pot heats itself, where the data sheet of the mix states it. [ug]"""

    mix_revision = models.OneToOneField(MixRevision, models.PROTECT, related_name="heat")
    from_mass = StepsField()

    class Meta:
        constraints = whole("from_mass", table="mix_heat")


class RouteRevision(Revision):
    """The way of a part through the works: its operations in order. The first is the one that makes it."""

    part = models.ForeignKey(Part, models.PROTECT, related_name="routes")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["part", "revision"], name="route_revision_once")]


class Operation(Fact):
    """One step of a route."""

    route_revision = models.ForeignKey(RouteRevision, models.PROTECT, related_name="operations")
    n = models.SmallIntegerField()
    name = models.CharField(max_length=40)
    station_kind = models.CharField(max_length=20, blank=True, default="")
    tool_kind = models.CharField(max_length=12, blank=True, default="")
    caution = models.CharField(max_length=40, blank=True, default="")
    makes_safe = models.BooleanField(default=False)
    needs_qualification = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["route_revision", "n"], name="operation_place_once"),
            models.UniqueConstraint(fields=["route_revision", "name"], name="operation_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class OperationInput(Fact):
    """What goes in at an operation: a kind of part, and how much when it is always the same."""

    operation = models.ForeignKey(Operation, models.PROTECT, related_name="inputs")
    kind = models.CharField(max_length=20, choices=Part.Kind)
    part = models.ForeignKey(Part, models.PROTECT, null=True, related_name="+")
    amount = StepsField(null=True)

    class Meta:
        constraints = whole("amount", table="operation_input")


class OperationLapse(Fact):
    """How long it holds what an operation shows. It counts for one making: a mould closed again makes it void."""

    operation = models.OneToOneField(Operation, models.PROTECT, related_name="lapse")
    good_for_ms = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="operation_lapse_has_a_span",
                condition=Q(good_for_ms__gt=0),
                violation_error_message="A check holds for at least a minute.",
            )
        ]


class OperationRest(Fact):
    """Least time from an operation to the next one of its route: a cure, a bond that sets, paint that dries."""

    operation = models.OneToOneField(Operation, models.PROTECT, related_name="rest")
    least_ms = models.BigIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(name="operation_rest_has_a_span", condition=Q(least_ms__gt=0))]


class OperationCarrier(Fact):
    """What holds a unit's identity from an operation on: its code is read there once, when it changes."""

    operation = models.OneToOneField(Operation, models.PROTECT, related_name="carrier")
    kind = models.CharField(max_length=10, choices=Carrier)


class OperationReading(Fact):
    """A number read at an operation, with its band."""

    operation = models.ForeignKey(Operation, models.PROTECT, related_name="readings")
    name = models.CharField(max_length=40)
    unit_kind = models.CharField(max_length=16)
    unit = models.CharField(max_length=8)
    lower = StepsField(null=True)
    upper = StepsField(null=True)

    class Meta:
        constraints = whole("lower", "upper", table="operation_reading")


class OperationAsk(Fact):
    """Evidence that must be on file before a unit is released: a kind of run, or a characteristic measured within."""

    class What(models.TextChoices):
        RUN = "run", "a run judged"
        MEASURE = "measure", "a measure within"

    operation = models.ForeignKey(Operation, models.PROTECT, related_name="asks")
    what = models.CharField(max_length=8, choices=What)
    name = models.CharField(max_length=40)


class RecipeRevision(Revision):
    """The limits that a run is judged against."""

    recipe = models.CharField(max_length=40)
    kind = models.CharField(max_length=20)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["recipe", "revision"], name="recipe_revision_once")]

    def __str__(self) -> str:
        return f"{self.recipe} rev {self.revision}"


class RecipeRule(Fact):
    """One limit of a recipe: a feature of the curve, and where it must lie."""

    recipe_revision = models.ForeignKey(RecipeRevision, models.PROTECT, related_name="rules")
    feature = models.CharField(max_length=40)
    role = models.CharField(max_length=40, blank=True, default="")
    unit_kind = models.CharField(max_length=16)
    level = StepsField(null=True)
    lower = StepsField(null=True)
    upper = StepsField(null=True)

    class Meta:
        constraints = whole("level", "lower", "upper", table="recipe_rule")


class Characteristic(Fact):
    """Something measured on a part."""

    part = models.ForeignKey(Part, models.PROTECT, related_name="characteristics")
    name = models.CharField(max_length=40)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["part", "name"], name="characteristic_once")]

    def __str__(self) -> str:
        return self.name


class CharacteristicRevision(Revision):
    """Nominal, limits and measuring method of a characteristic. On a limit is inside."""

    class WorkedOut(models.TextChoices):
        MEAN = "mean", "mean of the readings"
        LARGEST = "largest", "largest reading"
        SMALLEST = "smallest", "smallest reading"
        RANGE = "range", "largest less smallest"

    characteristic = models.ForeignKey(Characteristic, models.PROTECT, related_name="revisions")
    unit_kind = models.CharField(max_length=16)
    unit = models.CharField(max_length=8)
    nominal = StepsField(null=True)
    lower = StepsField(null=True)
    upper = StepsField(null=True)
    decimals = models.SmallIntegerField(default=2)
    gauge_kind = models.CharField(max_length=20, blank=True, default="")
    method = models.CharField(max_length=120, blank=True, default="")
    uncertainty = StepsField(null=True)  # expanded, k = 2, of the method
    readings = models.SmallIntegerField(default=1)
    worked_out = models.CharField(max_length=8, choices=WorkedOut, default=WorkedOut.MEAN)
    is_key = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["characteristic", "revision"], name="characteristic_revision_once"),
            models.CheckConstraint(
                name="band_is_not_upside_down",
                condition=Q(lower__isnull=True) | Q(upper__isnull=True) | Q(lower__lte=F("upper")),
                violation_error_message="The lower limit lies above the upper.",
            ),
            *whole("nominal", "lower", "upper", "uncertainty", table="characteristic_revision"),
        ]


class RulebookRevision(Revision):
    """The settings of the works that decide what happens: the share cut-off, and the automatic holds below it."""

    cut_off_ppb = models.BigIntegerField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["revision"], name="rulebook_revision_once")]


class HoldRule(Fact):
    """Whether a cause holds the item by itself, and what that hold stops. Scope 0 means that it doesn't."""

    rulebook = models.ForeignKey(RulebookRevision, models.PROTECT, related_name="hold_rules")
    cause = models.CharField(max_length=40)
    scope = models.SmallIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["rulebook", "cause"], name="hold_rule_once")]
