"""The values of a chart as a list to take along."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

import django_tables2 as tables

from plant.lists import HouseTable

from .showing import ChartRow


class ValuesTable(HouseTable):
    """Values of a chart with their moving ranges and signals, the latest first."""

    code = tables.Column("Unit")
    value = tables.Column("Value")
    moving = tables.Column("Moving range")
    letters = tables.Column("Signal")
    gauge = tables.Column("With")
    at = tables.Column("When")

    caption = "Values of a chart"
    nothing = "Nothing has been measured yet."

    def value_value(self, record: ChartRow) -> Decimal | str:
        return _number(record.value)

    def value_moving(self, record: ChartRow) -> Decimal | str:
        return _number(record.moving)


def _number(words: str) -> Decimal | str:
    """A number that stays one in a workbook; words where there is none."""
    try:
        return Decimal(words)
    except InvalidOperation:
        return words
