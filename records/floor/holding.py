"""What to do with a thing that is held, by where it stands; and where a unit stands by what is done on its route."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import StrEnum

from django.utils.translation import gettext
from django.utils.translation import gettext_noop as _

from plant.catalogue.models import Operation, OperationInput, Part
from plant.speaking import say, word
from records.items.models import Hold, Item
from records.items.queries import OUT, SCRAPPED, SHIPPED


class Stands(StrEnum):
    """Where a thing stands, as far as it matters to whoever finds it held."""

    HOT_MOULD = "hot-mould"
    CLOSED_MOULD = "closed-mould"
    JIG = "jig"
    BENCH = "bench"
    AWAY = "away"
    SHIPPED = "shipped"
    STOCK = "stock"
    POT = "pot"
    SCRAP = "scrap"


WHAT_TO_DO: dict[Stands, str] = {
    Stands.HOT_MOULD: _("Finish the cure. Then put it on the red shelf."),
    Stands.CLOSED_MOULD: _("Do not fill. Open it, put the preform on the red shelf."),
    Stands.JIG: _("Leave it in the jig until the glue has set. Then the red shelf."),
    Stands.BENCH: _("Do not work on it. Put it on the red shelf."),
    Stands.AWAY: _("Not ours to touch. Stores is told to call them."),
    Stands.SHIPPED: _("It has left the works. Review is told and decides who calls there."),
    Stands.STOCK: _("Take no more from it. Put the red tag on."),
    Stands.POT: _("Do not fill from it. Marked place: it gets hot."),
    Stands.SCRAP: _("It is scrapped. Put it where scrap is kept, out of the way of work."),
}
# Where it is, in one line with the place that is on file; ``held.js`` says the same without a link.
PLACES: dict[Stands, str] = {
    Stands.HOT_MOULD: _("%(place)s, in its mould, filled"),
    Stands.CLOSED_MOULD: _("%(place)s, in its mould, not filled"),
    Stands.JIG: _("%(place)s, in its jig"),
    Stands.AWAY: _("%(place)s, outside the works"),
    Stands.SHIPPED: _("%(place)s, gone from the works"),
}
NO_PLACE = _("no place on file: look for it")
STOPS: dict[int, str] = {
    Hold.Scope.ALL: _("No further work, no shipping"),
    Hold.Scope.AFTER: _("Nothing after %(operation)s, no shipping"),
    Hold.Scope.SHIP: _("No shipping"),
}


def stands_after(route: Sequence[Operation], filling: Iterable[int]) -> dict[str, Stands]:
    """Where a unit stands once each operation of its route is the last one done, by name; ``filling`` are those at
    which resin goes in.

    It stays in the mould until the last step that makes it safe. Where no operation is told apart for the resin, the
    mould is filled as it is closed.
    """
    fills = set(filling)
    opens = max((step.n for step in route if step.makes_safe), default=0)
    found, stands = {}, Stands.BENCH
    for step in route:
        if step.tool_kind == "mould":
            stands = Stands.CLOSED_MOULD if fills else Stands.HOT_MOULD
        elif step.pk in fills:
            stands = Stands.HOT_MOULD
        elif step.tool_kind == "jig":
            stands = Stands.JIG
        elif stands == Stands.JIG or step.n >= opens:
            stands = Stands.BENCH
        found[step.name] = stands
    return found


def filling_of(operations: Iterable[Operation]) -> set[int]:
    """Operations at which mixed resin goes in."""
    rows = OperationInput.objects.filter(operation__in=[o.pk for o in operations], kind=Part.Kind.RESIN_MIX)
    return set(rows.values_list("operation_id", flat=True))


def where_it_stands(item: Item, route: Sequence[Operation], done: Iterable[str]) -> Stands:
    """Where an item stands by what is on file."""
    if item.state.where == OUT:
        return Stands.AWAY
    if item.state.where == SHIPPED:
        return Stands.SHIPPED
    if item.state.where == SCRAPPED:
        return Stands.SCRAP
    if item.kind != Part.Tracked.UNIT:
        return Stands.POT if item.part.kind in (Part.Kind.RESIN_MIX, Part.Kind.ADHESIVE_MIX) else Stands.STOCK
    after, known = stands_after(route, filling_of(route)), set(done)
    return next((after[step.name] for step in reversed(route) if step.name in known), Stands.BENCH)


def what_to_do(stands: Stands) -> str:
    """The one sentence that a held screen says largest."""
    return gettext(WHAT_TO_DO[stands])


def place_words(item: Item, stands: Stands) -> str:
    """Where an item is at present, in one line: what it is in, and the place on file."""
    state = item.state
    if state.inside is not None:
        return say("Built into %(code)s", code=state.inside.state.code)
    if state.where == SCRAPPED:
        return gettext("Scrapped")
    place = str(state.place) if state.place else gettext(NO_PLACE)
    return say(PLACES[stands], place=place) if stands in PLACES else word(place)


def stops_words(hold: Hold) -> str:
    """What a hold stops."""
    return gettext(STOPS[hold.scope]) % {"operation": hold.operation.name if hold.operation else ""}
