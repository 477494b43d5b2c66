"""What went into an item, near things first, each with what a person must know of it."""

from __future__ import annotations

from dataclasses import dataclass

from plant.catalogue.models import Part
from records.items.clearing import UNDECIDED, never_decided
from records.items.models import Item, LotDecision
from records.items.queries import names_of
from records.ledger.marks import Mark

from .labelling import ENDED, POSSIBLE
from .queries import Asked, Found, made_from

_ORDER = {kind: n for n, kind in enumerate(reversed(Part.Kind.values))}

_UNSURE = {POSSIBLE: "possible", ENDED: "ended"}


@dataclass(frozen=True)
class Content:
    """One thing that went in: ``state`` is the worst that is known of it, empty where there is nothing to say."""

    found: Found
    kind: str
    state: str
    decision: str = ""  # the newest on a lot that was delivered, or that there never was one

    @property
    def is_near(self) -> bool:
        """Whether it was put into the item itself, not into something that went in."""
        return len(self.found.way) == 2

    @property
    def is_at_risk(self) -> bool:
        """Whether it is in the item, surely or possibly, and was released at risk and not accepted yet."""
        return self.decision == LotDecision.Decision.RISK and not self.found.ended

    @property
    def is_rejected(self) -> bool:
        """Whether it is in the item, surely or possibly, and was rejected."""
        return self.decision == LotDecision.Decision.REJECT and not self.found.ended

    @property
    def is_undecided(self) -> bool:
        """Whether it is in the item, surely or possibly, and nobody has ever decided on it."""
        return self.decision == UNDECIDED and not self.found.ended

    @property
    def by_way_of(self) -> tuple[str, ...]:
        return self.found.between


def content_of(item: Item, asked: Asked | None = None) -> list[Content]:
    """Everything that an item is made from, those put into it first; a dozen queries or so whatever their number."""
    asked = asked or Asked()
    code = item.code if asked.mark is None else names_of([item.pk], asked.mark)[item.pk].code
    found = made_from(code, asked).listed
    lots = [one.item for one in found]
    decided = newest_decisions(lots, asked.mark)
    decided |= dict.fromkeys(never_decided(lots, item.born_at, asked.mark), UNDECIDED)
    rows = [_content(one, decided.get(one.item, "")) for one in found]
    return sorted(rows, key=lambda row: (not row.is_near, _ORDER[row.found.kind], row.found.code))


def newest_decisions(lots: list[int], mark: Mark | None = None) -> dict[int, str]:
    """The newest decision on each lot, one query."""
    rows = LotDecision.objects.known(mark).filter(item_id__in=lots).order_by("at", "pk")
    return dict(rows.values_list("item_id", "decision"))


def _content(found: Found, decision: str) -> Content:
    return Content(found, str(Part.Kind(found.kind).label), _state(found, decision), decision)


def _state(found: Found, decision: str) -> str:
    if found.held:
        return "held"
    if found.cls in _UNSURE:
        return _UNSURE[found.cls]
    return decision
