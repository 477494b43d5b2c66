"""A lot, a tank or a consignment as its page tells it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count, Q, QuerySet

from plant.catalogue.models import Part, Tank
from plant.quantities import print_amount
from records.ledger.clock import clock
from records.ledger.models import Entry, Photo
from records.ledger.photos import photos_of

from .balance_bar import BalanceBar, balance_bar
from .balancing import balanced
from .certificates import Judged
from .clearing import against_accepting, certificate_of, taken_of
from .deriving import worked_out
from .keeping import EXPIRED, Ended, Keeping, keeping_of, last_day_of, why_ended
from .models import (
    ArrivalFinding,
    CertificateValue,
    Consignment,
    ConsignmentLine,
    FeedEntry,
    Hold,
    Item,
    LifeEntry,
    LifeExtension,
    Link,
    LotDecision,
    Receipt,
    StockCount,
    TankEntry,
)
from .queries import Balance, balances, holds_on, still_out
from .shelf import mothers_among, standing_of


@dataclass(frozen=True)
class AtRisk:
    """A release at risk that stands: who approved it, until when, how much of how much is taken."""

    decision: LotDecision
    taken: int
    lot: Item  # whose release it is: the lot itself, or one that it was cut off from

    @property
    def is_over(self) -> bool:
        """Whether its time or its amount is used up."""
        until, limit = self.decision.limit_until, self.decision.limit_amount
        return (until is not None and until < clock.now()) or (limit is not None and self.taken >= limit)


@dataclass(frozen=True)
class LotPage:
    """Everything that a lot's page shows."""

    lot: Item
    balance: Balance
    bar: BalanceBar | None
    left: int  # by the last count and what was taken since, else by the records
    count: StockCount | None
    receipt: Receipt | None
    findings: list[ArrivalFinding]
    certificate: list[Judged]
    against: list[str]
    decisions: list[LotDecision]
    state: str
    risk: AtRisk | None
    risks_behind: list[AtRisk]
    came_with: list[Receipt]  # deliveries that a lot made here was cut off from
    splits: list[Link]
    made_from: list[Link]
    holds: list[Hold]
    last_day: date | None
    extensions: list[LifeExtension]
    keeping: Keeping | None
    keeping_lines: list[LifeEntry]
    mounts: list[FeedEntry]

    ended: Ended | None
    photos: list[tuple[Entry, list[Photo]]]

    @property
    def ended_words(self) -> str:
        """Why it may not be used for its age, as a sentence; empty where it may."""
        return self.ended.words % {"code": self.lot.code, **self.ended.facts} if self.ended else ""

    @property
    def is_expired(self) -> bool:
        """Whether nothing is left to do with it but to hold it, write it off or send it back."""
        return self.ended is not None and self.ended.code == EXPIRED

    @property
    def waits(self) -> bool:
        """Whether somebody still has to accept it."""
        return self.receipt is not None and not (self.decisions and self.decisions[0].decision in ("accept", "reject"))


def lot_page(lot: Item) -> LotPage:
    """A lot with certificate, decisions, what was split off it and what is left; the queries grow with the deliveries
    that it was cut off from alone."""
    now = clock.now()
    receipt = (
        Receipt.objects.standing()
        .filter(item=lot)
        .select_related("entry__by__name_words", "first__entry__by__name_words", "words", "item__revision__part")
        .order_by("-pk")
        .first()
    )
    links = Link.objects.newest().filter(status=Link.Status.STANDS).order_by("at", "pk")
    into_lots = links.filter(parent=lot, child__kind=Part.Tracked.LOT).select_related(
        "child__state", "child__revision__part"
    )
    out_of = links.filter(child=lot).select_related("parent__state", "parent__revision__part")
    decisions = _decisions_on(lot)
    came_with = _deliveries_behind(lot) if receipt is None else []
    behind = [_at_risk(delivery.item, _decisions_on(delivery.item)) for delivery in came_with]
    extensions = list(LifeExtension.objects.filter(item=lot).select_related("entry__by__name_words", "words"))
    lines = LifeEntry.objects.standing().filter(item=lot).select_related("entry__by__name_words")
    holds, found = holds_on([lot.pk]), balanced(lot)
    return LotPage(
        lot=lot,
        balance=found.sums if found else balances([lot.pk])[lot.pk],
        bar=balance_bar(found) if found else None,
        left=found.left if found else lot.state.remaining or 0,
        count=found.count if found else None,
        receipt=receipt,
        findings=list(ArrivalFinding.objects.filter(receipt__item=lot).select_related("words").order_by("pk")),
        certificate=certificate_of(receipt) if receipt else [],
        against=against_accepting(lot),
        decisions=decisions,
        state="held" if holds else standing_of([lot])[lot.pk].state,
        risk=_at_risk(lot, decisions),
        risks_behind=[risk for risk in behind if risk is not None],
        came_with=came_with,
        splits=list(into_lots),
        made_from=list(out_of),
        holds=holds,
        last_day=last_day_of(lot),
        extensions=extensions,
        keeping=keeping_of(lot, now) if lot.revision.limits_its_keeping else None,
        keeping_lines=list(lines.order_by("at", "pk")),
        mounts=list(_mounts(lot)),
        ended=why_ended(lot, now),
        photos=_photos(receipt, decisions, extensions),
    )


def _decisions_on(lot: Item) -> list[LotDecision]:
    rows = LotDecision.objects.filter(item=lot).select_related("entry__by__name_words", "reason")
    return list(rows.order_by("-at", "-pk"))


def _at_risk(lot: Item, decisions: Sequence[LotDecision]) -> AtRisk | None:
    """The release at risk that stands, by the decisions on a lot, the newest first."""
    is_at_risk = bool(decisions) and decisions[0].decision == LotDecision.Decision.RISK
    return AtRisk(decisions[0], taken_of(lot), lot) if is_at_risk else None


def _deliveries_behind(lot: Item) -> list[Receipt]:
    """What was booked in of everything that a lot was cut off from."""
    if lot.origin != Item.Origin.MADE or lot.good_until is not None:
        return []
    rows = Receipt.objects.standing().filter(item__in=mothers_among([lot])[lot.pk])
    return list(rows.select_related("item__state", "item__revision__part").order_by("pk"))


def _mounts(lot: Item) -> QuerySet[FeedEntry]:
    """Where a lot was mounted, the first first."""
    rows = FeedEntry.objects.standing().filter(item=lot)
    return rows.select_related("station", "entry__by__name_words").order_by("not_before", "pk")


def _photos(
    receipt: Receipt | None, decisions: list[LotDecision], extensions: list[LifeExtension]
) -> list[tuple[Entry, list[Photo]]]:
    """Photos of a lot's label and certificates, by the entry that carries them."""
    entries = {row.entry_id: row.entry for row in (receipt, *decisions, *extensions) if row is not None}
    if receipt is not None:
        first = receipt.first or receipt
        entries[first.entry_id] = first.entry
        values = CertificateValue.objects.filter(receipt__item=receipt.item_id).select_related("entry__by__name_words")
        entries |= {value.entry_id: value.entry for value in values}
    found = photos_of(entries)
    return [(entries[number], found[number]) for number in sorted(found)]


@dataclass(frozen=True)
class Held:
    """One lot among what is in a tank, by perfect mixing."""

    lot: Item
    amount: str
    share_ppb: int


@dataclass(frozen=True)
class TankPage:
    """A tank or bin: what is in it by perfect mixing, and its log, the latest first."""

    tank: Tank
    contents: list[Held]
    held: int  # steps
    total: str
    log: list[TankEntry]


def tank_page(tank: Tank, most: int = 200) -> TankPage:
    """A tank's contents and log; a fixed number of queries."""
    contents = {number: steps for number, steps in worked_out(tank).contents.items() if steps}
    lots = Item.objects.select_related("state").in_bulk(contents)
    total = sum(contents.values())
    part = tank.part

    def words(steps: int) -> str:
        return print_amount(steps, part.unit, part.unit_kind)

    held = [
        Held(lots[number], words(shortened(steps)), steps * 10**9 // total)
        for number, steps in sorted(contents.items(), key=lambda pair: -pair[1])
    ]
    rows = TankEntry.objects.standing().filter(tank=tank).select_related("item__state", "entry__by__name_words")
    return TankPage(tank, held, total, words(total), list(rows.order_by("-at", "-kind", "-pk")[:most]))


def shortened(steps: int, figures: int = 4) -> int:
    """A worked-out amount to so many figures: by perfect mixing more would say more than anybody knows.

    Examples
    --------
    >>> shortened(4_926_966_062), shortened(98), shortened(0)
    (4927000000, 98, 0)
    """
    places = len(str(abs(steps))) - figures
    return steps if places <= 0 else round(steps, -places)


@dataclass(frozen=True)
class ConsignmentPage:
    """A consignment with its units and those of them that are still out."""

    consignment: Consignment
    units: list[Item]
    missing: Sequence[str]
    put_right: frozenset[int] = frozenset()  # units that were listed in another one before


def consignment_page(consignment: Consignment) -> ConsignmentPage:
    """A consignment as it went, and who is missing."""
    lines = ConsignmentLine.objects.standing().filter(consignment=consignment)
    lines = lines.select_related("item__state", "item__revision__part").order_by("pk")
    is_out = consignment.direction == Consignment.Direction.OUT
    put_right = frozenset(line.item_id for line in lines if line.instead_of_id)
    missing = still_out(consignment) if is_out else []
    return ConsignmentPage(consignment, [line.item for line in lines], missing, put_right)


@dataclass(frozen=True)
class ConsignmentRow:
    """A consignment in the list."""

    code: str
    what: str
    place: str
    units: int
    at: datetime


def consignment_rows() -> list[ConsignmentRow]:
    """Every consignment, the latest first; one query."""
    rows = Consignment.objects.select_related("place__party", "place__station").annotate(
        units=Count("lines", Q(lines__put_right=None))
    )
    return [ConsignmentRow(c.code, c.direction, str(c.place), c.units, c.at) for c in rows.order_by("-at", "-pk")]


def tanks() -> list[Tank]:
    """Tanks and bins."""
    return list(Tank.objects.select_related("part").order_by("kind", "code"))
