"""The few facts that stand under the code of an item."""

from __future__ import annotations

from datetime import datetime

from plant.catalogue.models import Part
from plant.catalogue.queries import route_of
from plant.quantities import print_amount
from records.items.models import Item, Receipt
from records.items.queries import HERE, OUT, SCRAPPED, SHIPPED, Standing, balances
from records.steps.models import Waiting
from records.steps.queries import missing_operations

from .content import newest_decisions
from .queries import place_named

_DECIDED = {"accept": "accept", "reject": "reject", "risk": "risk"}


def whereabouts_words(standing: Standing) -> str:
    """Where an item is, as the end of a sentence: "at Press 1", "with Dealer Larkmere", "in TW-26-000396-8"."""
    where, at = standing.where, place_named(standing.where)
    if where.state == SCRAPPED:
        return "withdrawn: it was never made" if where.never_made else "scrapped"
    if where.state == SHIPPED:
        return f"shipped, with {at}"
    if where.state == OUT:
        return f"out at {at}"
    if at is None:
        return "in the works, nobody said where"
    return f"in {at}" if where.inside else f"at {at}"


def state_of(item: Item, standing: Standing) -> str:
    """The one state that stands beside the code: held, scrapped, in work, or what was decided on a lot."""
    if standing.holds:
        return "held"
    if standing.where.state == SCRAPPED:
        return "corrected" if standing.where.never_made else "scrapped"
    if item.kind == Part.Tracked.LOT:
        if item.origin == Item.Origin.MADE:
            return ""
        return _DECIDED.get(newest_decisions([item.pk]).get(item.pk, ""), "quarantine")
    return ""


def since(standing: Standing) -> datetime | None:
    """Since when it is where it is; none where the last move does not say."""
    return standing.where.placed_at if standing.where.state in (HERE, OUT, SHIPPED) else None


def still_to_do(item: Item, standing: Standing) -> list[tuple[str, str]]:
    """Steps of the route that are not on file, each with the kind of station that does it; none once it is gone."""
    if standing.where.state not in (HERE, OUT):
        return []
    route = route_of(item.part, item.born_at)
    missing = set(missing_operations(item, route))
    return [(step.name, step.station_kind) for step in route if step.name in missing]


def next_step(item: Item, standing: Standing) -> str:
    """The operation that a unit waits for; empty where its route is done or it is not here to be worked on."""
    if standing.where.state != HERE:
        return ""
    waiting = Waiting.objects.filter(unit=item).select_related("operation").first()
    return waiting.operation.name if waiting and waiting.operation else ""


def lot_facts(item: Item) -> list[tuple[str, str]]:
    """Amounts of a lot, its supplier and its end."""
    balance, part = balances([item.pk])[item.pk], item.part

    def text(steps: int) -> str:
        return print_amount(steps, part.unit, part.unit_kind)

    facts = [("Came in", text(balance.received)), ("Drawn", text(balance.drawn)), ("Written off", text(balance.waste))]
    facts += [("Sent back", text(balance.back))] if balance.back else []
    facts.append(("Left by the records", text(balance.left)))
    receipt = Receipt.objects.standing().filter(item=item).order_by("-entry_id").first()
    if receipt is not None:
        facts.append(("Supplier", ", ".join(word for word in (receipt.supplier, receipt.supplier_lot) if word)))
    return facts
