"""Calls for the lead and what was answered."""

from __future__ import annotations

from datetime import datetime
from typing import Self

from django.db import models
from django.utils.translation import gettext_lazy as _

from plant.equipment.models import Station
from records.items.models import Item
from records.ledger.patterns import Fact, FactQuerySet, WordsField


class CallQuerySet(FactQuerySet):
    """Questions about calls."""

    def unanswered(self) -> Self:
        """Calls to which nobody has said anything yet."""
        return self.filter(answer=None)

    def ringing(self, since: datetime) -> Self:
        """Calls that somebody can still come to: heard in time, not answered, not from an earlier shift."""
        return self.unanswered().filter(was_heard=True, called_at__gte=since)

    def with_answers(self) -> Self:
        """Calls with all that their lines show."""
        return self.select_related(
            "station", "unit__state", "entry__by__name_words", "answer__words", "answer__entry__by__name_words"
        )


class Call(Fact):
    """Somebody on the floor called the lead. One that came in late was heard by nobody, and says so."""

    station = models.ForeignKey(Station, models.PROTECT, null=True, related_name="calls")
    unit = models.ForeignKey(Item, models.PROTECT, null=True, related_name="calls")
    called_at = models.DateTimeField(db_index=True)
    was_heard = models.BooleanField()

    objects = CallQuerySet.as_manager()  # type: ignore[misc]  # Django's managers are class variables in fact


class CallAnswer(Fact):
    """What the lead, or the deputy, answered."""

    class Says(models.TextChoices):
        COMING = "coming", _("I am on my way.")
        WAIT = "wait", _("Leave it as it is until I come.")
        COOL = "cool", _("Let it cool.")
        GO_ON = "go-on", _("Go on.")
        HOLD = "hold", _("Hold it.")
        OWN = "own", _("In my own words")

    call = models.OneToOneField(Call, models.PROTECT, related_name="answer")
    says = models.CharField(max_length=8, choices=Says)
    words = WordsField(null=True)

    @property
    def told(self) -> str:
        """The answer as a sentence: the ready one, and what was written beside it."""
        ready = "" if self.says == self.Says.OWN else str(self.get_says_display())
        return " ".join(filter(None, [ready, str(self.words or "")]))
