"""People as a list: its columns and what it can be narrowed by."""

from __future__ import annotations

from typing import Any

import django_tables2 as tables
from django import forms

from plant.lists import Drawn, HouseTable, RowFilter, begins

from .queries import PersonHere
from .rights import Role

CHANGES = ("roles changed", "qualification given", "badge closed")
BADGE = {"open": "Badge open", "closed": "Badge closed"}


class PersonFilter(RowFilter):
    """By role, by whether the badge is open, and by the beginning of badge or name."""

    role = forms.ChoiceField(label="Role", choices=[("", "Every role"), *((r.label, r.label) for r in Role)])
    badge = forms.ChoiceField(label="Badge", choices=[("", "Open or closed"), *BADGE.items()])
    code = forms.CharField(label="Badge or name")

    def fits(self, row: PersonHere, asked: dict[str, Any]) -> bool:
        return (
            (not asked["role"] or asked["role"] in row.roles)
            and asked["badge"] in ("", None, row.stands)
            and (begins(row.person.badge, asked["code"]) or begins(row.person.name, asked["code"]))
        )


class PersonTable(HouseTable):
    """Who may sign, by badge."""

    badge = tables.Column("Badge", accessor="person__badge", attrs={"td": {"class": "code"}})
    name = tables.Column("Name", accessor="person__name")
    roles = tables.Column("Roles", empty_values=())
    qualified = Drawn("On the list for", empty_values=(), orderable=False)
    stands = Drawn("Badge is")
    change = Drawn("Change", empty_values=(), orderable=False, exclude_from_export=True)

    cells = "staff/_person_cell.html"
    caption = "People"
    nothing = "Nobody may sign yet. The manager adds the first person."

    class Meta:
        row_attrs = {"id": lambda record: record.person.badge}  # the library's own form

    def render_roles(self, record: PersonHere) -> str:
        return ", ".join(record.roles) or "none"

    def value_qualified(self, record: PersonHere) -> str:
        return "; ".join(f"{row.what} until {row.until_on}" if row.until_on else row.what for row in record.qualified)
