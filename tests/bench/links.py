"""The links of a drawn plant as columns: what was scanned, what was put right later, what was taken out, tank draws."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from records.items.models import Link
from records.ledger.patterns import Version
from tests.bench.plant import DAY, DRAW, Numbers, Plant, Uses

NOTHING = -1
TAKEN_OUT_AFTER = 2 * DAY
COLUMNS = {
    "child": NOTHING,
    "parent": NOTHING,
    "at": 0,
    "entry": 0,
    "certainty": Link.Certainty.CONFIRMED.value,
    "share": NOTHING,
    "least": NOTHING,
    "most": NOTHING,
    "amount": NOTHING,
    "draw": NOTHING,
    "first": NOTHING,
    "version": 1,
    "status": Version.Status.STANDS.value,
    "reason": "",
    "has_words": False,
}
Columns = dict[str, np.ndarray]


@dataclass(frozen=True)
class Numbered:
    """Numbers that rows got: entries of acts by name, items by kind, lines of the tank."""

    entries: Mapping[str, Numbers]
    items: Mapping[str, Numbers]
    lines: Numbers


def slip_of(n: int) -> str:
    """Name of the acts that put wrong scans of the n-th kind of use right."""
    return f"slips of {n}"


class Links:
    """Links in the order of their entries; ``first`` is the place of a line's first row among them."""

    def __init__(self, plant: Plant, numbered: Numbered) -> None:
        self._plant, self._numbered = plant, numbered
        self._parts: list[Columns] = []
        self._count = 0
        starts = [self._scanned(uses) for uses in plant.uses]
        self._drawn()
        for n, (uses, start) in enumerate(zip(plant.uses, starts, strict=True)):
            self._put_right(n, uses, start)
        self._taken_out(starts)
        self.columns = {name: np.concatenate([part[name] for part in self._parts]) for name in COLUMNS}
        self._in_order()

    @property
    def counts(self) -> np.ndarray:
        """Rows whose amount counts: the newest of a line that was not withdrawn, and no draw."""
        links = self.columns
        is_newest = np.ones(self._count, bool)
        is_newest[links["first"][links["first"] >= 0]] = False
        return is_newest & (links["status"] != Version.Status.WITHDRAWN) & (links["draw"] < 0) & (links["amount"] >= 0)

    def _add(self, count: int, **columns: object) -> int:
        """More rows; the place of the first of them."""
        self._parts.append({name: np.full(count, default) for name, default in COLUMNS.items()})
        for name, values in columns.items():
            self._parts[-1][name] = np.broadcast_to(np.asarray(values), count)
        self._count += count
        return self._count - count

    def _scanned(self, uses: Uses) -> int:
        it = uses.it.copy()
        it[uses.wrong] -= 1
        return self._add(len(it), **self._row(uses, np.arange(len(it)), it), reason=uses.reason)

    def _row(self, uses: Uses, rows: Numbers, it: Numbers) -> dict[str, object]:
        of = uses.of[rows]
        return {
            "child": self._numbered.items[uses.child][of],
            "parent": self._numbered.items[uses.parent][it],
            "at": self._plant.things[uses.child].born[of],
            "entry": self._numbered.entries[uses.child][of],
            "amount": NOTHING if uses.amount is None else uses.amount,
        }

    def _drawn(self) -> None:
        drawn, resin, share, least, most = self._plant.shares.T
        lines = self._numbered.lines[self._plant.tank.kind == DRAW]
        self._add(
            len(drawn),
            child=self._numbered.items["drawn"][drawn],
            parent=self._numbered.items["resin"][resin],
            at=self._plant.things["drawn"].born[drawn],
            entry=self._numbered.entries["drawn"][drawn],
            certainty=np.where(least >= 1, Link.Certainty.CONFIRMED, Link.Certainty.POSSIBLE),
            share=share,
            least=least,
            most=most,
            draw=lines[drawn],
        )

    def _put_right(self, n: int, uses: Uses, start: int) -> None:
        """The wrong link withdrawn, another in its place, as a correction writes them."""
        slips = uses.wrong
        entry = self._numbered.entries[slip_of(n)]
        self._add(
            len(slips),
            **self._row(uses, slips, uses.it[slips] - 1) | {"entry": entry},
            first=start + slips,
            version=2,
            status=Version.Status.WITHDRAWN.value,
            reason="wrong scan",
            has_words=True,
        )
        right = self._row(uses, slips, uses.it[slips]) | {"entry": entry}
        self._add(len(slips), **right, reason="corrected", has_words=True)

    def _taken_out(self, starts: list[int]) -> None:
        """Front triangles taken out of their frames in rework."""
        n = next(n for n, uses in enumerate(self._plant.uses) if (uses.child, uses.parent) == ("frame", "front"))
        uses, out = self._plant.uses[n], self._plant.fronts_out
        row = self._row(uses, out, uses.it[out])
        row |= {"entry": self._numbered.entries["out"], "at": self._plant.things["frame"].born[out] + TAKEN_OUT_AFTER}
        status = Version.Status.ENDED.value
        self._add(len(out), **row, first=starts[n] + out, version=2, status=status, reason="rework", has_words=True)

    def _in_order(self) -> None:
        """Sort by entry; places of first rows go with it."""
        order = np.argsort(self.columns["entry"], kind="stable")
        place = np.empty_like(order)
        place[order] = np.arange(len(order))
        self.columns = {name: values[order] for name, values in self.columns.items()}
        first = self.columns["first"]
        self.columns["first"] = np.where(first >= 0, place[first], NOTHING)
