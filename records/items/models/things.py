"""Places, lots and units: codes, deliveries, decisions and losses, and what they are like at present."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from plant.catalogue.models import Part, PartRevision
from plant.equipment.models import Station
from records.ledger.patterns import Fact, State, StepsField, Version, WordsField, version_rules, whole


class Place(Fact):
    """Where a thing can be: a station, a shelf, or an outside party such as the painter or a customer."""

    class Kind(models.TextChoices):
        STATION = "station", "station"
        SHELF = "shelf", "shelf"
        OUTSIDE = "outside", "outside party"

    kind = models.CharField(max_length=8, choices=Kind)
    station = models.OneToOneField(Station, models.PROTECT, null=True, related_name="place")
    code = models.CharField(max_length=40, null=True, unique=True)  # noqa: DJ001  an outside party has words, no code
    party = WordsField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="place_has_code_or_party", condition=Q(code__isnull=False) | Q(party__isnull=False)
            )
        ]

    def __str__(self) -> str:
        return str(self.station) if self.station_id else self.code or str(self.party)


class Item(Fact):
    """A thing with an identity: a lot, which is a quantity with one history, or a unit, which has a serial."""

    class Origin(models.TextChoices):
        RECEIVED = "received", "received from a supplier"
        MADE = "made", "made in the house"
        STATED = "stated", "known only by its use"

    kind = models.CharField(max_length=1, choices=Part.Tracked)
    revision = models.ForeignKey(PartRevision, models.PROTECT, related_name="items")
    origin = models.CharField(max_length=8, choices=Origin)
    born_at = models.DateTimeField()
    place_of_birth = models.ForeignKey(Place, models.PROTECT, null=True, related_name="+")
    expires_on = models.DateField(null=True)  # last good day, of a lot made from others
    good_until = models.DateTimeField(null=True)  # end of a pot's life, that instant included

    class Meta:
        constraints = [models.CheckConstraint(name="item_is_lot_or_unit", condition=Q(kind__in=["L", "U"]))]

    def __str__(self) -> str:
        return self.state.code

    @property
    def part(self) -> Part:
        return self.revision.part

    @property
    def code(self) -> str:
        return self.state.code


class ItemCode(Fact):
    """A code that an item has or had; no code is used twice, in the whole house and for all time."""

    class Why(models.TextChoices):
        BIRTH = "birth", "first code, as told"
        HOUSE = "house", "first code, made by the house"
        RENUMBERED = "renumbered", "renumbered"

    item = models.ForeignKey(Item, models.PROTECT, related_name="codes")
    code = models.CharField(max_length=40)
    why = models.CharField(max_length=10, choices=Why)
    alike = models.CharField(max_length=40, db_index=True)  # look-alike signs made one

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["code"], name="item_code_once", violation_error_message=_("This code is taken.")
            )
        ]


class ItemState(State):
    """Present code, place and amount of an item."""

    item = models.OneToOneField(Item, models.PROTECT, primary_key=True, related_name="state")
    code = models.CharField(max_length=40, unique=True)
    where = models.CharField(max_length=8, default="here", db_index=True)  # here, in, out, shipped, scrapped
    place = models.ForeignKey(Place, models.PROTECT, null=True, related_name="items_here")
    inside = models.ForeignKey(Item, models.PROTECT, null=True, related_name="+")
    placed_at = models.DateTimeField(null=True)  # when it last came to a place, left or came back
    has_left = models.BooleanField(default=False)  # was ever sent out, shipped or scrapped: gates look closer
    has_holds = models.BooleanField(default=False)  # was ever held: gates look closer
    remaining = StepsField(null=True)

    class Meta:
        constraints = whole("remaining", table="item_state")

    @classmethod
    def from_records(cls) -> list[dict[str, Any]]:
        """Code, place and amount as codes, moves, links, charges and losses give them."""
        from ..rebuilding import item_states  # the sums stand above the models

        return item_states()


class Receipt(Version):
    """A delivery booked in: whose lot, how much, how long it is good."""

    item = models.ForeignKey(Item, models.PROTECT, related_name="receipts")
    supplier = models.CharField(max_length=80)
    supplier_lot = models.CharField(max_length=80, blank=True, default="", db_index=True)
    amount = StepsField()
    written = models.CharField(max_length=40)
    expires_on = models.DateField(null=True)
    at = models.DateTimeField()
    delivery_note = models.CharField(max_length=40, blank=True, default="")
    temperature_mk = StepsField(null=True)  # of the package, as it came
    words = WordsField(null=True)  # why a version differs from the one before

    class Meta:
        constraints = [*version_rules("receipt"), *whole("amount", "temperature_mk", table="receipt")]


class ArrivalFinding(Fact):
    """Something that was wrong with a delivery when it came; it waits in quarantine until that is answered."""

    class What(models.TextChoices):
        DAMAGED = "damaged", _("a package is damaged")
        OPEN = "open", _("a package is open or its seal is broken")
        WET = "wet", _("a package is wet or dirty")
        WARM = "warm", _("it came too warm: the cold chain is broken")
        COLD = "cold", _("it came too cold")
        MIXED = "mixed", _("label, delivery note and order don’t agree")
        OTHER = "other", _("something else")

    receipt = models.ForeignKey(Receipt, models.PROTECT, related_name="findings")
    what = models.CharField(max_length=10, choices=What)
    words = WordsField(null=True)


class CertificateValue(Fact):
    """One value of a supplier's certificate."""

    receipt = models.ForeignKey(Receipt, models.PROTECT, related_name="certificate")
    name = models.CharField(max_length=60)
    written = models.CharField(max_length=40)
    unit = models.CharField(max_length=12, blank=True, default="")


class LotDecision(Fact):
    """A received lot accepted, rejected or released at risk; with none standing it is in quarantine."""

    class Decision(models.TextChoices):
        ACCEPT = "accept", "accepted"
        REJECT = "reject", "rejected"
        RISK = "risk", "released at risk"

    item = models.ForeignKey(Item, models.PROTECT, related_name="decisions")
    decision = models.CharField(max_length=8, choices=Decision)
    at = models.DateTimeField()
    reason = WordsField(null=True)
    limit_amount = StepsField(null=True)
    limit_until = models.DateTimeField(null=True)

    class Meta:
        constraints = whole("limit_amount", table="lot_decision")
        indexes = [models.Index(fields=["item", "at"], name="lot_decision_of_item")]


class Loss(Version):
    """Something gone: a unit scrapped whole, an amount of a lot written off or sent back, or what was never made."""

    class Kind(models.TextChoices):
        SCRAP = "scrap", _("written off")
        BACK = "back", _("sent back")
        NEVER = "never", _("withdrawn: it was never made")

    item = models.ForeignKey(Item, models.PROTECT, related_name="losses")
    kind = models.CharField(max_length=5, choices=Kind, default=Kind.SCRAP)
    amount = StepsField(null=True)
    written = models.CharField(max_length=40, blank=True, default="")
    reason = WordsField(null=True)
    at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "losses"
        constraints = [*version_rules("loss"), *whole("amount", table="loss")]


class Evidence(Fact):
    """A verdict that a room above writes and the gates read: a run judged, a measure within."""

    class Verdict(models.TextChoices):
        WITHIN = "within", "within"
        EDGE = "near-edge", "near edge"
        OUTSIDE = "outside", "outside"
        NOT_SHOWN = "not-shown", "not shown"

    item = models.ForeignKey(Item, models.PROTECT, related_name="evidence")
    what = models.CharField(max_length=8)  # run, measure
    name = models.CharField(max_length=40)
    verdict = models.CharField(max_length=10, choices=Verdict)
    at = models.DateTimeField()
    good_until = models.DateTimeField(null=True)

    class Meta:
        verbose_name_plural = "evidence"
        indexes = [models.Index(fields=["item", "what", "name"], name="evidence_of_item")]
