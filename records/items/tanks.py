"""What stands in a tank at a moment, by its log since it was cleaned last."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from plant.catalogue.models import Tank
from plant.codes import fold
from plant.quantities import print_amount
from records.ledger.acts import Said
from records.ledger.marks import Mark

from .deriving import log_around
from .gates import Gate, Look, is_asked, stop_barred, stop_held
from .mixing import DRAW, work_out
from .models import Item, TankEntry


def contents_at(tank: Tank, at: datetime, mark: Mark | None = None) -> dict[int, int]:
    """Steps of each lot in a tank at a moment, by perfect mixing; of nothing that is left, none."""
    lines = [line for line in log_around(tank.pk, at, mark) if line.at <= at]
    return {lot: steps for lot, steps in work_out(lines).contents.items() if steps}


def lots_in(tank: Tank, at: datetime) -> list[Item]:
    """Lots that stand in a tank at a moment, by perfect mixing."""
    rows = Item.objects.filter(pk__in=contents_at(tank, at)).select_related("state", "revision__part")
    return list(rows.order_by("pk"))


def lots_in_tanks(since: datetime, until: datetime) -> list[Item]:
    """Lots that stood in any tank or bin in a span: in it at the beginning, or charged until the end."""
    charged = TankEntry.objects.standing().filter(kind=TankEntry.Kind.CHARGE, at__range=(since, until))
    found = set(charged.values_list("item_id", flat=True))
    for tank in Tank.objects.order_by("pk"):
        found |= set(contents_at(tank, since))
    return list(Item.objects.filter(pk__in=found).select_related("state", "revision__part").order_by("pk"))


def drawn_after(tank: Tank, at: datetime, mark: Mark | None = None) -> set[int]:
    """What was drawn from a tank since a moment, until it was cleaned: what was charged then may be in it."""
    return {line.item for line in log_around(tank.pk, at, mark) if line.kind == DRAW and line.at >= at}


def stop_tank(a: Gate, tank: Tank) -> None:
    """Refuse or flag ``held`` for a tank in which something may be that was held since it was charged."""
    stop_held(a, lots_in(tank, a.at))


def ask_tank(tank: Tank, said: Said) -> None:
    """Before an amount is drawn: refuse as a use of any lot that may be in the tank, for what a page asks about."""
    if is_asked(said):
        look_in(Look(said.happened_at), tank)


def ask_empty(tank: Tank, said: Said) -> None:
    """Before a tank is told to be clean: refuse ``not-empty`` as ``stop_filled`` does."""
    if is_asked(said):
        stop_filled(Look(said.happened_at), tank)


def stop_filled(a: Gate, tank: Tank) -> None:
    """Refuse or note ``not-empty`` for a tank that holds something by its log.

    A cleaning cuts everything that is drawn later off the lots before, and so off their recalls.
    """
    held = sum(contents_at(tank, a.at).values())
    if held > 0:
        words = "%(tank)s still holds %(left)s by its log. Look into it: a cleaning cuts it off from every lot before."
        left = print_amount(held, tank.part.unit, tank.part.unit_kind)
        a.refuse_or_flag("not-empty", words, tank=tank.code, left=left)


def look_in(a: Gate, tank: Tank) -> None:
    """Refuse or note, as a use of each, what stands in a tank: what is held, past its end, or not accepted by then."""
    for lot in lots_in(tank, a.at):
        stop_barred(a, lot)


def tanks_named(codes: Iterable[str]) -> dict[str, Tank]:
    """Tanks among codes, in the order in which they are locked."""
    rows = Tank.objects.filter(kind=Tank.Kind.TANK, code__in={fold(code) for code in codes}).select_related("part")
    return {tank.code: tank for tank in rows.order_by("pk")}
