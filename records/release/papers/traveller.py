"""The traveller: one sheet that goes round with a unit, its route step by step, with room to write."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Prefetch
from reportlab.platypus import Flowable, Spacer

from plant.catalogue.cautions import EVERYWHERE, caution_words
from plant.catalogue.models import Operation, OperationAsk, OperationInput, OperationReading
from plant.catalogue.queries import route_of
from plant.papers.page import Made, make
from plant.papers.pen import Pen, Stroke
from plant.papers.pieces import Beside, Lacking, Paper, Picture, shape_picture
from plant.papers.rows import Cell, Column, Row
from plant.people.letterhead import at_works
from plant.quantities import TEXT, print_amount, print_steps
from records.inspection.judging import band_words
from records.ledger.marks import Mark
from records.ledger.memory import remembering
from records.steps.models import StepRecord

from .head import head_of
from .unit import UnitTold, unit_for_paper, unit_told

CAUTION = (
    "Log each step on the floor’s screens; write here only where there is none, and have it entered afterwards. "
    "This sheet proves nothing."
)


@dataclass(frozen=True)
class StepTold:
    """One operation of the route: what it takes and asks for, and what is on file of it."""

    n: int
    name: str
    asks: tuple[str, ...]
    caution: str
    attempts: tuple[tuple[str, str], ...]  # state, and who and when
    is_done: bool


@dataclass(frozen=True)
class Traveller:
    """The facts of a traveller."""

    unit: UnitTold
    route: str
    steps: tuple[StepTold, ...]


_ASKED = {
    "inputs": OperationInput.objects.select_related("part"),
    "readings": OperationReading.objects.all(),
    "asks": OperationAsk.objects.all(),
}


def traveller_of(code: str, mark: Mark) -> Traveller:
    """Traveller of the unit with a code. Refuses ``unknown`` and ``no-unit``."""
    with remembering():
        item = unit_for_paper(code, mark)
        numbers = [operation.pk for operation in route_of(item.part, item.born_at)]
        operations = Operation.objects.filter(pk__in=numbers).order_by("n").select_related("route_revision")
        operations = operations.prefetch_related(
            *(Prefetch(name, rows.order_by("pk")) for name, rows in _ASKED.items())
        )
        attempts: dict[str, list[StepRecord]] = defaultdict(list)
        standing = StepRecord.objects.standing(mark).filter(unit=item).order_by("ended_at", "pk")
        for step in standing.select_related("operation", "entry__by__name_words"):
            attempts[step.operation.name].append(step)
        steps = tuple(_step_told(operation, attempts[operation.name]) for operation in operations)
        route = f"revision {operations[0].route_revision.revision}" if steps else ""
        return Traveller(unit_told(item, mark, "Traveller"), route, steps)


def _step_told(operation: Operation, attempts: list[StepRecord]) -> StepTold:
    return StepTold(
        n=operation.n,
        name=operation.name,
        asks=tuple(_asks(operation)),
        caution=caution_words(operation.caution),
        attempts=tuple((_STATES[a.outcome], f"{a.entry.by.name}, {at_works(a.ended_at)}") for a in attempts),
        is_done=any(a.outcome == StepRecord.Outcome.DONE for a in attempts),
    )


_STATES = {"done": "done", "failed": "outside", "interrupted": "signal"}
_WORDS = {"outside": "Failed", "signal": "Interrupted"}


def _asks(operation: Operation) -> Iterator[str]:
    """What an operation takes and asks for, in words."""
    for kind, word in ((operation.station_kind, "at"), (operation.tool_kind, "with")):
        if kind:
            yield f"{word} {kind.replace('-', ' ')}"
    for one in operation.inputs.all():
        what = one.part.number if one.part else one.get_kind_display()
        amount = f"{print_amount(one.amount, one.part.unit, one.part.unit_kind)} of " if one.amount and one.part else ""
        yield f"takes {amount}{what}"
    for reading in operation.readings.all():
        if reading.unit == TEXT:
            yield f"write down {reading.name}"
            continue
        low, high = (
            None if steps is None else print_steps(steps, reading.unit, reading.unit_kind)
            for steps in (reading.lower, reading.upper)
        )
        yield f"read {reading.name}, {band_words(low, high, reading.unit)}"
    for ask in operation.asks.all():
        yield f"{'judged run' if ask.what == 'run' else 'measured within'}: {ask.name}"
    if operation.needs_qualification:
        yield "by somebody on the list"
    if operation.makes_safe:
        yield "makes it safe: goes on when held"


def traveller_pdf(facts: Traveller) -> Made:
    """The file of a traveller; the same facts make the same bytes."""
    paper = Paper()
    story: list[Flowable] = [
        *head_of(paper, facts.unit, "Traveller"),
        Spacer(0, 6),
        paper.note(paper.words(CAUTION), paper.words(EVERYWHERE)),
        *_route(paper, facts),
        *_remarks(paper),
        *_long_words(paper, facts.unit),
        Lacking(paper),
    ]
    return make(facts.unit.heading, story, paper.letters)


_ROUTE = [Column("", 0.4), Column("Step", 1.8), Column("What it takes and asks for", 3.4), Column("Done", 3.2)]


def _route(paper: Paper, facts: Traveller) -> Iterator[Flowable]:
    yield from paper.section(f"Its route, {facts.route}" if facts.route else "Its route")
    if not facts.steps:
        yield paper.soft("Its part has no route.")
        return
    yield paper.table(_ROUTE, [_step_row(paper, step) for step in facts.steps])


def _step_row(paper: Paper, step: StepTold) -> Row:
    done: Cell = []
    for state, who in step.attempts:
        done += [paper.state(state, _WORDS.get(state, "")), paper.soft(who)]
    if not step.is_done:
        done.append(_to_write("date, time", "initials"))
    asks: Cell = [paper.soft(words[:1].upper() + words[1:]) for words in step.asks]
    if step.caution:
        asks.append(Beside(shape_picture("signal"), [paper.words(step.caution)]))
    return Row([[paper.number(str(step.n))], [paper.strong(step.name.capitalize())], asks, done])


def _to_write(*names: str, width: float = 170.0) -> Picture:
    """Room to write, with what belongs there in small below the line."""
    room = width / len(names)

    def draw(pen: Pen) -> None:
        for n, name in enumerate(names):
            pen.line(f"M{n * room} 19H{(n + 1) * room - 8}", Stroke(0.7))
            pen.words(n * room, 27, name, 6.6)

    return Picture(width, 30, draw)


def _remarks(paper: Paper) -> Iterator[Flowable]:
    yield from paper.section("Remarks by hand")
    for _ in range(3):
        yield _to_write("", width=500)


def _long_words(paper: Paper, unit: UnitTold) -> Iterator[Flowable]:
    for hold in unit.holds:
        if hold.is_long:
            yield from paper.section("What was said with the hold")
            yield paper.soft(hold.told)
            yield paper.words(f"“{hold.words}”")
