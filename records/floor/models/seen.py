"""That somebody's page has shown them a call or a hold."""

from __future__ import annotations

from django.db import models

from plant.people.models import Person
from records.ledger.models import Entry
from records.ledger.patterns import Fact


class Seen(Fact):
    """A call, or a hold, stood before the eyes of somebody who is told of it: their page drew it and was in front."""

    of = models.ForeignKey(Entry, models.PROTECT, related_name="seen_by")  # the entry that called, or that held
    person = models.ForeignKey(Person, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "seen"
        constraints = [models.UniqueConstraint(fields=["of", "person"], name="seen_once_by_a_person")]
