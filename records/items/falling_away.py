"""Lots that a thing would hold no more by a correction: where one of them is barred, nobody says so alone unseen.

Else whoever answers for a held lot could take frames off its list by themselves. A page asks for the second person
before the act. The act takes what was told, since it may be so, and marks it; by the settings of the works the thing is
held until somebody else has looked. Its other holds stay.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta

from plant.people.seconding import signs_beside
from records.ledger.acts import Act, Said
from records.ledger.models import Entry
from records.ledger.refusals import Refused

from .clearing import REJECT, RISK, decisions_on
from .gates import ancestors, hold_by_cause, is_asked
from .models import Item, Link
from .queries import held_among

ALONE = "told-alone"
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


def ask_second(gone: Iterable[int], kind: str, said: Said) -> None:
    """Before an act of this kind: refuse ``second-person`` where something barred would fall away by one alone."""
    if not is_asked(said) or signs_beside(said, kind) is not None:
        return
    for lot in barred_among(gone):
        raise Refused(
            "second-person",
            "%(lot)s is held, rejected or released at risk, and would be in it no more. You can’t say that alone: let "
            "a second person sign beside you.",
            lot=lot.code,
        )


def mark_alone(a: Act, gone: Iterable[int], things: Sequence[Item] = ()) -> None:
    """Flag ``told-alone`` where something barred falls away and nobody signs beside; things may be held for it."""
    barred = barred_among(gone)
    if barred and signs_beside(a.said, a.entry.kind) is None:
        a.flag(ALONE, code=barred[0].code)
        hold_by_cause(a, things, [ALONE])


def taken_off(a: Act) -> set[int]:
    """Everything that draws and windings hold no more by what an act has worked out afresh."""
    return {number for link in _withdrawn(a) for number in with_all_in(link.parent)}


def children_off(a: Act) -> list[Item]:
    """Things off which an act took something by what it has worked out afresh."""
    return list({link.child_id: link.child for link in _withdrawn(a)}.values())


def _withdrawn(a: Act) -> list[Link]:
    return [row for row in a.rows if isinstance(row, Link) and row.status == Link.Status.WITHDRAWN]


def is_mis_tap(a: Act, entry: Entry) -> bool:
    """Whether an entry is the maker's own and was taken a moment ago: nothing rests on it yet."""
    return entry.by_id == a.said.by.pk and abs(a.entry.taken_at - entry.taken_at) <= MIS_TAP
