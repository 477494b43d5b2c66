"""What stands on the shelf: lots with something left, how each stands, and which of them ends first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import NamedTuple

from django.db.models import F, Q

from plant.catalogue.models import Part
from plant.people.queries import works_day
from records.ledger.clock import clock

from .balancing import missing_by_counts
from .clearing import ACCEPT, decisions_on, is_cleared
from .keeping import hours, keeping_of, roots_of
from .models import Item, ItemState, LifeExtension, Link, Receipt, StockCount
from .queries import PACKAGE, holds_on

QUARANTINE = "quarantine"
# Of several decisions on what a lot was cut off from, the one that stops most.
_WORST = ("reject", QUARANTINE, "risk", "accept")


@dataclass(frozen=True)
class StockRow:
    """A lot on the shelf, as the list shows it."""

    code: str
    part: Part
    left: int
    place: str
    last_day: date | None
    state: str
    held: bool
    is_past: bool
    ends_at: datetime | None = None  # of a pot, a lot that is open, or one that is out of the freezer
    ends_why: str = ""
    decide_on: str = ""  # code of what waits for a decision: itself, or the delivery that it is a package of
    is_over: bool = False  # released at risk, and its time or its amount is used up

    @property
    def may_be_used(self) -> bool:
        """Whether it is offered for use."""
        return self.state in ("accept", "risk") and not (self.held or self.is_past or self.is_over)

    @property
    def end(self) -> date:
        """The day on which it ends, by whichever of its limits comes first."""
        return min(self.last_day or date.max, works_day(self.ends_at) if self.ends_at else date.max)


def stock_rows(kinds: Collection[str] = ()) -> list[StockRow]:
    """Lots with something left, of some kinds or of all, those that end first at the head of their part.

    What the last count found missing is not there, and what it found too much is. A fixed number of queries; a lot
    whose data sheet limits how it keeps costs two more: there are few of them.
    """
    may_be_there = Q(state__remaining__gt=0) | Q(pk__in=StockCount.objects.filter(counted__gt=0).values("item"))
    lots = Item.objects.filter(may_be_there, kind=Part.Tracked.LOT)
    if kinds:
        lots = lots.filter(revision__part__kind__in=kinds)
    lots = lots.select_related("revision__part", "state__place__party", "state__place__station")
    found = {lot.pk: lot for lot in lots}
    missing = missing_by_counts(found)
    left = {pk: (lot.state.remaining or 0) - missing.get(pk, 0) for pk, lot in found.items()}
    found = {pk: lot for pk, lot in found.items() if left[pk] > 0}
    days, longer = _days_of(found)
    standing = standing_of(list(found.values()))
    held = {hold.item_id for hold in holds_on(found)}
    now = clock.now()
    rows = [
        _row(lot, left[pk], longer.get(pk) or days.get(pk, lot.expires_on), standing[pk], pk in held, now)
        for pk, lot in found.items()
    ]
    return sorted(rows, key=lambda row: (row.part.number, row.end, row.code))


def their_numbers() -> dict[str, str]:
    """The supplier's number that each lot came under, and each package of it, where something is left; two queries."""
    came = dict(Receipt.objects.standing().exclude(supplier_lot="").order_by("pk").values_list("item", "supplier_lot"))
    apart = Link.objects.standing().filter(parent__in=came, reason=PACKAGE, child__state__remaining__gt=0)
    told = {code: came[parent] for code, parent in apart.values_list("child__state__code", "parent")}
    own = ItemState.objects.filter(item__in=came, remaining__gt=0).values_list("code", "item")
    return told | {code: came[item] for code, item in own}


def _days_of(lots: dict[int, Item]) -> tuple[dict[int, date | None], dict[int, date]]:
    """Last days of lots by their receipts, or by the corrected one of what they were cut off; and those allowed."""
    roots = roots_of(pk for pk, lot in lots.items() if lot.origin == Item.Origin.MADE and lot.good_until is None)
    wanted = {*lots, *roots.values()}
    receipts = Receipt.objects.standing().filter(item__in=wanted).values_list("item", "version", "expires_on")
    said = {item: (version, day) for item, version, day in receipts}
    days = {pk: day for pk, (_, day) in said.items()}
    days |= {pk: said[root][1] for pk, root in roots.items() if root in said and said[root][0] > 1}
    allowed = LifeExtension.objects.filter(item__in=wanted).order_by("at", "pk").values_list("item", "until")
    cut_off: dict[int, list[int]] = defaultdict(list)
    for pk, root in roots.items():
        cut_off[root].append(pk)
    longer = {pk: until for item, until in allowed for pk in (item, *cut_off[item])}
    return days, longer


def first_to_take(kinds: Collection[str]) -> str:
    """Code of the lot to be taken before any other of its kind, since it ends first; empty where that is no question.

    Nobody is told which pot to take, nor where the shelf holds several parts of the kind, nor which of those that end
    on one day.
    """
    rows = [row for row in stock_rows(kinds) if row.may_be_used]
    is_plain = len({row.part.pk for row in rows}) == 1 and len(rows) > 1 and rows[0].end < rows[1].end
    return rows[0].code if is_plain and rows[0].part.kind not in Part.POT_KINDS else ""


def _row(lot: Item, left: int, day: date | None, stands: Accepted, held: bool, now: datetime) -> StockRow:
    ends_at, why = _ends(lot, now)
    if ends_at is not None and day is not None and day < works_day(ends_at):
        ends_at, why = None, ""
    is_past = (day is not None and day < works_day(now)) or (ends_at is not None and ends_at < now)
    place = str(lot.state.place) if lot.state.place else ""
    return StockRow(
        lot.state.code,
        lot.part,
        left,
        place,
        day,
        stands.state,
        held,
        is_past,
        ends_at,
        why,
        stands.decide_on,
        is_over=stands.state == "risk" and not is_cleared(lot, at=now, steps=1),
    )


def _ends(lot: Item, now: datetime) -> tuple[datetime | None, str]:
    """When a lot ends by the hour, as things stand, and by what; none where only its last day counts."""
    if lot.good_until is not None:
        return lot.good_until, "pot life"
    if not lot.revision.limits_its_keeping:
        return None, ""
    kept = keeping_of(lot, now)
    ends = [(kept.open_until, "open")] if kept.open_until else []
    left = kept.out_left
    if left is not None and (kept.is_out or left < timedelta()):
        ends.append((now + left, f"{hours(left)} out of the freezer left"))
    return min(ends, default=(None, ""))


class Accepted(NamedTuple):
    """How a lot stands as far as acceptance goes, and the code of what waits for a decision, if that does."""

    state: str
    decide_on: str = ""


def standing_of(lots: list[Item]) -> dict[int, Accepted]:
    """How each lot stands, by its own decision or by the worst of those on what it was cut off from."""
    mothers = mothers_among([lot for lot in lots if lot.origin == Item.Origin.MADE and lot.good_until is None])
    received = {lot.pk: lot.state.code for lot in lots if lot.origin != Item.Origin.MADE}
    codes = received | {mother: code for found in mothers.values() for mother, code in found.items()}
    decided = decisions_on(codes)

    def stands(number: int) -> Accepted:
        state = decided.get(number, QUARANTINE)
        return Accepted(state, codes[number] if state == QUARANTINE else "")

    found = {number: stands(number) for number in received}
    for lot in lots:
        if lot.pk not in found:
            all_of_them = [stands(mother) for mother in sorted(mothers.get(lot.pk, ()))]
            found[lot.pk] = min(all_of_them, key=lambda one: _WORST.index(one.state), default=Accepted(ACCEPT))
    return found


def mothers_among(lots: list[Item]) -> dict[int, dict[int, str]]:
    """Codes of the received lots that each lot was cut off from, over however many cuts; a query for each depth."""
    cut_from: dict[int, set[int]] = {}
    received: dict[int, str] = {}
    stated: set[int] = set()
    frontier = {lot.pk for lot in lots}
    while frontier:
        rows = Link.objects.newest().filter(child__in=frontier, status=Link.Status.STANDS, draw=None)
        rows = rows.filter(parent__revision__part=F("child__revision__part"))
        cut_from |= {child: set() for child in frontier}
        for child, parent, origin, code in rows.values_list("child", "parent", "parent__origin", "parent__state__code"):
            cut_from[child].add(parent)
            received |= {parent: code} if origin != Item.Origin.MADE else {}
            stated |= {parent} if origin == Item.Origin.STATED else set()
        frontier = set().union(*(cut_from[child] for child in frontier)) - cut_from.keys() - received.keys()
    unknown = stated - _booked_in(stated)  # known only by its use, a lot stops nothing
    known = {number: code for number, code in received.items() if number not in unknown}
    return {lot.pk: {pk: known[pk] for pk in _behind(lot.pk, cut_from) & known.keys()} for lot in lots}


def _behind(lot: int, cut_from: dict[int, set[int]]) -> set[int]:
    """Everything that a lot was cut off from, near and far."""
    found: set[int] = set()
    frontier = {lot}
    while frontier:
        frontier = set().union(*(cut_from.get(one, set()) for one in frontier)) - found
        found |= frontier
    return found


def _booked_in(stated: set[int]) -> set[int]:
    """Which of the lots that were known by their use first are booked in by now."""
    return set(Receipt.objects.standing().filter(item__in=stated).values_list("item", flat=True)) if stated else set()
