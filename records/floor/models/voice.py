"""What somebody who was called says they did by voice: they phoned, or were told."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from records.ledger.models import Entry
from records.ledger.patterns import Fact, WordsField


class ByVoice(Fact):
    """Somebody phoned about a call or a hold, or was told of it by voice; as often as it happened."""

    class Says(models.TextChoices):
        TOLD = "told", _("I was told by voice and see to it.")
        PASSED = "passed", _("I have passed it on by voice.")
        PHONED = "phoned", _("I phoned: they leave it as it is.")
        TOO_LATE = "too-late", _("I phoned: it was worked on, or has gone on.")
        NO_ANSWER = "no-answer", _("I phoned: nobody answered.")
        OWN = "own", _("In my own words")

    of = models.ForeignKey(Entry, models.PROTECT, related_name="by_voice")  # the entry that called, or that held
    says = models.CharField(max_length=9, choices=Says)
    words = WordsField(null=True)
    at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "by voice"

    @property
    def told(self) -> str:
        """What was done, as a sentence: the ready one, and what was written beside it."""
        ready = "" if self.says == self.Says.OWN else str(self.get_says_display())
        return " ".join(filter(None, [ready, str(self.words or "")]))
