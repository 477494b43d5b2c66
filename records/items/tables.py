"""The shelf as a list: its columns and what it can be narrowed by."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django import forms
from django.http import QueryDict

from plant.lists import Drawn, HouseTable, RowFilter, begins, is_within
from plant.quantities import UNITS, print_amount

from .counting import CountRow
from .lots import ConsignmentRow
from .models import Consignment
from .shelf import StockRow

STATES = {"accept": "accepted", "risk": "released at risk", "reject": "rejected", "quarantine": "quarantine"}
WHICH = {
    "good": "In date",
    "past": "Past their end",
    "held": "Held",
    "quarantine": "Wait to be accepted",
    "risk": "Released at risk",
    "reject": "Rejected",
}


class StockFilter(RowFilter):
    """By material, by how a lot stands and by the beginning of its code."""

    part = forms.ChoiceField(label="Material")
    which = forms.ChoiceField(label="Which", choices=[("", "Every one"), *WHICH.items()])
    code = forms.CharField(label="Code begins with")

    def __init__(self, asked: QueryDict, rows: list[StockRow]) -> None:
        super().__init__(asked)
        numbers = sorted({row.part.number for row in rows})
        self.fields["part"].choices = [("", "Every material"), *((n, n) for n in numbers)]  # type: ignore[attr-defined]

    def fits(self, row: StockRow, asked: dict[str, Any]) -> bool:
        return (
            asked["part"] in ("", None, row.part.number)
            and (not asked["which"] or asked["which"] in _kinds_of(row))
            and begins(row.code, asked["code"])
        )


def _kinds_of(row: StockRow) -> set[str]:
    """Which of the kinds that can be asked for a lot belongs to."""
    kinds = {"past" if row.is_past else "good", row.state}
    return kinds | {"held"} if row.held else kinds


class StockTable(HouseTable):
    """Lots with something left, those that end first at the head of their material."""

    code = Drawn("Code")
    part = Drawn("Part", accessor="part__number")
    left = tables.Column("Left", attrs={"th": {"class": "n"}, "td": {"class": "n"}})
    unit = tables.Column("Unit", accessor="part__unit", visible=False)  # in files, beside the bare number
    last_day = Drawn("Last good day")
    state = Drawn("State")
    held = tables.BooleanColumn(verbose_name="Held", visible=False)
    is_past = tables.BooleanColumn(verbose_name="Past its end", visible=False)
    place = tables.Column("Place")

    cells = "items/_stock_cell.html"
    caption = "Lots with something left"
    nothing = "Nothing is left on the shelf. A delivery is booked in by Stores, and stands here from then on."

    def render_left(self, record: StockRow) -> str:
        return print_amount(record.left, record.part.unit, record.part.unit_kind)

    def value_left(self, record: StockRow) -> Decimal:
        return Decimal(record.left) / UNITS[record.part.unit_kind][record.part.unit]

    def value_state(self, record: StockRow) -> str:
        return STATES.get(record.state, record.state)

    def value_held(self, record: StockRow) -> bool:
        return record.held

    def value_is_past(self, record: StockRow) -> bool:
        return record.is_past


class ConsignmentFilter(RowFilter):
    """By what it is, by where, by a code of its beginning, and by day."""

    what = forms.ChoiceField(label="What", choices=[("", "Everything"), *Consignment.Direction.choices])
    place = forms.CharField(label="Where")
    code = forms.CharField(label="Code begins with")
    since = forms.DateField(label="From", widget=forms.DateInput({"type": "date"}))
    until = forms.DateField(label="To", widget=forms.DateInput({"type": "date"}))

    def fits(self, row: ConsignmentRow, asked: dict[str, Any]) -> bool:
        return (
            asked["what"] in ("", None, row.what)
            and (asked["place"] or "").casefold() in row.place.casefold()
            and begins(row.code, asked["code"])
            and is_within(row.at, asked["since"], asked["until"])
        )


class ConsignmentTable(HouseTable):
    """Consignments, the latest first."""

    code = Drawn("Code")
    what = tables.Column("What")
    place = tables.Column("Where")
    units = tables.Column("Units", attrs={"th": {"class": "n"}, "td": {"class": "n"}})
    at = Drawn("When")

    cells = "items/_consignment_cell.html"
    caption = "Consignments"
    nothing = "Nothing has left yet. Units go out by scan at a station, a shipment begins at its released unit."

    def render_what(self, record: ConsignmentRow) -> str:
        return str(Consignment.Direction(record.what).label).capitalize()


class CountFilter(RowFilter):
    """By the beginning of a lot's code, by who counted, and those that still want a reason."""

    which = forms.ChoiceField(
        label="Which", choices=[("", "Every count"), ("waits", "Want a reason"), ("off", "Differ")]
    )
    code = forms.CharField(label="Code begins with")

    def fits(self, row: CountRow, asked: dict[str, Any]) -> bool:
        kinds = {"waits": row.waits, "off": bool(row.difference)}
        return kinds.get(asked["which"], True) and begins(row.code, asked["code"])


class CountTable(HouseTable):
    """Counts, those that want a reason first."""

    code = Drawn("Lot")
    part = tables.Column("Part", accessor="part__number")
    counted = tables.Column("Counted", attrs={"th": {"class": "n"}, "td": {"class": "n"}})
    expected = tables.Column("The records said", attrs={"th": {"class": "n"}, "td": {"class": "n"}})
    difference = tables.Column("Difference", attrs={"th": {"class": "n"}, "td": {"class": "n"}})
    unit = tables.Column("Unit", accessor="part__unit", visible=False)
    scale = tables.Column("Weighed on")
    by = tables.Column("Counted by")
    at = Drawn("When")
    why = Drawn("Why", empty_values=())
    words = tables.Column("In words", visible=False)

    roomy = True
    cells = "items/_count_cell.html"
    caption = "Counts"
    nothing = "Nothing has been counted yet. A count is taken at a place, lot by lot."

    def render_counted(self, record: CountRow) -> str:
        return print_amount(record.counted, record.part.unit, record.part.unit_kind)

    def value_counted(self, record: CountRow) -> Decimal:
        return _in_unit(record.counted, record)

    def render_expected(self, record: CountRow) -> str:
        return print_amount(record.expected, record.part.unit, record.part.unit_kind)

    def value_expected(self, record: CountRow) -> Decimal:
        return _in_unit(record.expected, record)

    def render_difference(self, record: CountRow) -> str:
        return record.difference_words

    def value_difference(self, record: CountRow) -> Decimal:
        return _in_unit(record.difference, record)


def _in_unit(steps: int, row: CountRow) -> Decimal:
    return Decimal(steps) / UNITS[row.part.unit_kind][row.part.unit]
