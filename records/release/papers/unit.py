"""What stands at the head of each paper of a unit: who it is, where, what holds it, whether it was let go."""

from __future__ import annotations

from dataclasses import dataclass

from plant.catalogue.models import Part, PartRevision
from plant.catalogue.queries import route_of
from plant.papers.page import Heading
from plant.people.letterhead import at_works, heading_of
from records.items.models import Consignment, ConsignmentLine, Hold, Item
from records.items.queries import SHIPPED, Standing, item_by_code, names_of, standing_of
from records.items.reasons import reason_words
from records.ledger.marks import Mark
from records.ledger.refusals import Refused
from records.steps.queries import done_operations, next_operation
from records.trace.facts import whereabouts_words
from records.trace.finding import code_of

from ..models import Release

LONGEST_IN_A_BLOCK = 400


@dataclass(frozen=True)
class HoldTold:
    """A hold that binds: what it stops, and who says so, when and why."""

    stops: str
    told: str
    words: str

    @property
    def is_long(self) -> bool:
        """Whether its words would push everything else off the first page."""
        return len(self.words) > LONGEST_IN_A_BLOCK


@dataclass(frozen=True)
class UnitTold:
    """A unit as a paper tells it."""

    heading: Heading
    code: str
    once: tuple[str, ...]
    kind: str
    part: str
    revision: str
    born: str
    where: str
    next_step: str
    to_do: tuple[str, ...]
    holds: tuple[HoldTold, ...]
    released: str
    is_let_go: bool


def unit_for_paper(code: str, mark: Mark) -> Item:
    """The unit with a code that was on file at a mark. Refuses ``unknown`` and ``no-unit``."""
    item = item_by_code(code_of(code))
    if item.kind != Part.Tracked.UNIT:
        words = "%(code)s is a lot. A paper of this kind is made for one unit: a frame, a triangle or a preform."
        raise Refused("no-unit", words, code=item.code)
    if not names_of([item.pk], mark):
        raise Refused("unknown", "%(code)s was not on file then. Ask for a later moment.", code=item.code)
    return item


def unit_told(item: Item, mark: Mark, paper: str) -> UnitTold:
    """A unit as known at a mark; a fixed number of queries."""
    standing = standing_of(item, mark)
    route, done = route_of(item.part, item.born_at), done_operations([item.pk], mark)[item.pk]
    waits = next_operation(route, done)
    code, kind = standing.names.code, str(Part.Kind(item.part.kind).label)
    released, is_let_go = _release_words(item, standing, mark)
    return UnitTold(
        heading=heading_of(f"{paper} of {kind} {code}", mark),
        code=code,
        once=standing.names.once,
        kind=kind,
        part=" ".join(word for word in (item.part.number, item.part.name) if word),
        revision=revision_words(item.revision),
        born=at_works(item.born_at),
        where=_where_words(standing),
        next_step=waits.name if waits else "",
        to_do=tuple(operation.name for operation in route if operation.name not in done),
        holds=tuple(_hold_told(hold) for hold in _with_words(standing.holds)),
        released=released,
        is_let_go=is_let_go,
    )


def revision_words(revision: PartRevision) -> str:
    """A revision of a part, with its drawing where it names one."""
    drawing = f", drawing {revision.drawing}" if revision.drawing else ""
    return f"revision {revision.revision}{drawing}"


def _where_words(standing: Standing) -> str:
    words, since = whereabouts_words(standing), standing.where.placed_at
    return f"{words}, since {at_works(since)}" if since else words


def _with_words(holds: list[Hold]) -> list[Hold]:
    rows = Hold.objects.filter(pk__in=[hold.pk for hold in holds])
    return list(rows.select_related("entry__by__name_words", "words", "operation").order_by("pk"))


def _hold_told(hold: Hold) -> HoldTold:
    stops = {
        Hold.Scope.AFTER: f"It stops after {hold.operation.name if hold.operation else 'this step'}. No shipping.",
        Hold.Scope.SHIP: "No shipping.",
    }.get(Hold.Scope(hold.scope), "No further work, no shipping. It may stay where it is.")
    by = hold.entry.by.name
    who = f"Held by {by}" if hold.is_by_hand else f"Held by the rulebook on what {by} entered"
    return HoldTold(stops, f"{who} on {at_works(hold.at)}: {reason_words(hold.reason)}.", str(hold.words or ""))


def _release_words(item: Item, standing: Standing, mark: Mark) -> tuple[str, bool]:
    """Whether a unit was let go, in words, and whether that release still counts for it."""
    release = (
        Release.objects.known(mark).filter(unit=item).select_related("entry__by__name_words").order_by("pk").last()
    )
    if release is None:
        return "Not released. Nobody has let it go.", False
    words = f"Released by {release.entry.by.name} on {at_works(release.at)}."
    lines = ConsignmentLine.objects.standing(mark).filter(item=item, consignment__direction=Consignment.Direction.SHIP)
    shipped = (
        lines.filter(entry__gt=release.entry_id).select_related("consignment__place__party").order_by("pk").first()
    )
    if shipped is None:
        return words, True
    words += f" Shipped to {shipped.consignment.place} on {at_works(shipped.consignment.at)}."
    if standing.where.state == SHIPPED:
        return words, True
    return f"Not released again since it came back. {words}", False
