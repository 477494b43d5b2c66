"""What happened to an item, in order: booked in, worked on, sent out, held, renumbered, shipped, scrapped."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import Q

from plant.catalogue.models import Part
from plant.people.queries import works_zone
from records.items.models import (
    ConsignmentLine,
    ConsignmentSwap,
    Hold,
    HoldLift,
    Item,
    ItemCode,
    LabelSwap,
    Link,
    Loss,
    LotDecision,
    Move,
    Receipt,
)
from records.items.reasons import reason_words
from records.ledger.marks import Mark
from records.ledger.models import Flag, FromPaper
from records.ledger.papers import papers_of
from records.runs.models import Assessment, Run, RunDecision, RunUnit
from records.steps.models import MeasureAgain, StepReading, StepRecord, StepTool

WITHDRAWN = "entry withdrawn"
_STEP = {"done": "done", "failed": "outside", "interrupted": "signal"}
_DECIDED = {"accept": "allowed", "fail": "outside"}
_GONE = {
    "out": ("working", "sent out to", "sent out"),
    "back": ("done", "back, at", "back"),
    "ship": ("released", "shipped to", "shipped"),
}


@dataclass(frozen=True)
class Happening:
    """One thing that happened: how it stands (a state), what it was, and the particulars in words."""

    at: datetime
    state: str
    what: str
    told: tuple[str, ...] = ()
    run: str = ""  # the code of the run that this was, where it was one
    brief: str = ""  # a word for it where there is no room for more
    again: bool = False  # something was done once more: the strand loops
    received: datetime | None = None  # of an entry whose own time is unsure: by this one it is put in order

    @property
    def short(self) -> str:
        """The word of it on the life line."""
        word = (self.brief or self.what).capitalize()
        return f"{word}, unsure" if self.received else word

    @property
    def stands_at(self) -> datetime:
        """The time by which it stands among the others."""
        return self.received or self.at


def way_of_item(item: Item) -> list[Happening]:
    """Everything that happened to an item, runs and decisions on a lot too; a fixed number of queries."""
    found = [*ways_of([item.pk])[item.pk], *_runs(item), *_decided(item)]
    return sorted(found, key=lambda happening: happening.stands_at)


Told = Iterator[tuple[int, Happening]]


def ways_of(items: Iterable[int], mark: Mark | None = None) -> dict[int, list[Happening]]:
    """Everything that happened to each item, as known at a mark; as many queries as for one."""
    wanted = list(items)
    found: dict[int, list[Happening]] = {item: [] for item in wanted}
    for part in (_steps, _put_off, _booked, _moved, _reworked, _holds, _labels):
        for item, happening in part(wanted, mark):
            found[item].append(happening)
    unsure = _unsure((one.at for happenings in found.values() for one in happenings), mark)
    told = {item: [_unsure_told(one, unsure.get(one.at)) for one in rows] for item, rows in found.items()}
    # What happened in the same minute stands in the same order each time it is asked.
    return {
        item: sorted(rows, key=lambda one: (one.stands_at, one.at, one.what, one.told)) for item, rows in told.items()
    }


def _unsure(moments: Iterable[datetime], mark: Mark | None) -> dict[datetime, datetime]:
    """When entries were received whose own times are unsure, by those times: to the microsecond no two are alike."""
    span = sorted(moments)
    if not span:
        return {}
    flags = Flag.objects.known(mark).filter(code="time-unsure", entry__happened_at__range=(span[0], span[-1]))
    return dict(flags.values_list("entry__happened_at", "entry__taken_at"))


def _unsure_told(one: Happening, received: datetime | None) -> Happening:
    """A happening with the mark that its time is unsure, where it is."""
    if received is None:
        return one
    at = f"{received.astimezone(works_zone()):%Y-%m-%d %H:%M}"
    words = f"time unsure, the tablet’s clock was off: it stands where it was received, {at}"
    return replace(one, received=received, told=(*one.told, words))


def _steps(items: list[int], mark: Mark | None) -> Told:
    steps = StepRecord.objects.newest(mark).filter(unit__in=items)
    found = list(steps.select_related("operation", "place__station", "place__party", "entry__by__name_words"))
    for row in found:
        if row.status == StepRecord.Status.WITHDRAWN and row.entry.kind == WITHDRAWN:
            what, by = f"{row.operation.name} withdrawn", row.entry.by.name
            yield row.unit_id, Happening(row.entry.happened_at, "corrected", what, (by,))
    rows = [row for row in found if row.status != StepRecord.Status.WITHDRAWN]
    numbers = [row.pk for row in rows]
    told: dict[int, list[str]] = defaultdict(list)
    for use in StepTool.objects.filter(step__in=numbers).select_related("tool").order_by("pk"):
        told[use.step_id].append(str(use.tool))
    for reading in StepReading.objects.filter(step__in=numbers).order_by("pk"):
        got = f"{reading.written} {reading.unit}".strip() or f"not read: {reason_words(reading.reason)}"
        told[reading.step_id].append(f"{reading.name} {got}")
    papers = papers_of(row.entry_id for row in rows)
    for row in rows:
        what = row.operation.name if row.outcome == "done" else f"{row.operation.name}, {row.get_outcome_display()}"
        place = [str(row.place)] if row.place else []
        told_of = (*place, *told[row.pk], *_hands(row, papers.get(row.entry_id)))
        yield row.unit_id, Happening(row.ended_at, _STEP[row.outcome], what, told_of, again=row.attempt > 1)


def _hands(row: StepRecord, paper: FromPaper | None) -> tuple[str, ...]:
    """Who did a step; where it was typed in from paper, who wrote that, on which sheet, and who typed it."""
    if paper is None:
        return (row.entry.by.name,)
    written = f"written by {paper.maker.name} on {paper.sheet}, line {paper.line}"
    return (written, f"typed in by {row.entry.by.name}")


def _put_off(items: list[int], mark: Mark | None) -> Told:
    """Readings outside their band that were kept until they are measured again."""
    rows = MeasureAgain.objects.known(mark).filter(unit__in=items)
    for row in rows.select_related("entry__by__name_words"):
        read = f"{row.name} {row.written} {row.unit_text}".strip()
        yield row.unit_id, Happening(row.entry.happened_at, "outside", "waits", (read, row.entry.by.name))


def _runs(item: Item) -> Iterator[Happening]:
    """Runs it was in, as they were judged last, and what a person decided on them."""
    lines = RunUnit.objects.filter(unit=item).values_list("run_id", flat=True)
    newest: dict[int, Assessment] = {a.run_id: a for a in Assessment.objects.filter(run__in=lines).order_by("pk")}
    runs = Run.objects.newest().filter(Q(pk__in=lines) | Q(first__in=lines)).select_related("place__station")
    for run in runs:
        judged = newest.get(run.line)
        place = [str(run.place)] if run.place else []
        state = judged.verdict if judged else "working"
        told = (*place, *(() if judged else ("not judged yet",)))
        yield Happening(run.ended_at or run.began_at, state, run.get_kind_display(), told, run.code)
    for decision in RunDecision.objects.filter(run__in=lines).select_related("run", "words", "entry__by__name_words"):
        what, told = f"run {decision.get_choice_display()}", _words(decision.words, decision.entry.by.name)
        yield Happening(decision.entry.happened_at, _DECIDED[decision.choice], what, told, decision.run.code)


def _decided(item: Item) -> Iterator[Happening]:
    for lot in LotDecision.objects.filter(item=item).select_related("reason", "entry__by__name_words"):
        yield Happening(lot.at, lot.decision, lot.get_decision_display(), _words(lot.reason, lot.entry.by.name))


def _booked(items: list[int], mark: Mark | None) -> Told:
    receipts = Receipt.objects.standing(mark).filter(item__in=items)
    for receipt in receipts.select_related("entry__by__name_words", "first__entry__by__name_words"):
        by = (receipt.first or receipt).entry.by.name
        told = (receipt.written, receipt.supplier, receipt.supplier_lot, by)
        yield receipt.item_id, Happening(receipt.at, "done", "booked in", tuple(word for word in told if word))
    losses = Loss.objects.standing(mark).filter(item__in=items).select_related("reason", "entry__by__name_words")
    for loss in losses:
        never = loss.kind == Loss.Kind.NEVER
        what = "scrapped" if loss.amount is None else f"{loss.written} {loss.get_kind_display()}".strip()
        state, what = ("corrected", str(loss.get_kind_display())) if never else ("scrapped", what)
        yield loss.item_id, Happening(loss.at, state, what, _words(loss.reason, loss.entry.by.name))


def _moved(items: list[int], mark: Mark | None) -> Told:
    """Moves that were told by themselves: those of a step stand with the step."""
    kinds = ("item moved", WITHDRAWN)
    moves = Move.objects.known(mark).filter(item__in=items, entry__kind__in=kinds)
    for move in moves.select_related("place__station", "place__party", "entry__by__name_words"):
        is_back = move.entry.kind == WITHDRAWN
        state, word = ("corrected", "move withdrawn, back at") if is_back else ("done", "put to")
        told = ("mis-tap", move.entry.by.name) if is_back else (move.entry.by.name,)
        brief = f"back at {move.place}" if is_back else f"to {move.place}"
        yield move.item_id, Happening(move.at, state, f"{word} {move.place}", told, brief=brief)
    yield from _consigned(items, mark)


def _consigned(items: list[int], mark: Mark | None) -> Told:
    """Consignments that units went with, and lines of them that were put right: the unit lay in another one."""
    lines = ConsignmentLine.objects.known(mark).filter(item__in=items).order_by("pk")
    related = ("consignment__place__station", "consignment__place__party", "entry__by__name_words")
    told_of = {line.pk: line for line in lines.select_related(*related)}
    put_right = {line.instead_of_id: line for line in told_of.values() if line.instead_of_id}
    for line in told_of.values():
        if line.pk not in put_right:
            state, word, brief = _GONE[line.consignment.direction]
            what, told = f"{word} {line.consignment.place}", (f"with {line.consignment.code}",)
            yield line.item_id, Happening(line.consignment.at, state, what, told, brief=brief)
    entries = [line.entry_id for line in put_right.values()]
    swaps = ConsignmentSwap.objects.filter(entry__in=entries).select_related("words") if entries else ()
    words = {swap.entry_id: swap.words for swap in swaps}
    for wrong, line in put_right.items():
        what = f"was in {line.consignment.code}, not in {told_of[wrong].consignment.code}"
        by = _words(words.get(line.entry_id), line.entry.by.name)
        yield line.item_id, Happening(line.entry.happened_at, "corrected", what, by, brief="put right")


def _reworked(items: list[int], mark: Mark | None) -> Told:
    """What was taken out of a unit and what was put in afterwards, told at both."""
    links = Link.objects.known(mark).filter(Q(child__in=items) | Q(parent__in=items))
    links = links.filter(Q(status=Link.Status.ENDED) | Q(entry__kind="unit put in"))
    for link in links.select_related("child__state", "parent__state", "words", "entry__by__name_words").order_by("pk"):
        is_out = link.status == Link.Status.ENDED
        state, word, ways = ("corrected", "taken out", "out of") if is_out else ("done", "put in", "into")
        told = _words(link.words, link.entry.by.name)
        if link.child_id in items:
            what = f"{word} {link.parent.code}"
            yield (
                link.child_id,
                Happening(
                    link.at, state, what, told, brief=word, again=not is_out and link.parent.kind == Part.Tracked.UNIT
                ),
            )
        if link.parent_id in items:
            what = f"{'taken' if is_out else 'put'} {ways} {link.child.code}"
            yield link.parent_id, Happening(link.at, state, what, told, brief=f"{'taken' if is_out else 'put'} {ways}")


def _holds(items: list[int], mark: Mark | None) -> Told:
    holds = Hold.objects.known(mark).filter(item__in=items)
    for hold in holds.select_related("words", "entry__by__name_words"):
        what = f"held: {reason_words(hold.reason)}"
        told = _words(hold.words, hold.entry.by.name)
        yield hold.item_id, Happening(hold.at, "held", what, told, brief="held")
    lifts = HoldLift.objects.known(mark).filter(hold__item__in=items)
    for lift in lifts.select_related("hold", "words", "entry__by__name_words"):
        state = "corrected" if lift.is_withdrawn else "done"
        told = _words(lift.words, lift.entry.by.name)
        yield lift.hold.item_id, Happening(lift.at, state, f"hold {lift.ending}", told)


def _labels(items: list[int], mark: Mark | None) -> Told:
    later = ItemCode.objects.known(mark).filter(item__in=items, why=ItemCode.Why.RENUMBERED)
    for code in later.select_related("entry__by__name_words"):
        what = f"renumbered {code.code}"
        by = (code.entry.by.name,)
        yield code.item_id, Happening(code.entry.happened_at, "corrected", what, by, brief="renumbered")
    swaps = LabelSwap.objects.known(mark).filter(Q(one__in=items) | Q(other__in=items))
    for swap in swaps.select_related("one__state", "other__state", "words", "entry__by__name_words"):
        told = _words(swap.words, swap.entry.by.name)
        for item, other in ((swap.one_id, swap.other), (swap.other_id, swap.one)):
            if item in items:
                what = f"label was swapped with {other.code}"
                yield item, Happening(swap.entry.happened_at, "corrected", what, told, brief="label swapped")


def _words(words: object, by: str) -> tuple[str, ...]:
    return (str(words), by) if words else (by,)
