"""What came into a lot and where it is by the records, as one bar."""

from __future__ import annotations

from dataclasses import dataclass

from plant.catalogue.models import Part
from plant.quantities import print_amount
from records.items.models import Item
from records.items.queries import Balance, balances

LEFT, WIDTH, NAMED = 10, 600, 96


@dataclass(frozen=True)
class Piece:
    """A piece of the bar; its word is empty where there is no room for it. [px]"""

    kind: str
    left: float
    width: float
    word: str
    name: str


@dataclass(frozen=True)
class BalanceBar:
    """The bar, the sentence that it shows, and the sum in words."""

    finding: str
    words: str
    pieces: tuple[Piece, ...]


def balance_of(item: Item) -> BalanceBar | None:
    """The balance of a lot; none for a unit, or where no amount came in on the books."""
    if item.kind != Part.Tracked.LOT:
        return None
    found = balances([item.pk])[item.pk]
    return _bar(found, item.part) if found.received > 0 else None


def _bar(found: Balance, part: Part) -> BalanceBar:
    def text(steps: int) -> str:
        return print_amount(steps, part.unit, part.unit_kind)

    told = f"{text(found.received)} came in, {text(found.drawn)} drawn"
    told += f", {text(found.waste)} written off." if found.waste else "."
    if found.left < 0:
        finding = f"{text(-found.left)} more was drawn than came in: an amount or a scan is wrong"
    elif found.left == 0:
        finding = "By the records all of it is used up"
    else:
        finding = f"By the records {text(found.left)} is left"
    whole = max(found.received, found.drawn + found.waste)
    pieces, at = [], float(LEFT)
    for kind, steps, name in (
        ("left", max(found.left, 0), "left"),
        ("drawn", found.drawn, "drawn"),
        ("waste", found.waste, "written off"),
    ):
        width = round(steps / whole * WIDTH, 1)
        if width:
            pieces.append(Piece(kind, round(at, 1), width, text(steps) if width >= NAMED else "", name))
        at += width
    return BalanceBar(finding, told, tuple(pieces))
