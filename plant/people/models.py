"""Who works here: persons with badges and roles, what they are qualified for, and the works itself."""

from __future__ import annotations

from datetime import datetime
from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q
from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy as _

from records.ledger.asking import Asking
from records.ledger.memory import remembered_once
from records.ledger.models import PrivateWords
from records.ledger.patterns import Fact, Version, WordsField, version_rules

from .rights import RIGHTS, Role

PROGRAM = "program"
SET_UP = "set-up"


class Works(Fact):
    """The one works of this database: its name, and the zone its clocks show."""

    code = models.CharField(max_length=20)
    name = models.CharField(max_length=120)
    zone = models.CharField(max_length=64)

    class Meta:
        verbose_name_plural = "works"

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> Works | None:
        """The works, once it is opened."""
        return remembered_once("works", cls.objects.order_by("pk").first)


class PersonManager(BaseUserManager["Person"]):
    def program(self) -> Person:
        """The row under which the program itself makes entries; no login."""
        return self.get_or_create(badge=PROGRAM, defaults={"login": False})[0]

    def set_up(self) -> Person:
        """The row under which an empty works is opened; no login."""
        return self.get_or_create(badge=SET_UP, defaults={"login": False})[0]

    def get_by_natural_key(self, badge: str | None) -> Person:
        """Badges are typed in any case."""
        return self.get(badge__iexact=(badge or "").strip())


class Person(AbstractBaseUser):
    """Somebody who may sign. Records carry only the number; name and badge can be erased."""

    badge = models.CharField(max_length=40, unique=True)
    name_words = models.ForeignKey(PrivateWords, models.PROTECT, null=True, related_name="+")
    pin = models.CharField(max_length=128, blank=True, default="")
    login = models.BooleanField(default=True)
    is_active = models.BooleanField(default=True)
    language = models.CharField(max_length=5, default="en")

    objects: ClassVar[PersonManager] = PersonManager()

    USERNAME_FIELD = "badge"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    def __str__(self) -> str:
        return self.name

    @property
    def name(self) -> str:
        """Name, or badge where none was told; what was erased reads as the number that the records carry."""
        if self.name_words is None:
            return self.badge
        return f"person {self.pk}" if self.name_words.text is None else self.name_words.text

    @cached_property
    def roles(self) -> frozenset[str]:
        """Roles that the person holds: the newest word on each counts."""
        held: dict[str, bool] = dict(_ROLES.rows(person=self.pk))
        return frozenset(role for role, given in held.items() if given)

    def may(self, act: str) -> bool:
        """Whether the table role x act lets this person do an act."""
        if not self.login:
            return self.badge in (PROGRAM, SET_UP)
        return self.is_active and bool(self.roles & RIGHTS[act])

    def might(self, act: str, at: datetime) -> bool:
        """Whether they might do it then, by what stood of their badge and roles at that moment."""
        if not self.login:
            return False
        told = PersonRole.objects.filter(person=self, entry__happened_at__lte=at).order_by("entry_id", "pk")
        held = {role for role, given in dict(told.values_list("role", "given")).items() if given}
        turned = BadgeChange.objects.filter(person=self, entry__happened_at__lte=at, what__in=BadgeChange.TURNS)
        last = turned.order_by("entry_id").last()
        return bool(held & RIGHTS[act]) and (last is None or last.what == BadgeChange.What.OPENED)

    # The admin site is read-only for those who may look at everything.
    @property
    def is_staff(self) -> bool:
        return bool(self.roles & {Role.ENGINEER, Role.MANAGER, Role.AUDITOR})

    def has_perm(self, perm: str, obj: object = None) -> bool:
        return self.is_staff and perm.split(".")[-1].startswith("view_")

    def has_module_perms(self, app_label: str) -> bool:
        return self.is_staff


class PersonRole(Fact):
    """A role given to a person, or taken away."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="role_facts")
    role = models.CharField(max_length=12, choices=Role)
    given = models.BooleanField(default=True)


_ROLES = Asking(
    lambda _, person: (
        PersonRole.objects.filter(person_id=person).order_by("entry_id", "pk").values_list("role", "given")
    )
)


class BadgeChange(Fact):
    """A badge closed or opened again, or its password, PIN or language set. A secret stands nowhere in the records."""

    class What(models.TextChoices):
        CLOSED = "closed"
        OPENED = "opened"
        PASSWORD = "password"
        PIN = "pin"
        LANGUAGE = "language"

    TURNS = (What.CLOSED, What.OPENED)  # those by which a badge counts, or no more

    person = models.ForeignKey(Person, models.PROTECT, related_name="badge_changes")
    what = models.CharField(max_length=8, choices=What)


class Qualification(Version):
    """What a person may do alone, from when until when: an operation by name, or a kind of gauge."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="qualifications")
    what = models.CharField(max_length=40)
    from_on = models.DateField()
    until_on = models.DateField(null=True)

    class Meta:
        constraints = [
            *version_rules("qualification"),
            models.CheckConstraint(
                name="qualification_ends_after_it_begins",
                condition=Q(until_on__isnull=True) | Q(until_on__gte=models.F("from_on")),
                violation_error_message=_("The last day lies before the first."),
            ),
        ]


class Deputy(Version):
    """For a kind of decision: who decides, and who does when that person is away, from when until when."""

    decision = models.CharField(max_length=40)  # the act that decides, as the table of rights names it
    holder = models.ForeignKey(Person, models.PROTECT, related_name="+")
    deputy = models.ForeignKey(Person, models.PROTECT, related_name="+")
    from_on = models.DateField()
    until_on = models.DateField(null=True)

    class Meta:
        verbose_name_plural = "deputies"
        constraints = [
            *version_rules("deputy"),
            models.CheckConstraint(name="deputy_is_another_person", condition=~Q(holder=models.F("deputy"))),
            models.CheckConstraint(
                name="deputy_ends_after_it_begins",
                condition=Q(until_on__isnull=True) | Q(until_on__gte=models.F("from_on")),
            ),
        ]


class Device(Fact):
    """A tablet of the works: at which station it is used, and the key that only its browser holds."""

    code = models.CharField(max_length=40, unique=True)
    public_key = models.TextField(blank=True, default="")
    station = models.CharField(max_length=40, blank=True, default="", db_default="")  # its code: stations lie above

    def __str__(self) -> str:
        return self.code


class DeviceEnded(Fact):
    """A tablet locked out: from then on nobody signs in there, and what it still sends is marked."""

    class Reason(models.TextChoices):
        LOST = "lost", _("lost or stolen")
        BROKEN = "broken", _("broken: what it kept is gone")
        RETIRED = "retired", _("put out of use: all of it had gone up")

    device = models.OneToOneField(Device, models.PROTECT, related_name="ended")
    reason = models.CharField(max_length=40, choices=Reason)
    last_contact = models.DateTimeField(null=True)
    at = models.DateTimeField(null=True)
    words = WordsField(null=True)

    @property
    def leaves_doubt(self) -> bool:
        """Whether something may have been done there of which nobody was told."""
        return self.reason != self.Reason.RETIRED


class DeviceSettled(Fact):
    """What was done on a tablet that was locked out is known: all that it kept is on file, or was told by people."""

    ended = models.OneToOneField(DeviceEnded, models.PROTECT, related_name="settled")
    words = WordsField(null=True)

    class Meta:
        verbose_name_plural = "devices settled"


class PersonKey(Fact):
    """A person's own key on one tablet: it was made there and never leaves it; what it signs is that person's."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="keys")
    device = models.ForeignKey(Device, models.PROTECT, related_name="keys")
    public_key = models.CharField(max_length=100, unique=True)

    @property
    def counts(self) -> bool:
        """Whether it still signs in: its tablet is not locked out, and the badge was not closed since."""
        closed = BadgeChange.objects.filter(person=self.person_id, what=BadgeChange.What.CLOSED)
        return not hasattr(self.device, "ended") and not closed.filter(entry_id__gt=self.entry_id).exists()


class DeviceContact(models.Model):
    """What a tablet told when it was last heard of: no record, as it changes every few seconds."""

    device = models.OneToOneField(Device, models.PROTECT, primary_key=True, related_name="contact")
    at = models.DateTimeField()
    station = models.CharField(max_length=40, blank=True, default="")
    unsent = models.IntegerField(default=0)
    oldest_at = models.DateTimeField(null=True)
    guesses = models.IntegerField(default=0)  # wrong PINs that were tried there without a link


class PinGuess(models.Model):
    """Wrong PINs in a row for one badge on one tablet; gone with the first right one.

    The badge is as it was typed, in small letters: one that nobody has is counted as well, else the wait would tell it.
    """

    device = models.ForeignKey(Device, models.PROTECT, related_name="+")
    badge = models.CharField(max_length=40)
    failed = models.IntegerField(default=0)
    last_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["device", "badge"], name="pin_guess_of_one_badge_there")]
