"""What a verification finds: faults that name table, row, entry and column, and the result as a whole."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

Kind = Literal[
    "row-changed",
    "row-missing",
    "row-extra",
    "body-changed",
    "leaf-missing",
    "tree-broken",
    "signature-bad",
    "trigger-missing",
    "state-differs",
    "file-missing",
    "file-changed",
]

LONGEST_SHOWN = 60


@dataclass(frozen=True)
class Fault:
    """One thing that is not as the rest of the book says; ``row`` is the key of the row."""

    kind: Kind
    table: str
    words: str
    row: int | str | None = None
    entry: int | None = None
    column: str | None = None


@dataclass(frozen=True)
class Tree:
    """The newest signed head; ``good`` when no leaf, node, root or signature was found wrong."""

    size: int
    root: str
    signed_at: datetime | None
    key: str | None
    good: bool


@dataclass(frozen=True)
class Noted:
    """A head noted elsewhere, and whether today's tree begins with its leaves; ``path`` is the proof where it does."""

    size: int
    root: str
    good: bool = False
    path: tuple[str, ...] | None = None


@dataclass(frozen=True)
class Verified:
    """Result of a verification. ``rows`` is null when rows were not compared, ``since`` when no head was given."""

    engine: str
    entries: int
    unsealed: int
    tree: Tree
    triggers_due: int
    triggers_missing: tuple[str, ...]
    rows: int | None
    since: Noted | None
    faults: tuple[Fault, ...]

    @property
    def clean(self) -> bool:
        return not self.faults


def shown(value: Any) -> str:
    """A stored value as a sentence may hold it: numbers in groups of three, bytes in hex, long ones cut."""
    match value:
        case None:
            return "nothing"
        case bool():
            text = str(value).lower()
        case int():
            text = f"{value:,}"
        case bytes() | memoryview():
            text = bytes(value[:LONGEST_SHOWN]).hex()
        case datetime():
            text = value.isoformat()
        case _:
            text = str(value)
    return text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "…"


def body_missing(entry: int) -> Fault:
    return Fault("row-missing", "ledger_entrybody", "The entry has no payload.", row=entry, entry=entry)
