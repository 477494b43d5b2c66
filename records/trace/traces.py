"""What only the logs of tanks tell: lots of which a tank holds too little for a stored link, or nothing any more."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime

from records.items import deriving
from records.items.mixing import Worked, work_out
from records.items.models import TankEntry
from records.ledger.asking import Asking
from records.ledger.marks import Mark

from .labelling import POSSIBLE, Way


class TankTraces:
    """Lots that were in a tank and were not cleaned out since.

    They are possible in every draw up to the next cleaning, with the share worked out from the log, nought too.
    """

    def __init__(self, down: bool, mark: Mark | None) -> None:
        self._down = down
        self._mark = mark

    def of(self, items: Iterable[int]) -> dict[int, list[Way]]:
        """Possible links out of those among items that were charged, or drawn into, that only the logs tell of."""
        found: dict[int, list[Way]] = defaultdict(list)
        wanted: set[int] = set()
        times: dict[int, set[datetime]] = defaultdict(set)
        lines = _CHARGES if self._down else _DRAWS
        for item, tank, at in lines.rows(self._mark, items=items):
            wanted.add(item)
            times[tank].add(at)
        for tank, moments in times.items():
            for worked in self._stretches(tank, moments):
                self._collect(worked, wanted, found)
        return found

    def _stretches(self, tank: int, times: set[datetime]) -> list[Worked]:
        """The parts of a tank's log between two cleanings that hold any of the times."""
        parts = {tuple(deriving.log_around(tank, at, self._mark)) for at in times}
        return [work_out(part) for part in parts]

    def _collect(self, worked: Worked, wanted: set[int], found: dict[int, list[Way]]) -> None:
        for draw in worked.draws:
            for portion in draw.portions:
                near, far = (portion.lot, draw.line.item) if self._down else (draw.line.item, portion.lot)
                if near in wanted and not portion.stored:
                    found[near].append((far, POSSIBLE, portion.share_ppb))


def _of_kind(kind: TankEntry.Kind) -> Asking:
    return Asking(
        lambda mark, items: (
            TankEntry.objects.standing(mark)
            .filter(item_id__among=items, kind=kind)
            .values_list("item_id", "tank_id", "at")
        )
    )


_CHARGES, _DRAWS = _of_kind(TankEntry.Kind.CHARGE), _of_kind(TankEntry.Kind.DRAW)
