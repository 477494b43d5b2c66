"""What came into a lot and where it is: used, left, in lots of its own, written off, sent back; and a count's gap.

A lot has a gap once somebody has counted or weighed what is left. Amounts by weight are taken as weighed on the scale
that was told with them, else on the coarsest one of the works; pieces are counted without error.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import median

from django.db.models import Q
from django.db.models.functions import Coalesce

from plant.catalogue.models import Part
from plant.equipment.models import Calibration, Gauge
from plant.quantities import print_amount

from .models import CountReason, Item, Link, Loss, Receipt, StockCount, TankEntry, WeighedOn
from .queries import MERGE, PACKAGE, SPLIT, Balance, held_at
from .weighing import Error, Gap, error_on, gap_of

WRONG = CountReason.Why.MISCOUNTED  # such a count says nothing of what is left
MASS, CAME, USED, APART, MOVED = "mass", "came in", "used", "in packages apart", "in other lots"
_WENT = {PACKAGE: APART, SPLIT: MOVED, MERGE: MOVED}  # by the reason of the link; by any other it was used
EXACT = Error()  # pieces, and what no scale of the works weighed


@dataclass(frozen=True)
class Scale:
    """A scale by its newest calibration: what it shows, and what its certificate leaves open, k = 2. [ug]"""

    code: str
    step: int
    expanded: int

    @property
    def error(self) -> Error:
        """How far one weighing on it can be off. [ug]"""
        return error_on(self.step, self.expanded, self.code)


@dataclass(frozen=True)
class Weighed:
    """One amount of a lot's balance. [steps of its part]"""

    what: str
    steps: int
    at: datetime
    code: str = ""
    error: Error = EXACT


@dataclass(frozen=True)
class Balanced:
    """A lot's balance with everything that was weighed for it, its last count and the gap which that shows."""

    part: Part
    sums: Balance
    weighed: tuple[Weighed, ...]
    count: StockCount | None
    gap: Gap | None
    doubted: int  # uses of which nobody knows whether they were of this lot
    counted_on: str = ""  # the scale by which the count's own error is told

    @property
    def apart(self) -> int:
        """What was set apart as packages with a label of their own: each is a lot with its own balance. [steps]"""
        return sum(one.steps for one in self.weighed if one.what == APART)

    @property
    def moved(self) -> int:
        """What was split off, or put together with another lot: it is used where that is used. [steps]"""
        return sum(one.steps for one in self.weighed if one.what == MOVED)

    @property
    def used(self) -> int:
        """What went into things, into pots and into tanks. [steps]"""
        return self.sums.drawn - self.apart - self.moved

    @property
    def left(self) -> int:
        """What is left: by the records, less what the last count found missing. [steps]"""
        return self.sums.left - (self.gap.amount if self.gap else 0)

    @property
    def one_use(self) -> int:
        """How much one use takes, as a rule: the median of those on file; nought where there is none. [steps]"""
        uses = [one.steps for one in self.weighed if one.what == USED and one.steps > 0]
        return round(median(uses)) if uses else 0

    def amount(self, steps: float) -> str:
        """An amount in words."""
        return print_amount(round(steps), self.part.unit, self.part.unit_kind)


def balanced(lot: Item) -> Balanced | None:
    """The balance of a lot; none for a unit, or where no amount came in on the books. A fixed number of queries."""
    if lot.kind != Part.Tracked.LOT:
        return None
    scales = scales_of_the_works() if lot.part.unit_kind == MASS else {}
    weighed = tuple(sorted(_weighed(lot, scales), key=lambda one: one.at))
    sums = _sums(weighed)
    if sums.received <= 0:
        return None
    counts = StockCount.objects.filter(item=lot).select_related("scale", "explained__words", "entry__by__name_words")
    count = counts.exclude(explained__why=WRONG).order_by("-at", "-pk").first()
    gap = _gap(count, weighed, scales) if count else None
    counted_on = of_weighing(count.scale, scales).scale if count else ""
    return Balanced(lot.part, sums, weighed, count, gap, unscanned_uses(lot) if gap else 0, counted_on)


def missing_by_counts(lots: Iterable[int]) -> dict[int, int]:
    """What the last count of each lot found missing, as ``balanced`` says it too; a fixed number of queries. [steps]"""
    counts = StockCount.objects.filter(item__in=set(lots)).exclude(explained__why=WRONG).order_by("at", "pk")
    last = {item: (at, counted) for item, at, counted in counts.values_list("item_id", "at", "counted")}
    due = held_at({item: at for item, (at, _) in last.items()}) if last else {}
    return {item: due[item] - counted for item, (_, counted) in last.items()}


def left_of(lot: Item) -> int:
    """What is left of a lot: by the records, less what its last count found missing. [steps]"""
    return (lot.state.remaining or 0) - missing_by_counts([lot.pk]).get(lot.pk, 0)


def _sums(weighed: Sequence[Weighed]) -> Balance:
    """The same sums as ``queries.balances`` tells, from the rows that are here already."""

    def of(what: str) -> int:
        return sum(one.steps for one in weighed if one.what == what)

    drawn = sum(one.steps for one in weighed if one.what in (USED, APART, MOVED))
    return Balance(of(CAME), drawn, of(str(Loss.Kind.SCRAP.label)), of(str(Loss.Kind.BACK.label)))


def scales_of_the_works() -> dict[str, Scale]:
    """Scales that have been calibrated, by code; one query."""
    rows = Calibration.objects.filter(unit_kind=MASS, resolution__isnull=False).order_by("done_at", "pk")
    found = rows.values_list("gauge__code", "resolution", "expanded")
    return {code: Scale(code, step or 0, expanded or 0) for code, step, expanded in found}


def _coarsest(scales: dict[str, Scale]) -> Scale | None:
    return max(scales.values(), key=lambda scale: scale.error.standard, default=None)


def of_weighing(scale: Gauge | None, scales: dict[str, Scale]) -> Error:
    """Error of a weighing on a scale, or on the coarsest where none is told. [ug]"""
    found = scales.get(scale.code) if scale else None
    found = found or _coarsest(scales)
    return found.error if found else EXACT


def _weighed(lot: Item, scales: dict[str, Scale]) -> Iterator[Weighed]:
    """Everything that came into a lot and went out of it, each as it was weighed."""
    error, on = of_weighing(None, scales), _scales_told(lot) if scales else {}
    for receipt in Receipt.objects.standing().filter(item=lot):
        yield Weighed(CAME, receipt.amount, receipt.at, error=error)
    links = Link.objects.standing().filter(draw=None, amount__isnull=False)
    links = links.annotate(drawn_at=Coalesce("first__at", "at"))  # its newest version may tell when it was taken out
    for link in links.filter(child=lot).select_related("parent__state"):
        own = of_weighing(on.get(link.line), scales)
        yield Weighed(CAME, link.amount or 0, link.drawn_at, link.parent.code, error=own)
    for link in links.filter(parent=lot).select_related("child__state"):
        own = of_weighing(on.get(link.line), scales)
        yield Weighed(_WENT.get(link.reason, USED), link.amount or 0, link.drawn_at, link.child.code, error=own)
    for line in TankEntry.objects.standing().filter(item=lot).select_related("tank"):
        what = CAME if line.kind == TankEntry.Kind.DRAW else USED
        yield Weighed(what, line.amount, line.at, line.tank.code, error=error)
    for loss in Loss.objects.standing().filter(item=lot, amount__isnull=False):
        yield Weighed(str(loss.get_kind_display()), loss.amount or 0, loss.at, error=error)


def _scales_told(lot: Item) -> dict[int, Gauge]:
    """The scale of each link to or from a lot, by the link's first version, where one was told."""
    rows = WeighedOn.objects.filter(Q(link__child=lot) | Q(link__parent=lot)).select_related("scale")
    return {row.link_id: row.scale for row in rows}


def unscanned_uses(lot: Item) -> int:
    """Things that may hold some of a lot, or of what was mixed from it, because nobody knows what was scanned.

    What may hold some by a tank or a change-over is not among them: its amount is on the books.
    """
    stands = Link.objects.newest().filter(status=Link.Status.STANDS)
    made = stands.filter(parent=lot, child__kind=Part.Tracked.LOT).values("child")
    doubted = stands.filter(Q(parent=lot) | Q(parent__in=made), certainty=Link.Certainty.POSSIBLE, draw=None, feed=None)
    return doubted.values("child").distinct().count()


def _gap(count: StockCount, weighed: Sequence[Weighed], scales: dict[str, Scale]) -> Gap:
    """What a count found missing, with the error of all that was weighed up to it, the count itself among it.

    Of what the records say of that moment by now: a use that was told late, or kept on a tablet, is no gap.
    """
    before = [one for one in weighed if one.at <= count.at]
    own = of_weighing(count.scale, scales)
    return gap_of(_sums(before).left - count.counted, [*(one.error for one in before), own])
