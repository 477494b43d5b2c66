"""Lots that a thing would hold no more by a correction: where one of them is barred, nobody says so alone.

Else whoever answers for a held lot could take frames off its list by themselves. What it holds keeps its holds.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from plant.people.seconding import signs_beside
from records.ledger.acts import Act
from records.ledger.models import Entry

from .clearing import REJECT, RISK, decisions_on
from .gates import ancestors
from .models import Item, Link
from .queries import held_among

# So old may one's own entry be that is taken back as a mis-tap, by what the book saw. A choice of this project.
MIS_TAP = timedelta(minutes=1)


def barred_among(items: Iterable[int]) -> list[Item]:
    """Things among those numbered that are held, rejected or released at risk, as known now."""
    wanted = set(items)
    decided = {lot for lot, decision in decisions_on(wanted).items() if decision in (REJECT, RISK)}
    rows = Item.objects.filter(pk__in=decided | held_among(wanted)).select_related("state")
    return list(rows.order_by("pk"))


def with_all_in(item: Item) -> set[int]:
    """An item and everything that it is made from, by number."""
    return {item.pk} | ancestors(item.pk)


def second_signs(a: Act, gone: Iterable[int]) -> None:
    """Refuse or flag ``second-person`` where nobody signs beside the maker and something barred would fall away."""
    barred = barred_among(gone)
    if barred and signs_beside(a) is None:
        a.refuse_or_flag(
            "second-person",
            "%(lot)s is held, rejected or released at risk, and would be in it no more. You can’t say that alone: let "
            "a second person sign beside you.",
            lot=barred[0].code,
        )


def taken_off(a: Act) -> set[int]:
    """Everything that draws hold no more by what an act has worked out afresh."""
    gone = [row for row in a.rows if isinstance(row, Link) and row.status == Link.Status.WITHDRAWN]
    return {number for link in gone for number in with_all_in(link.parent)}


def is_mis_tap(a: Act, entry: Entry) -> bool:
    """Whether an entry is the maker's own and was taken a moment ago: nothing rests on it yet."""
    return entry.by_id == a.said.by.pk and abs(a.entry.taken_at - entry.taken_at) <= MIS_TAP
