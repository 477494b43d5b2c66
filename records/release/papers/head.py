"""The head of the first page: the code with its symbol and winding figure, holds first, whether it was let go."""

from __future__ import annotations

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Spacer

from plant.papers import page
from plant.papers.pieces import Barred, Beside, Paper, code_style, shape_picture, symbol_picture, winding_picture
from plant.papers.rows import Cell, Column, Row

from .unit import UnitTold

SYMBOL = 21 * mm


def head_of(paper: Paper, unit: UnitTold, name: str) -> list[Flowable]:
    """Head of a paper of a unit."""
    title: Cell = [
        paper.soft(f"{name} of {_with_article(unit.kind)}"),
        paper.words(unit.code, code_style(unit.code)),
        paper.words(f"{unit.part}, {unit.revision}"),
    ]
    title += [paper.soft(f"Once {old}.") for old in unit.once]
    figure: Cell = [Spacer(0, 8), winding_picture(unit.code, 0.55)]
    row = Row([title, figure, [symbol_picture(unit.code, SYMBOL)]], has_rule=False)
    room = unit.heading.width
    head = paper.table([Column("", room - 122 - SYMBOL - 20), Column("", 124), Column("", SYMBOL + 2)], [row])
    return [head, Spacer(0, 2), *_holds(paper, unit), _standing(paper, unit), Spacer(0, 4), _facts(paper, unit)]


def _with_article(kind: str) -> str:
    return f"one {kind}"


def _holds(paper: Paper, unit: UnitTold) -> list[Flowable]:
    if not unit.holds:
        return []
    said: Cell = [Beside(shape_picture("held", size=15), [paper.words("Held", page.TITLE)], 20)]
    for hold in unit.holds:
        said += [Spacer(0, 2), paper.strong(hold.stops), paper.words(hold.told)]
        if hold.words:
            count = f"What was said with it stands further on, whole: {len(hold.words.split())} words."
            said.append(paper.words(count if hold.is_long else f"“{hold.words}”"))
    return [Barred(said, room=38, is_hold=True), Spacer(0, 6)]


def _standing(paper: Paper, unit: UnitTold) -> Flowable:
    shape = "released" if unit.is_let_go else "waiting"
    return Beside(shape_picture(shape, size=13), [paper.words(unit.released, page.SUBSECTION)], 18)


def _facts(paper: Paper, unit: UnitTold) -> Flowable:
    to_do = ", ".join(unit.to_do)
    where = unit.where[:1].upper() + unit.where[1:]
    return paper.facts(
        [("Made", unit.born), ("Where", f"{where}."), ("Next step", unit.next_step), ("Not on file as done", to_do)]
    )
