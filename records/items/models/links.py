"""What is made from what: links, and the logs of tanks and heads that some of them follow from."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import F, Q

from plant.catalogue.models import Tank
from plant.equipment.models import Gauge, Station
from plant.people.models import DeviceEnded
from records.ledger.patterns import Fact, State, StepsField, Version, WordsField, version_rules, whole

from .things import Item


class TankLock(State):
    """One row a tank, to lock while its draws are worked out."""

    tank = models.OneToOneField(Tank, models.PROTECT, primary_key=True, related_name="lock")

    @classmethod
    def from_records(cls) -> list[dict[str, Any]]:
        """A row for every tank with a log: the first line of it made the row."""
        tanks = TankEntry.objects.order_by("tank_id").values_list("tank_id", flat=True).distinct()
        return [{"tank_id": tank} for tank in tanks]


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
            *whole("amount", table="tank_entry"),
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


class WeighedOn(Fact):
    """The scale on which the amount of a link was weighed; none stands where none was told."""

    link = models.OneToOneField(Link, models.PROTECT, related_name="weighed_on")  # the first version of it
    scale = models.ForeignKey(Gauge, models.PROTECT, related_name="+")

    class Meta:
        verbose_name_plural = "weighed on"


class DoubtMoved(Fact):
    """A doubt that a lost tablet left, written by another entry than its lock-out: whoever settles it settles this.

    A swap of labels moves it to another unit, or something was drawn later from a tank that may have been charged.
    """

    link = models.OneToOneField(Link, models.PROTECT, related_name="doubt_moved")  # the first version of it
    ended = models.ForeignKey(DeviceEnded, models.PROTECT, related_name="+")

    class Meta:
        verbose_name_plural = "doubts moved"
