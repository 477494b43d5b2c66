"""A lot, a tank or a consignment as its page tells it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count

from plant.catalogue.models import Part, Tank
from plant.people.queries import works_day
from plant.quantities import print_amount, print_share
from records.ledger.clock import clock

from .deriving import worked_out
from .models import CertificateValue, Consignment, Hold, Item, Link, LotDecision, Receipt, StockCount, TankEntry
from .queries import Balance, balances, decision_on, holds_on, still_out


@dataclass(frozen=True)
class LotPage:
    """Everything that a lot's page shows."""

    lot: Item
    balance: Balance
    receipt: Receipt | None
    certificate: list[CertificateValue]
    decision: LotDecision | None
    decisions: list[LotDecision]
    splits: list[Link]
    made_from: list[Link]
    holds: list[Hold]
    count: StockCount | None

    @property
    def last_day(self) -> date | None:
        return self.receipt.expires_on if self.receipt else self.lot.expires_on

    @property
    def is_past(self) -> bool:
        """Whether its last good day is over."""
        return self.last_day is not None and self.last_day < works_day(clock.now())

    @property
    def state(self) -> str:
        """What may be done with it: held, accepted, rejected, at risk, in quarantine."""
        if self.holds:
            return "held"
        if self.lot.origin == Item.Origin.MADE:
            return "accepted"
        return self.decision.decision if self.decision else "quarantine"

    @property
    def waits(self) -> bool:
        """Whether somebody still has to accept it."""
        return self.receipt is not None and (
            self.decision is None or self.decision.decision == LotDecision.Decision.RISK
        )


def lot_page(lot: Item) -> LotPage:
    """A lot with certificate, decisions, what was split off it and what is left; a fixed number of queries."""
    receipt = (
        Receipt.objects.standing().filter(item=lot).select_related("entry__by__name_words").order_by("-pk").first()
    )
    values = (
        CertificateValue.objects.filter(receipt=receipt).order_by("pk") if receipt else CertificateValue.objects.none()
    )
    links = Link.objects.newest().filter(status=Link.Status.STANDS).order_by("at", "pk")
    into_lots = links.filter(parent=lot, child__kind=Part.Tracked.LOT).select_related(
        "child__state", "child__revision__part"
    )
    out_of = links.filter(child=lot).select_related("parent__state", "parent__revision__part")
    decisions = (
        LotDecision.objects.filter(item=lot).select_related("entry__by__name_words", "reason").order_by("-at", "-pk")
    )
    return LotPage(
        lot=lot,
        balance=balances([lot.pk])[lot.pk],
        receipt=receipt,
        certificate=list(values),
        decision=decision_on(lot),
        decisions=list(decisions),
        splits=list(into_lots),
        made_from=list(out_of),
        holds=holds_on([lot.pk]),
        count=StockCount.objects.filter(item=lot).order_by("-at", "-pk").first(),
    )


@dataclass(frozen=True)
class Held:
    """One lot among what is in a tank, by perfect mixing."""

    lot: Item
    amount: str
    share: str


@dataclass(frozen=True)
class TankPage:
    """A tank or bin: what is in it by perfect mixing, and its log, the latest first."""

    tank: Tank
    contents: list[Held]
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
        Held(lots[number], words(steps), print_share(steps * 10**9 // total))
        for number, steps in sorted(contents.items(), key=lambda pair: -pair[1])
    ]
    rows = TankEntry.objects.standing().filter(tank=tank).select_related("item__state", "entry__by__name_words")
    return TankPage(tank, held, words(total), list(rows.order_by("-at", "-kind", "-pk")[:most]))


@dataclass(frozen=True)
class ConsignmentPage:
    """A consignment with its units and those of them that are still out."""

    consignment: Consignment
    units: list[Item]
    missing: Sequence[str]


def consignment_page(consignment: Consignment) -> ConsignmentPage:
    """A consignment as it went, and who is missing."""
    lines = consignment.lines.select_related("item__state", "item__revision__part").order_by("pk")
    is_out = consignment.direction == Consignment.Direction.OUT
    return ConsignmentPage(consignment, [line.item for line in lines], still_out(consignment) if is_out else [])


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
    rows = Consignment.objects.select_related("place__party", "place__station").annotate(units=Count("lines"))
    return [ConsignmentRow(c.code, c.direction, str(c.place), c.units, c.at) for c in rows.order_by("-at", "-pk")]


def tanks() -> list[Tank]:
    """Tanks and bins."""
    return list(Tank.objects.select_related("part").order_by("kind", "code"))
