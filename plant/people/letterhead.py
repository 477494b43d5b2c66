"""The head and the foot of every page of a paper: the works, what is known, and the position in the ledger."""

from __future__ import annotations

from datetime import datetime

from plant.papers.page import Heading
from plant.times import written_out
from records.ledger.marks import Mark
from records.ledger.position import Position, position_of

from .models import Works
from .queries import works_zone

CAUTION = "Records show what was done and measured. They do not prove a frame safe. A paper copy can be out of date."


def heading_of(what: str, mark: Mark, *, is_wide: bool = False) -> Heading:
    """Heading of a paper as known at a mark."""
    works, position = Works.current(), position_of(mark)
    return Heading(works.name if works else "Framethread", what, known(position), rests_on(position), CAUTION, is_wide)


def at_works(moment: datetime | None) -> str:
    """A moment by the works' clock, with its year."""
    return written_out(moment, works_zone()) if moment else ""


def known(position: Position) -> str:
    """Up to which entry a paper knows."""
    if position.taken_at is None:
        return "Nothing is on file."
    return (
        f"As known up to entry {position.upto} of the ledger, taken {at_works(position.taken_at)}. "
        f"Times by the clock of {works_zone().key}."
    )


def rests_on(position: Position) -> str:
    """The sealed tree that holds what a paper knows, or what still waits for its seal."""
    tree = f"tree of {position.size} entries, root {position.root}" if position.size else ""
    if position.is_sealed:
        return f"Sealed: {tree}." if tree else "Nothing is sealed yet."
    wait = "1 of these entries waits" if position.waiting == 1 else f"{position.waiting} of these entries wait"
    return f"Not all sealed: {wait} for the seal. " + (f"Last signed: {tree}." if tree else "No tree is signed yet.")
