"""Rules that are asked before an act: may this lot be used, may this unit be worked on, is this code free.

A plain act is refused; an act that tells of something done is flagged and taken, and the flag holds the item where
the works' settings say so. Each function takes the open act, or a ``Look`` where a screen asks before there is one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Protocol

from plant import codes
from plant.catalogue.models import Operation, Part, Tank
from plant.catalogue.queries import hold_scope
from plant.quantities import Quantity, print_amount
from records.ledger.acts import Act, Said, was_taken
from records.ledger.asking import Asking
from records.ledger.refusals import Refused

from .balancing import left_of
from .clearing import why_barred
from .keeping import why_ended
from .models import Hold, Item, ItemCode, ItemState, Link
from .queries import OUT, SCRAPPED, SHIPPED, holds_on, is_booked_in, whereabouts

LONGEST_CODE = 40


class Gate(Protocol):
    """What a rule needs of an act: its time, and where to say that something is against the rule."""

    @property
    def at(self) -> datetime: ...

    def refuse_or_flag(self, code: str, words: str, /, **facts: Any) -> None: ...


@dataclass(frozen=True)
class Look:
    """A gate that is only looked at: it refuses as at the press, and writes nothing."""

    at: datetime

    def refuse_or_flag(self, code: str, words: str, /, **facts: Any) -> None:
        raise Refused(code, words, **facts)


@dataclass
class Noting:
    """A gate that lets everything through and notes by which causes it would not have."""

    at: datetime
    causes: set[str] = field(default_factory=set)

    def refuse_or_flag(self, code: str, words: str, /, **facts: Any) -> None:
        self.causes.add(code)


def mark_barred(a: Act, lot: Item, at: datetime, held: Iterable[Item]) -> None:
    """Mark that a lot which turns out to have gone in at a moment might not have been used, and hold what holds it as
    the works' settings say for such causes.
    """
    noting = Noting(at)
    use_lot(noting, lot)
    mark_noted(a, lot, noting, held)


def mark_noted(a: Act, lot: Item, noting: Noting, held: Iterable[Item]) -> None:
    """Mark and hold by what was noted of a lot that turns out to have gone in."""
    if noting.causes:
        a.flag("right-one-barred", item=lot.pk)
        hold_by_cause(a, held, noting.causes)


def may_go_in(item: Item, at: datetime) -> None:
    """Whether something may go into a unit or a pot at a moment. Refuses as its use would."""
    look = Look(at)
    if item.kind == Part.Tracked.LOT:
        use_lot(look, item)
        return
    stop_gone(look, [item])
    stop_held(look, [item])
    stop_used(look, [item])


def free_code(code: str) -> str:
    """The code folded. Refuses ``code-taken`` for one that any item has or had, ``unknown`` for none, ``too-long``."""
    folded = codes.fold(code)
    if not folded:
        raise Refused("unknown", "There is no code. Scan it, or type it.")
    if len(folded) > LONGEST_CODE:
        raise Refused("too-long", "A code has %(most)s signs at most. Write a shorter one.", most=LONGEST_CODE)
    if _CODE_TAKEN.rows(code=folded):
        raise Refused("code-taken", "%(code)s is taken: no number is used twice. Take another one.", code=folded)
    return folded


_CODE_TAKEN = Asking(lambda _, code: ItemCode.objects.filter(code=code).values_list("pk"))


def stop_held(a: Gate, items: Iterable[Item], operation: Operation | None = None, *, shipping: bool = False) -> None:
    """Refuse or flag ``held`` when a hold that stops this bound at the time."""
    held = {item.pk: item for item in items if item.state.has_holds}
    for hold in holds_on(held, at=a.at) if held else ():
        if stops(hold, operation, shipping=shipping):
            item = held[hold.item_id]
            a.refuse_or_flag(
                "held", "%(code)s is held. Do not use it: put it aside and ask Review.", code=item.code, hold=hold.pk
            )


def stops(hold: Hold, operation: Operation | None, *, shipping: bool = False) -> bool:
    """Whether a hold stops an operation, or a use or send-out where none is named."""
    if hold.scope == Hold.Scope.SHIP:
        return shipping
    if hold.scope == Hold.Scope.AFTER and operation is not None and hold.operation is not None:
        return operation.n > hold.operation.n
    return True


def stop_gone(a: Gate, items: Iterable[Item]) -> None:
    """Refuse or flag ``scrapped`` and ``not-here`` for what was scrapped, out or shipped at the time."""
    wanted = {item.pk: item for item in items if item.state.has_left}
    for number, where in whereabouts(wanted, until=a.at).items() if wanted else ():
        code = wanted[number].code
        if where.state == SCRAPPED:
            a.refuse_or_flag("scrapped", "%(code)s is scrapped. Take another one.", code=code)
        elif where.state in (OUT, SHIPPED):
            a.refuse_or_flag("not-here", "%(code)s is not here: it is out or shipped. Book it back first.", code=code)


def stop_used(a: Gate, items: Iterable[Item]) -> None:
    """Refuse or flag ``already-used`` for units that are in another. Their state rows are locked."""
    for item in items:
        if item.state.inside_id is not None:
            a.refuse_or_flag(
                "already-used", "%(code)s is in another unit already. Scan the one in front of you.", code=item.code
            )


def use_lot(a: Gate, lot: Item, at: datetime | None = None, steps: int = 0) -> None:
    """Whether an amount of a lot may be used: accepted, in date, thawed, not held, not scrapped.

    A lot known only by its use is never stopped for quarantine or date.
    """
    stop_gone(a, [lot])
    stop_barred(a, lot, at, steps)


def stop_barred(a: Gate, lot: Item, at: datetime | None = None, steps: int = 0) -> None:
    """As ``use_lot``, wherever the lot is: what stands in a tank may be in it though the rest was written off."""
    at = at or a.at
    stop_held(a, [lot])
    if lot.origin != Item.Origin.MADE and not is_booked_in(lot):
        return
    barred = why_barred(lot, at=at, steps=steps)
    if barred is not None:
        a.refuse_or_flag("not-cleared", barred.words, code=lot.code, **barred.facts)
    ended = why_ended(lot, at)
    if ended is not None:
        a.refuse_or_flag(ended.code, ended.words, code=lot.code, **ended.facts)


def flag_loop(a: Act, child: Item, parent: Item) -> None:
    """Flag ``loop`` when the child is already in the parent, by whatever way."""
    if child.pk in ancestors(parent.pk):
        a.flag("loop", child=child.pk, parent=parent.pk)


def ancestors(item: int) -> set[int]:
    """Everything that an item is made from by links that stand."""
    seen: set[int] = set()
    frontier = {item}
    while frontier:
        rows = Link.objects.newest().filter(child_id__in=frontier, status=Link.Status.STANDS)
        frontier = set(rows.values_list("parent_id", flat=True)) - seen
        seen |= frontier
    return seen


def hold_by_cause(
    a: Act, items: Iterable[Item], causes: Iterable[str] | None = None, operation: Operation | None = None
) -> None:
    """Hold items for the causes that hold by themselves under the settings in force; by default those flagged.

    ``operation`` is the one after which a hold of that scope stops the unit.
    """
    items = list(items)
    for cause in sorted(a.flags if causes is None else causes):
        scope = hold_scope(cause, a.at)
        if scope:
            after = operation if scope == Hold.Scope.AFTER else None
            write_holds(a, [Hold(item=item, reason=cause, scope=scope, operation=after, at=a.at) for item in items])


def write_holds(a: Act, holds: list[Hold]) -> list[Hold]:
    """Write holds; from here on the gates look closer at the items."""
    ItemState.objects.filter(pk__in=[hold.item_id for hold in holds]).update(has_holds=True, entry=a.entry)
    return a.write_all(holds)


def ask_amount(lot: Item, quantity: Quantity, said: Said) -> None:
    """Before an amount is taken: refuse ``over-drawn`` where a lot holds less by the records and its last count.

    A page asks this before the act. The act itself takes what was told, since the records may be wrong, and flags it.
    """
    if not is_asked(said) or quantity.unit_kind != lot.part.unit_kind or not is_booked_in(lot):
        return
    left = left_of(lot)
    if quantity.steps > left:
        raise Refused(
            "over-drawn",
            "%(code)s holds %(left)s by the records. Take less, or weigh what is left and count it first.",
            code=lot.code,
            left=print_amount(max(left, 0), lot.part.unit, lot.part.unit_kind),
        )


def ask_here(item: Item, said: Said) -> None:
    """Before something is done to a thing: refuse as ``stop_gone`` does."""
    if is_asked(said):
        stop_gone(Look(said.happened_at), [item])


def ask_contents(tank: Tank, held: int, quantity: Quantity, said: Said) -> None:
    """Before an amount is drawn: refuse ``over-drawn`` where a tank holds less by its log. [steps]"""
    if is_asked(said) and quantity.unit_kind == tank.part.unit_kind and quantity.steps > held:
        raise Refused(
            "over-drawn",
            "%(tank)s holds %(left)s by its log. Draw less, or look for a charge that was not logged.",
            tank=tank.code,
            left=print_amount(held, tank.part.unit, tank.part.unit_kind),
        )


def is_asked(said: Said) -> bool:
    """Whether this has not happened yet, by what is told and by what is on file under the key."""
    return not said.done and not was_taken(said.key)
