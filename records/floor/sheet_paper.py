"""An emergency sheet on paper: a station's steps as lines to tick, with time, initials and codes to scan afterwards."""

from __future__ import annotations

from dataclasses import dataclass

from reportlab.platypus import Flowable, Spacer

from plant.catalogue.cautions import EVERYWHERE, caution_words
from plant.catalogue.models import OperationReading
from plant.papers import page
from plant.papers.page import Heading, Made, make
from plant.papers.pen import Pen
from plant.papers.pieces import Lacking, Paper, Picture, symbol_picture
from plant.papers.rows import Cell, Column, Row
from plant.people.letterhead import at_works, heading_of
from plant.quantities import TEXT
from records.ledger.marks import Mark
from records.ledger.memory import remembering

from .models import EmergencySheet
from .sheets import lines_of

HOW = (
    "For when no tablet works. One line for one step that was done: tick it, write the time and your initials at once. "
    "Where no unit is named, write its whole code or stick a label over the box. Cross out what was wrong, and write "
    "nothing over it. Give this sheet back to the lead, used or empty: its number is looked for until it is back."
)
SYMBOL, TICK, LINE_HEIGHT = 34.0, 17.0, 36.0


@dataclass(frozen=True)
class LineTold:
    """One line: its number, the unit that it names, the part and step, and what is read there."""

    n: int
    unit: str
    part: str
    step: str
    readings: tuple[str, ...]


@dataclass(frozen=True)
class SheetFacts:
    """The facts of a sheet."""

    heading: Heading
    code: str
    station: str
    station_code: str
    printed: str
    lines: tuple[LineTold, ...]
    cautions: tuple[str, ...]


def facts_of(sheet: EmergencySheet) -> SheetFacts:
    """What stands on a sheet, as known when it was printed."""
    with remembering():
        lines = [here.line for here in lines_of(sheet)]
        asked: dict[int, list[str]] = {}
        wanted = {line.operation_id for line in lines}
        for row in OperationReading.objects.filter(operation__in=wanted).order_by("pk"):
            asked.setdefault(row.operation_id, []).append(row.name if row.unit == TEXT else f"{row.name} [{row.unit}]")
        told = tuple(
            LineTold(
                line.n,
                line.unit.code if line.unit else "",
                line.operation.route_revision.part.name or line.operation.route_revision.part.number,
                line.operation.name,
                tuple(asked.get(line.operation_id, ())),
            )
            for line in lines
        )
        cautions = dict.fromkeys(caution_words(line.operation.caution) for line in lines if line.operation.caution)
        return SheetFacts(
            heading=heading_of(f"Emergency sheet {sheet.code}", Mark(sheet.entry.pk), is_wide=True),
            code=sheet.code,
            station=str(sheet.station),
            station_code=sheet.station.code,
            printed=at_works(sheet.printed_at),
            lines=told,
            cautions=tuple(filter(None, cautions)),
        )


def sheet_pdf(facts: SheetFacts) -> Made:
    """The file of a sheet; the same facts make the same bytes."""
    paper = Paper()
    title: Cell = [
        paper.words(f"Emergency sheet {facts.code}, {facts.station}", page.TITLE),
        paper.words(f"Station {facts.station_code}. Printed {facts.printed}."),
        paper.words(HOW),
    ]
    side = 62.0
    head = Row([title, [symbol_picture(facts.code, side)]], has_rule=False)
    story: list[Flowable] = [
        paper.table([Column("", facts.heading.width - side - 10), Column("", side + 3)], [head]),
        Spacer(0, 6),
        paper.table(COLUMNS, [_line(paper, line) for line in facts.lines]),
        Spacer(0, 8),
    ]
    if facts.cautions:
        story += [*paper.part("Take care"), *(paper.words(words) for words in facts.cautions), paper.words(EVERYWHERE)]
    story += [Spacer(0, 8), _back(paper), Lacking(paper)]
    return make(facts.heading, story, paper.letters)


COLUMNS = [
    Column("Line", 0.5),
    Column("Unit", 2.9),
    Column("Step", 2.1),
    Column("Done", 0.55),
    Column("Day, time", 1.2),
    Column("Initials", 0.9),
    Column("Readings and codes of what went in", 3.3),
]


def _line(paper: Paper, line: LineTold) -> Row:
    named: Cell = [_box(160, 22)]
    if line.unit:
        named = [symbol_picture(line.unit, SYMBOL), paper.code(line.unit)]
    reads = [paper.soft(", ".join(line.readings))] if line.readings else []
    cells: list[Cell] = [
        [paper.strong(str(line.n))],
        named,
        [paper.strong(line.step), paper.soft(line.part)],
        [_box(TICK, TICK)],
        [_box(58, 22)],
        [_box(42, 22)],
        [*reads, _box(168, 22)],
    ]
    return Row(cells, least=LINE_HEIGHT)


def _box(width: float, height: float) -> Picture:
    """Room to write. [pt]"""
    return Picture(width, height, lambda pen: _framed(pen, width, height))


def _framed(pen: Pen, width: float, height: float) -> None:
    pen.box(0.5, 0.5, width - 1, height - 1, fill=None, line=0.8)


def _back(paper: Paper) -> Flowable:
    used, lead = paper.strong("Given back, lines used:"), paper.strong("Lead:")
    cells: list[Cell] = [[used], [_box(58, 22)], [lead], [_box(160, 22)]]
    return paper.table([Column("", 2), Column("", 1), Column("", 0.7), Column("", 3)], [Row(cells, has_rule=False)])
