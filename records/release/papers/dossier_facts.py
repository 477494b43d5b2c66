"""Everything on file about one unit and about what is joined in it, as known at a mark, for its dossier."""

from __future__ import annotations

from dataclasses import dataclass

from plant.catalogue.models import Part
from records.items.models import Item, Receipt
from records.items.queries import names_of
from records.ledger.marks import Mark
from records.ledger.memory import remembering
from records.ledger.models import Flag
from records.steps.carrying import carriers_of
from records.steps.models import UnitCarrier
from records.trace.content import Content, content_of
from records.trace.history import Decided, Measured, decisions_on, flags_on, measured_on
from records.trace.labelling import ENDED
from records.trace.queries import Asked
from records.trace.way import Happening, ways_of

from ..gate import GateLine, gate_of
from .corrections import Corrected, corrections_of
from .revisions import RevisionTold, Under, revisions_under
from .runs import RunTold, runs_of
from .unit import UnitTold, unit_for_paper, unit_told


@dataclass(frozen=True)
class Way:
    """What happened to one unit, in order."""

    code: str
    kind: str
    happenings: tuple[Happening, ...]


@dataclass(frozen=True)
class Dossier:
    """The facts of a dossier."""

    unit: UnitTold
    gate: tuple[GateLine, ...]
    content: tuple[Content, ...]
    deliveries: dict[int, str]
    ways: tuple[Way, ...]
    carriers: tuple[tuple[str, UnitCarrier], ...]
    runs: tuple[RunTold, ...]
    measured: tuple[Measured, ...]
    decisions: tuple[tuple[str, Decided], ...]
    corrections: tuple[Corrected, ...]
    flags: tuple[Flag, ...]
    revisions: tuple[RevisionTold, ...]


def dossier_of(code: str, mark: Mark) -> Dossier:
    """Dossier of the unit with a code. Refuses ``unknown`` and ``no-unit``.

    Names and words that were erased since are erased here too, whatever the mark.
    """
    with remembering():
        return _dossier_of(unit_for_paper(code, mark), mark)


def _dossier_of(item: Item, mark: Mark) -> Dossier:
    content = content_of(item, Asked(mark, ended=True, cut_off_ppb=0))
    inside = [row.found.item for row in content if row.found.cls != ENDED]
    units = [item.pk, *(r.found.item for r in content if r.found.cls != ENDED and r.found.kind in Part.UNIT_KINDS)]
    kinds = {row.found.item: row.kind for row in content} | {item.pk: str(Part.Kind(item.part.kind).label)}
    names = names_of([item.pk, *kinds], mark)
    ways, measured, runs = ways_of(units, mark), measured_on(units, mark), runs_of(units, mark)
    under = Under([item.pk, *inside], [run.recipe for run in runs if run.recipe], [m.band_revision for m in measured])
    return Dossier(
        unit=unit_told(item, mark, "Dossier"),
        gate=tuple(gate_of(item, mark)),
        content=tuple(content),
        deliveries=_deliveries([row.found.item for row in content], mark),
        ways=tuple(Way(names[unit].code, kinds[unit], tuple(ways[unit])) for unit in units),
        carriers=tuple((names[row.unit_id].code, row) for row in carriers_of(units, mark)),
        runs=tuple(runs),
        measured=tuple(measured),
        decisions=tuple((names[d.item].code, d) for d in decisions_on([item.pk, *inside], mark)),
        corrections=tuple(corrections_of(units, [row.found.item for row in content], measured, mark)),
        flags=tuple(flags_on([item.pk, *inside], mark)),
        revisions=tuple(revisions_under(under, mark)),
    )


def _deliveries(items: list[int], mark: Mark) -> dict[int, str]:
    """Supplier, its lot and the last good day of what was delivered; one query."""
    rows = Receipt.objects.standing(mark).filter(item__in=items).order_by("entry_id")
    found = {}
    for item, supplier, lot, expires in rows.values_list("item_id", "supplier", "supplier_lot", "expires_on"):
        words = [supplier, f"lot {lot}" if lot else "", f"good to {expires.isoformat()}" if expires else ""]
        found[item] = ", ".join(word for word in words if word)
    return found
