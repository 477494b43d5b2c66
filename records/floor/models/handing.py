"""A shift handed over: who to whom, and every line that the page showed them."""

from __future__ import annotations

import json

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from plant.speaking import language_in_use
from records.ledger.patterns import Fact, WordsField


class HandOver(Fact):
    """Two leads have read the same page at the end of a shift and signed it."""

    handed_at = models.DateTimeField()
    going = models.ForeignKey("people.Person", models.PROTECT, related_name="+")
    coming = models.ForeignKey("people.Person", models.PROTECT, related_name="+")
    words = WordsField(null=True)
    # Of which moment the page told that both read; those signed before have none. Without a link it is the last
    # contact of the tablet, and ``unsent`` the number of its entries that were not in it.
    seen_at = models.DateTimeField(null=True)
    unsent = models.SmallIntegerField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(name="handed_over_to_another_person", condition=~Q(going=F("coming"))),
        ]


class HandOverLine(Fact):
    """One line of the page as it was read: about what, and what it said."""

    class About(models.TextChoices):
        STATION = "station", _("in each press and at each station")
        POT = "pot", _("open pots")
        HOLD = "hold", _("held")
        CALL = "call", _("calls without an answer")
        SECOND = "second", _("waits for a second signature")
        TABLET = "tablet", _("silent tablets and entries that have not gone up")
        SHEET = "sheet", _("emergency sheets out")

    hand_over = models.ForeignKey(HandOver, models.PROTECT, related_name="lines")
    n = models.SmallIntegerField()
    about = models.CharField(max_length=8, choices=About)
    code = models.CharField(max_length=40, blank=True, default="")
    says = models.CharField(max_length=400)
    # What it said in the other languages, by language, as JSON: each lead reads it in their own. Lines signed before
    # there were any have none.
    spoken = models.TextField(blank=True, default="", db_default="")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["hand_over", "n"], name="hand_over_line_once")]

    @property
    def read(self) -> str:
        """What it says in the language in use."""
        told = json.loads(self.spoken) if self.spoken else {}
        return str(told.get(language_in_use(), self.says))
