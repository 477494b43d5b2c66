"""Everything with an identity: where it is, what it is made from, and what may not be done with it."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from plant.catalogue.models import Operation, Part, PartRevision, Tank
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
        return self.code or str(self.party)


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
        BIRTH = "birth", "first code"
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

    @classmethod
    def from_records(cls) -> list[dict[str, Any]]:
        """Code, place and amount as codes, moves, links, charges and losses give them."""
        from .rebuilding import item_states  # the sums stand above the models

        return item_states()


class CodeCounter(State):
    """The last running number given out for a prefix in a year."""

    prefix = models.CharField(max_length=2)
    year = models.SmallIntegerField()
    number = models.IntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["prefix", "year"], name="code_counter_once")]

    @classmethod
    def from_records(cls) -> list[dict[str, Any]]:
        """Numbers given out may be lost with a roll-back, so the counter itself is the record."""
        return list(cls.objects.order_by("pk").values("id", "prefix", "year", "number"))


class Receipt(Version):
    """A delivery booked in: whose lot, how much, how long it is good."""

    item = models.ForeignKey(Item, models.PROTECT, related_name="receipts")
    supplier = models.CharField(max_length=80)
    supplier_lot = models.CharField(max_length=80, blank=True, default="", db_index=True)
    amount = StepsField()
    written = models.CharField(max_length=40)
    expires_on = models.DateField(null=True)
    at = models.DateTimeField()

    class Meta:
        constraints = [*version_rules("receipt"), *whole("amount", table="receipt")]


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
        indexes = [models.Index(fields=["item", "at"], name="lot_decision_of_item")]


class Loss(Version):
    """Something scrapped: a unit whole, or an amount of a lot written off."""

    item = models.ForeignKey(Item, models.PROTECT, related_name="losses")
    amount = StepsField(null=True)
    written = models.CharField(max_length=40, blank=True, default="")
    reason = WordsField(null=True)
    at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "losses"
        constraints = version_rules("loss")


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

    code = models.CharField(max_length=40, unique=True)
    direction = models.CharField(max_length=4, choices=Direction)
    place = models.ForeignKey(Place, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    back_of = models.ForeignKey("self", models.PROTECT, null=True, related_name="returns")


class ConsignmentLine(Fact):
    """One unit of a consignment."""

    consignment = models.ForeignKey(Consignment, models.PROTECT, related_name="lines")
    item = models.ForeignKey(Item, models.PROTECT, related_name="consignment_lines")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["consignment", "item"], name="consignment_line_once")]


class CustomerReturn(Fact):
    """A frame that a customer brought or sent back, and why."""

    item = models.ForeignKey(Item, models.PROTECT, related_name="returns")
    line = models.OneToOneField(ConsignmentLine, models.PROTECT, related_name="customer_return")
    reason = WordsField(null=True)


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


class TankLock(State):
    """One row a tank, to lock while its draws are worked out."""

    tank = models.OneToOneField(Tank, models.PROTECT, primary_key=True, related_name="lock")

    @classmethod
    def from_records(cls) -> list[dict[str, Any]]:
        return [{"tank_id": pk} for pk in cls.objects.order_by("pk").values_list("pk", flat=True)]


class TankEntry(Version):
    """A line of a tank's log: cleaned, charged with a lot, or drawn into a lot."""

    class Kind(models.IntegerChoices):
        CLEAN = 0, "cleaned"
        CHARGE = 1, "charged"
        DRAW = 2, "drawn"

    tank = models.ForeignKey(Tank, models.PROTECT, related_name="log")
    kind = models.SmallIntegerField(choices=Kind)
    item = models.ForeignKey(Item, models.PROTECT, null=True, related_name="tank_entries")
    amount = StepsField(default=0)
    at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "tank entries"
        constraints = [
            *version_rules("tank_entry"),
            models.CheckConstraint(
                name="tank_entry_has_an_item_unless_cleaned",
                condition=Q(kind=0, item__isnull=True) | Q(kind__in=[1, 2], item__isnull=False),
            ),
        ]
        indexes = [models.Index(fields=["tank", "at"], name="tank_entry_in_order")]


class FeedEntry(Version):
    """A lot was mounted at a station's head at an unknown moment between two known ones."""

    station = models.ForeignKey(Station, models.PROTECT, related_name="+")
    head = models.CharField(max_length=20)
    item = models.ForeignKey(Item, models.PROTECT, related_name="feeds")
    not_before = models.DateTimeField()
    not_after = models.DateTimeField()

    class Meta:
        verbose_name_plural = "feed entries"
        constraints = [
            *version_rules("feed_entry"),
            models.CheckConstraint(name="feed_window_is_not_upside_down", condition=Q(not_before__lte=F("not_after"))),
        ]
        indexes = [models.Index(fields=["station", "head", "not_before"], name="feed_entry_in_order")]


class FeedUse(Version):
    """A unit was worked at a station's head over a span; what was mounted then went into it."""

    station = models.ForeignKey(Station, models.PROTECT, related_name="+")
    head = models.CharField(max_length=20)
    unit = models.ForeignKey(Item, models.PROTECT, related_name="feed_uses")
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField()

    class Meta:
        constraints = [
            *version_rules("feed_use"),
            models.CheckConstraint(name="feed_use_takes_time", condition=Q(began_at__lt=F("ended_at"))),
        ]
        indexes = [models.Index(fields=["station", "head", "began_at"], name="feed_use_in_order")]


class Link(Version):
    """Made from: the child holds some of the parent. The two ends never change; what is known of them may."""

    class Certainty(models.IntegerChoices):
        CONFIRMED = 0, "confirmed"
        POSSIBLE = 1, "possible"

    child = models.ForeignKey(Item, models.PROTECT, related_name="made_from")
    parent = models.ForeignKey(Item, models.PROTECT, related_name="used_in")
    at = models.DateTimeField()
    certainty = models.SmallIntegerField(choices=Certainty, default=Certainty.CONFIRMED)
    share_ppb = models.IntegerField(null=True)
    least_ppb = models.IntegerField(null=True)
    most_ppb = models.IntegerField(null=True)
    amount = StepsField(null=True)
    draw = models.ForeignKey(TankEntry, models.PROTECT, null=True, related_name="links")
    feed = models.ForeignKey(FeedEntry, models.PROTECT, null=True, related_name="links")
    reason = models.CharField(max_length=40, blank=True, default="")
    words = WordsField(null=True)

    class Meta:
        constraints = [
            *version_rules("link"),
            models.CheckConstraint(name="link_not_to_itself", condition=~Q(child=F("parent"))),
            models.CheckConstraint(
                name="link_share_in_range",
                condition=(Q(share_ppb__isnull=True) | Q(share_ppb__range=(0, 10**9)))
                & (Q(least_ppb__isnull=True) | Q(least_ppb__range=(0, 10**9)))
                & (Q(most_ppb__isnull=True) | Q(most_ppb__range=(0, 10**9))),
            ),
            models.CheckConstraint(name="link_one_source", condition=Q(draw__isnull=True) | Q(feed__isnull=True)),
            *whole("amount", table="link"),
        ]
        indexes = [
            models.Index(fields=["parent", "child"], name="link_where_used"),
            models.Index(fields=["child", "parent"], name="link_made_from"),
            models.Index(fields=["parent"], name="link_later_used", condition=Q(version__gt=1)),
            models.Index(fields=["child"], name="link_later_made", condition=Q(version__gt=1)),
            models.Index(fields=["draw"], name="link_of_draw", condition=Q(draw__isnull=False)),
        ]


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


class HoldLift(Fact):
    """The end of a hold, with its reason."""

    hold = models.OneToOneField(Hold, models.PROTECT, related_name="lift")
    words = WordsField(null=True)
    at = models.DateTimeField()


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
