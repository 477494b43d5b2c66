"""Everything on file about one item, for its page: what was measured, decided, corrected and flagged."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Q

from plant.quantities import print_steps
from records.inspection.judging import Verdict, is_near_edge
from records.inspection.models import Measurement
from records.inspection.queries import verdict_of
from records.items.models import ConsignmentLine, Hold, Item, Link, LotDecision, Move
from records.items.reasons import reason_words
from records.ledger.models import Flag
from records.ledger.patterns import Version
from records.quality.models import Nonconformance
from records.steps.models import StepRecord


@dataclass(frozen=True)
class Measured:
    """One measurement as it stands, with what it said before it was corrected."""

    name: str
    code: str
    got: str
    unit: str
    band: str
    verdict: str
    at: datetime
    by: str
    before: tuple[str, ...]
    value: int | None
    lower: int | None
    upper: int | None


def measured_on(units: Iterable[int]) -> list[Measured]:
    """Measurements of units in order of time, one query."""
    lines: dict[int, list[Measurement]] = defaultdict(list)
    rows = Measurement.objects.filter(unit_id__in=list(units)).order_by("version")
    related = ("characteristic_revision__characteristic", "entry__by__name_words", "unit__state")
    for row in rows.select_related(*related):
        lines[row.line].append(row)
    return sorted((_measured(versions) for versions in lines.values()), key=lambda m: m.at)


def _measured(versions: list[Measurement]) -> Measured:
    *before, row = versions
    band = row.characteristic_revision
    verdict = str(verdict_of(row).value)
    if row.status == Version.Status.WITHDRAWN:
        verdict = "withdrawn"
    elif verdict == Verdict.WITHIN and is_near_edge(row.value or 0, band.lower, band.upper):
        verdict = "near-edge"
    return Measured(
        name=band.characteristic.name,
        code=row.unit.code,
        got=_got(row),
        unit=row.unit_text or band.unit,
        band=_band(band.lower, band.upper, band.unit, band.unit_kind),
        verdict=verdict,
        at=row.at,
        by=row.entry.by.name,
        before=tuple(_got(old) for old in before),
        value=row.value,
        lower=band.lower,
        upper=band.upper,
    )


def _got(row: Measurement) -> str:
    """The value as it was written, or as it was worked out from several readings."""
    if row.value is None:
        return "not read"
    if row.written:
        return row.written
    band = row.characteristic_revision
    return f"{Decimal(print_steps(row.value, band.unit, band.unit_kind)):.{band.decimals}f}"


def _band(lower: int | None, upper: int | None, unit: str, unit_kind: str) -> str:
    low = None if lower is None else print_steps(lower, unit, unit_kind)
    high = None if upper is None else print_steps(upper, unit, unit_kind)
    if low is None:
        return "" if high is None else f"at most {high}"
    return f"at least {low}" if high is None else f"{low} to {high}"


@dataclass(frozen=True)
class Decided:
    """A decision about an item: what it was about, what was decided, why, by whom."""

    about: str
    code: str
    state: str
    word: str
    why: str
    by: str
    at: datetime


def decisions_on(item: Item) -> list[Decided]:
    """Decisions on a lot, its holds that were lifted, departures and what became of them; three queries."""
    found: list[Decided] = []
    lots = LotDecision.objects.filter(item=item).select_related("entry__by__name_words", "reason")
    found += [Decided("This lot", "", d.decision, "", str(d.reason or ""), d.entry.by.name, d.at) for d in lots]
    lifted = Hold.objects.filter(item=item, lift__isnull=False)
    for hold in lifted.select_related("lift__entry__by__name_words", "lift__words"):
        why = str(hold.lift.words or "")
        found.append(
            Decided(
                f"Hold: {reason_words(hold.reason)}", "", "done", "Lifted", why, hold.lift.entry.by.name, hold.lift.at
            )
        )
    return sorted([*found, *_departures(item)], key=lambda d: d.at)


def _departures(item: Item) -> list[Decided]:
    related = ("disposition__entry__by__name_words", "disposition__words", "entry__by__name_words", "words")
    rows = Nonconformance.objects.newest().filter(item=item).select_related(*related)
    found = []
    for row in rows:
        decision = getattr(row, "disposition", None)
        told, word = (row, "Nobody has decided") if decision is None else (decision, decision.get_choice_display())
        state = "waiting" if decision is None else "done"
        found.append(
            Decided(
                row.get_defect_display(),
                row.code,
                state,
                word.capitalize(),
                str(told.words or ""),
                told.entry.by.name,
                told.entry.happened_at,
            )
        )
    return found


def links_corrected(item: Item) -> list[Link]:
    """Later versions of the links that say what an item is made from: what was corrected, withdrawn, taken out."""
    later = Link.objects.filter(child=item, version__gt=1).select_related(
        "parent__state", "words", "entry__by__name_words"
    )
    return list(later.order_by("entry_id"))


def flags_on(item: Item) -> list[Flag]:
    """Rules that entries about an item have broken."""
    about = Q(pk__in=[])
    for model, column in (
        (Measurement, "unit"),
        (StepRecord, "unit"),
        (Link, "child"),
        (Move, "item"),
        (Hold, "item"),
        (ConsignmentLine, "item"),
    ):
        about |= Q(entry_id__in=model._base_manager.filter(**{column: item}).values("entry_id"))
    return list(Flag.objects.filter(about).select_related("entry__by__name_words").order_by("entry_id", "pk"))
