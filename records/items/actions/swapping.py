"""Two units that lay in each other's consignment or carton: both lines are put right in one act."""

from __future__ import annotations

from plant.codes import fold
from records.ledger.acts import Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..locking import lock_items
from ..making import relocate, unit_for
from ..models import ConsignmentLine, ConsignmentSwap, Item
from ..queries import OUT, SHIPPED, whereabouts


def swap_consigned(one: str, other: str, *, words: str, said: Said) -> ConsignmentSwap:
    """Two units are with each other's consignment: both are where they lie from now on, in every list and trace.

    What was told before stays readable. Refuses ``unknown``, ``itself``, ``no-reason``, ``not-out`` for one that is not
    away, and ``nothing-changed`` for two that left together or for different ends.
    """
    stated = {"one": fold(one), "other": fold(other), "words": Free(words)}
    with act("consignments swapped", said, **stated) as a:
        if a.made:
            return ConsignmentSwap.objects.get(entry=a.entry)
        first, second = unit_for(one), unit_for(other)
        if first.pk == second.pk:
            raise Refused("itself", "These are two numbers of one unit. Scan the other unit.")
        if not words.strip():
            raise Refused("no-reason", "Write how it was found that they lie in each other’s carton.")
        lock_items([first, second])
        lines = _lines_away([first, second])
        _must_differ(lines[first.pk], lines[second.pk])
        for item, opposite in ((first, second), (second, first)):
            consignment = lines[opposite.pk].consignment
            a.write(ConsignmentLine(consignment=consignment, item=item, instead_of=lines[item.pk]))
        swap = a.write(ConsignmentSwap(one=first, other=second, words=keep_words(words)))
        relocate(a, [first, second])
        return swap


def _lines_away(units: list[Item]) -> dict[int, ConsignmentLine]:
    """The line by which each unit is away at present. Refuses ``not-out``."""
    where = whereabouts([unit.pk for unit in units])
    for unit in units:
        if where[unit.pk].state not in (OUT, SHIPPED):
            raise Refused("not-out", "%(code)s is not away. Only what is out or shipped is swapped.", code=unit.code)
    lines = ConsignmentLine.objects.standing().filter(item__in=units)
    rows = lines.select_related("consignment").order_by("consignment__at", "pk")
    return {row.item_id: row for row in rows}  # the latest of each


def _must_differ(one: ConsignmentLine, other: ConsignmentLine) -> None:
    if one.consignment_id == other.consignment_id:
        words = "Both left with %(code)s: there is nothing to swap."
        raise Refused("nothing-changed", words, code=one.consignment.code)
    if one.consignment.direction != other.consignment.direction:
        words = "%(one)s is to come back and %(other)s is not, or the reverse: book the one back in first."
        raise Refused("nothing-changed", words, one=one.consignment.code, other=other.consignment.code)
