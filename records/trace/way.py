"""What happened to an item, in order: booked in, worked on, sent out, held, renumbered, shipped, scrapped."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from records.items.models import ConsignmentLine, Hold, HoldLift, Item, ItemCode, LabelSwap, Loss, Move, Receipt
from records.items.reasons import reason_words
from records.steps.models import StepReading, StepRecord, StepTool

_STEP = {"done": "done", "failed": "outside", "interrupted": "signal"}
_GONE = {"out": ("working", "sent out to"), "back": ("done", "back, at"), "ship": ("released", "shipped to")}


@dataclass(frozen=True)
class Happening:
    """One thing that happened: how it stands (a state), what it was, and the particulars in words."""

    at: datetime
    state: str
    what: str
    told: tuple[str, ...] = ()


def way_of_item(item: Item) -> list[Happening]:
    """Everything that happened to an item, the first first; a fixed number of queries."""
    found = [*_steps(item), *_booked(item), *_moved(item), *_holds(item), *_labels(item)]
    return sorted(found, key=lambda happening: happening.at)


def _steps(item: Item) -> Iterator[Happening]:
    steps = StepRecord.objects.standing().filter(unit=item)
    rows = list(steps.select_related("operation", "place__station", "place__party", "entry__by__name_words"))
    numbers = [row.pk for row in rows]
    told: dict[int, list[str]] = defaultdict(list)
    for use in StepTool.objects.filter(step__in=numbers).select_related("tool"):
        told[use.step_id].append(str(use.tool))
    for reading in StepReading.objects.filter(step__in=numbers):
        told[reading.step_id].append(f"{reading.name} {reading.written} {reading.unit}")
    for row in rows:
        what = row.operation.name if row.outcome == "done" else f"{row.operation.name}, {row.get_outcome_display()}"
        place = [str(row.place)] if row.place else []
        yield Happening(row.ended_at, _STEP[row.outcome], what, (*place, *told[row.pk], row.entry.by.name))


def _booked(item: Item) -> Iterator[Happening]:
    receipts = Receipt.objects.standing().filter(item=item).select_related("entry__by__name_words")
    for receipt in receipts:
        told = (receipt.written, receipt.supplier, receipt.supplier_lot, receipt.entry.by.name)
        yield Happening(receipt.at, "done", "booked in", tuple(word for word in told if word))
    for loss in Loss.objects.standing().filter(item=item).select_related("reason", "entry__by__name_words"):
        what = "scrapped" if loss.amount is None else f"{loss.written} written off"
        yield Happening(loss.at, "scrapped", what, _words(loss.reason, loss.entry.by.name))


def _moved(item: Item) -> Iterator[Happening]:
    """Moves that were told by themselves: those of a step stand with the step."""
    moves = Move.objects.filter(item=item, entry__kind="item moved")
    for move in moves.select_related("place__station", "place__party", "entry__by__name_words"):
        yield Happening(move.at, "done", f"put to {move.place}", (move.entry.by.name,))
    lines = ConsignmentLine.objects.filter(item=item)
    for line in lines.select_related("consignment__place__station", "consignment__place__party"):
        state, word = _GONE[line.consignment.direction]
        yield Happening(
            line.consignment.at, state, f"{word} {line.consignment.place}", (f"with {line.consignment.code}",)
        )


def _holds(item: Item) -> Iterator[Happening]:
    for hold in Hold.objects.filter(item=item).select_related("words", "entry__by__name_words"):
        yield Happening(hold.at, "held", f"held: {reason_words(hold.reason)}", _words(hold.words, hold.entry.by.name))
    for lift in HoldLift.objects.filter(hold__item=item).select_related("words", "entry__by__name_words"):
        yield Happening(lift.at, "done", "hold lifted", _words(lift.words, lift.entry.by.name))


def _labels(item: Item) -> Iterator[Happening]:
    later = ItemCode.objects.filter(item=item, why=ItemCode.Why.RENUMBERED)
    for code in later.select_related("entry__by__name_words"):
        yield Happening(code.entry.happened_at, "corrected", f"renumbered {code.code}", (code.entry.by.name,))
    swaps = LabelSwap.objects.filter(Q(one=item) | Q(other=item))
    for swap in swaps.select_related("one__state", "other__state", "words", "entry__by__name_words"):
        other = swap.other if swap.one_id == item.pk else swap.one
        told = _words(swap.words, swap.entry.by.name)
        yield Happening(swap.entry.happened_at, "corrected", f"label was swapped with {other.code}", told)


def _words(words: object, by: str) -> tuple[str, ...]:
    return (str(words), by) if words else (by,)
