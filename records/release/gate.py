"""The gate before a unit leaves: what the route asks for, line by line, and whether a person may let it go.

Passing the gate never proves that a frame is safe; a responsible person releases it.
"""

from __future__ import annotations

from dataclasses import dataclass

from plant.catalogue.models import OperationAsk
from plant.catalogue.queries import route_of
from records.inspection.judging import Verdict
from records.inspection.queries import latest_of
from records.items.clearing import UNDECIDED, never_decided
from records.items.models import Evidence, Item, LotDecision
from records.items.queries import holds_on, names_of
from records.ledger.marks import Mark
from records.quality.models import Countersign, Disposition, Nonconformance
from records.steps.queries import done_operations
from records.trace.walking import walk

WITHIN, ALLOWED, MISSING, OUTSIDE, HELD = "within", "allowed", "missing", "outside", "held"
# How a lot stands that was let into a unit and is not accepted: a rejection never opens what a release at risk shut.
NOT_CLEARED: dict[str, str] = {LotDecision.Decision.RISK: "at-risk", LotDecision.Decision.REJECT: "reject"}

# A scratch that two people allow is no leave to ship a frame whose cure failed.
ANSWERED_BY: dict[str, set[str]] = {
    OperationAsk.What.MEASURE: {Nonconformance.Defect.DIMENSION},
    OperationAsk.What.RUN: {Nonconformance.Defect.CURE, Nonconformance.Defect.LEAK},
}

_WORDS = {
    "at-risk": "is released at risk and not accepted",
    "reject": "is rejected",
    UNDECIDED: "was never decided on",
}


@dataclass(frozen=True)
class GateLine:
    """One thing that is asked for, and how it stands."""

    what: str
    name: str
    verdict: str

    @property
    def words(self) -> str:
        """How it stands, for a sentence about its name."""
        return _WORDS.get(self.verdict, f"is {self.verdict}")

    @property
    def is_open(self) -> bool:
        return self.verdict not in (WITHIN, ALLOWED)

    @property
    def is_done_step(self) -> bool:
        return self.what == "step" and self.verdict == WITHIN


def gate_of(unit: Item, mark: Mark | None = None) -> list[GateLine]:
    """Every line of a unit's gate: steps, runs and measures that its route names, holds, lots not accepted.

    As known at a mark, where one is told.
    """
    route = route_of(unit.part, unit.born_at)
    done = done_operations([unit.pk], mark)[unit.pk]
    lines = [GateLine("step", o.name, WITHIN if o.name in done else MISSING) for o in route]
    countersigned = Countersign.objects.known(mark).filter(disposition__choice=Disposition.Choice.AS_IS)
    as_is = countersigned.filter(disposition__nonconformance__item=unit)
    allowed = set(as_is.values_list("disposition__nonconformance__defect", flat=True))
    asks = OperationAsk.objects.filter(operation__in=route).order_by("operation__n", "pk")
    for ask in asks:
        verdict = _verdict(unit, ask, bool(allowed & ANSWERED_BY[ask.what]), mark)
        lines.append(GateLine(ask.what, ask.name, verdict))
    lines += [GateLine("hold", hold.reason, HELD) for hold in holds_on([unit.pk], mark)]
    lines += [GateLine("lot", code, verdict) for code, verdict in lots_not_cleared(unit, mark)]
    return lines


def _verdict(unit: Item, ask: OperationAsk, allowed: bool, mark: Mark | None) -> str:
    if ask.what == OperationAsk.What.MEASURE:
        return _of_measure(latest_of(unit, ask.name, mark).verdict, allowed)
    rows = Evidence.objects.known(mark).filter(item=unit, what=ask.what, name=ask.name)
    evidence = rows.order_by("-at", "-pk").first()
    if evidence is None or evidence.verdict == Evidence.Verdict.NOT_SHOWN:
        return MISSING
    if evidence.verdict == Evidence.Verdict.OUTSIDE:
        return ALLOWED if allowed else OUTSIDE
    return WITHIN


def _of_measure(verdict: Verdict, allowed: bool) -> str:
    """A measure as it stands: corrected, taken back or gone over to another unit with a swapped label."""
    if verdict == Verdict.MISSING:
        return MISSING
    if verdict.is_outside:
        return ALLOWED if allowed else OUTSIDE
    return WITHIN


def lots_not_cleared(unit: Item, mark: Mark | None = None) -> list[tuple[str, str]]:
    """Lots in a unit that are not accepted: released at risk, rejected, or never decided on; each with how it stands.

    Whether the last count goes by the settings of the works that were in force when the unit was begun.
    """
    inside = walk([unit.pk], down=False, mark=mark).labels
    # Columns of one table alone: without statistics PostgreSQL joins thousands of rows in loops.
    decisions = LotDecision.objects.known(mark).filter(item_id__in=list(inside)).order_by("at", "pk")
    newest = dict(decisions.values_list("item_id", "decision"))  # of several the last counts
    stand = {item: NOT_CLEARED[decision] for item, decision in newest.items() if decision in NOT_CLEARED}
    stand |= dict.fromkeys(never_decided(inside, unit.born_at, mark), UNDECIDED)
    return sorted((names.code, stand[item]) for item, names in names_of(stand, mark).items())
