"""Codes that the house makes, and the last one of each series."""

from __future__ import annotations

from typing import Any

from django.db import models

from records.ledger.patterns import State


class HouseCodeField(models.CharField):
    """A code that the house makes for every row of a table; the counters are rebuilt from such columns."""


class CodeCounter(State):
    """The last running number given out in a series: a prefix in a year, such as TW-26."""

    series = models.CharField(max_length=5, primary_key=True)
    number = models.IntegerField(default=0)

    @classmethod
    def from_records(cls) -> list[dict[str, Any]]:
        """The highest number in each series among the codes that the house made."""
        from ..rebuilding import code_counters  # the sums stand above the models

        return code_counters()
