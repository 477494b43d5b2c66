"""What may carry the identity of a unit, and what each of them outlives."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_noop as _


class Carrier(models.TextChoices):
    """Where the code of a unit can be read. The tool that holds a unit stands for it until it comes out."""

    TOOL = "tool", _("the tool that holds it")
    TAG = "tag", _("tag")
    TRAVELLER = "traveller", _("traveller")
    LABEL = "label", _("label")
    MARK = "mark", _("permanent mark")


# Paper and glue go off in the wash, under paint and in its oven. Common practice, no source.
OUTLIVES_PAINT = (Carrier.TAG, Carrier.MARK)
# What the house prints a numbered copy of: the copy that was scanned back last is the one that counts.
PRINTED = (Carrier.TAG, Carrier.LABEL)
