"""Counting: lots are counted blind, and a difference from the records gets its reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plant.catalogue.models import Part
from plant.codes import fold
from plant.equipment.queries import gauge_by_code, is_overdue
from plant.quantities import Quantity, print_amount
from records.ledger.acts import Act, Free, Said, act
from records.ledger.models import PrivateWords
from records.ledger.refusals import Conflict, Refused
from records.ledger.words import keep_words

from ..locking import lock_items
from ..making import change_amount, not_below_nought
from ..models import CountReason, Item, Loss, StockCount
from ..queries import held_at, item_by_code


@dataclass(frozen=True)
class Counted:
    """A lot, and how much of it was found."""

    lot: str
    quantity: Quantity


def count_stock(counts: Sequence[Counted], *, scale: str = "", said: Said) -> list[StockCount]:
    """Keep what was counted beside what the records say of that moment. No amount changes.

    ``scale`` is what it was weighed on; one past its check is flagged.

    Refuses ``nothing`` for no count, ``counted-twice``, ``unknown``, ``wrong-kind`` for what is no lot or measured
    otherwise, and ``not-a-number`` below nought.
    """
    stated = [{"lot": fold(one.lot), "steps": one.quantity.steps} for one in counts]
    weighed = {"scale": fold(scale)} if scale else {}
    with act("stock counted", said, counts=stated, **weighed) as a:
        if a.made:
            return list(StockCount.objects.filter(entry=a.entry).select_related("item__state").order_by("pk"))
        if not counts:
            raise Refused("nothing", "Write at least one amount.")
        lots = [_lot_of(one) for one in counts]
        twice = next((lot.code for n, lot in enumerate(lots) if lot in lots[:n]), None)
        if twice:
            raise Refused("counted-twice", "%(code)s is counted twice here. Add both and write it once.", code=twice)
        gauge = gauge_by_code(scale) if scale else None
        if gauge is not None and is_overdue(gauge, a.at):
            a.flag("gauge-overdue", gauge=gauge.pk)
        lock_items(lots)
        due = held_at({lot.pk: a.at for lot in lots})
        return a.write_all(
            StockCount(
                item=lot,
                counted=one.quantity.steps,
                written=one.quantity.written,
                expected=due[lot.pk],
                at=a.at,
                scale=gauge if lot.part.unit_kind == "mass" else None,
            )
            for lot, one in zip(lots, counts, strict=True)
        )


def _lot_of(one: Counted) -> Item:
    lot = item_by_code(one.lot)
    if lot.kind != Part.Tracked.LOT:
        raise Refused("wrong-kind", "%(code)s is a unit: units are counted by their codes.", code=lot.code)
    if one.quantity.unit_kind != lot.part.unit_kind:
        raise Refused("wrong-kind", "%(code)s is measured in %(unit)s.", code=lot.code, unit=lot.part.unit)
    not_below_nought(one.quantity)
    return lot


def explain_count(count: StockCount, *, why: str, words: str = "", said: Said) -> CountReason:
    """Say why a count differs from the records; what is said to be lost is written off by it, as of the count.

    Written off later by itself it would be missing twice. Refuses ``no-difference``, ``no-reason`` and ``explained``.
    """
    with act("count explained", said, count=count.pk, why=why, words=Free(words)) as a:
        if a.made:
            return CountReason.objects.get(entry=a.entry)
        if not count.difference:
            raise Refused("no-difference", "This count is what the records say: nothing is to be explained.")
        if why not in CountReason.Why.values:
            raise Refused("no-reason", "Choose why it differs.")
        kept = keep_words(words)
        reason = a.write_only(
            CountReason(count=count, why=why, words=kept),
            Conflict("explained", "Somebody has said why already. Open the counts again."),
        )
        if why == CountReason.Why.LOST:
            _write_off(a, count, kept)
        return reason


def _write_off(a: Act, count: StockCount, words: PrivateWords | None) -> None:
    """What is missing by a count, as the records now say of that moment, is written off."""
    lot = count.item
    lock_items([lot])
    missing = held_at({lot.pk: count.at})[lot.pk] - count.counted
    if missing > 0:
        written = print_amount(missing, lot.part.unit, lot.part.unit_kind)
        a.write(Loss(item=lot, amount=missing, written=written, reason=words, at=count.at))
        change_amount(a, lot, -missing)
