"""Whether a lot may be used as far as acceptance goes, and what stands against accepting it.

What was split off a lot, put together from lots or came as a package of one goes by the decisions on those: a spool
of a rejected lot is no better than the lot.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import F, OuterRef, QuerySet, Subquery
from django.utils.translation import gettext_noop

from plant.catalogue.models import Part, PartRevision
from plant.catalogue.queries import hold_scope
from plant.people.queries import works_zone
from plant.quantities import print_amount
from plant.times import written_out
from records.ledger.asking import Asking, Slot, columns, instances
from records.ledger.marks import Mark

from .certificates import MISSING, Asked, Given, Judged, judged
from .models import ArrivalFinding, CertificateValue, Evidence, Item, ItemState, Link, LotDecision, Receipt
from .queries import PACKAGE, balances, is_booked_in

ALLOWED = "allowed"  # evidence of a departure on a lot that two people allowed as it is
NOT_CLEARED, NOT_BOOKED_IN = "not-cleared", "not-booked-in"  # causes for which a use may hold by itself
UNDECIDED = "undecided"
QUARANTINE = "quarantine"

ACCEPT, REJECT, RISK = LotDecision.Decision.ACCEPT, LotDecision.Decision.REJECT, LotDecision.Decision.RISK


@dataclass(frozen=True)
class Barred:
    """Why a lot may not be used, as a sentence with the facts that go into it."""

    why: str
    facts: dict[str, object]

    @property
    def words(self) -> str:
        """The sentence; one of a lot that was cut off another names that one."""
        return (_OF_WHAT_IT_COMES_FROM if "mother" in self.facts else _OF_ITSELF)[self.why]


_OF_ITSELF = {
    QUARANTINE: gettext_noop("%(code)s is still in quarantine. Take another one, or ask Stores to accept it."),
    "rejected": gettext_noop("%(code)s is rejected. Put it aside and take another one."),
    "over": gettext_noop("%(code)s was released at risk until %(until)s and is not accepted yet. Ask Review."),
    "used-up": gettext_noop(
        "%(code)s is released at risk for %(limit)s, of which %(free)s is left. Take less, or ask Review."
    ),
}
_OF_WHAT_IT_COMES_FROM = {
    QUARANTINE: gettext_noop(
        "%(code)s comes from %(mother)s, which is still in quarantine. Take another one, or ask Stores to accept that."
    ),
    "rejected": gettext_noop("%(code)s comes from %(mother)s, which is rejected. Put it aside and take another one."),
    "over": gettext_noop(
        "%(code)s comes from %(mother)s, which was released at risk until %(until)s and is not accepted yet. Ask "
        "Review."
    ),
    "used-up": gettext_noop(
        "%(code)s comes from %(mother)s, released at risk for %(limit)s, of which %(free)s is left. Take less, or ask "
        "Review."
    ),
}


def decision_on(item: Item, mark: Mark | None = None, at: datetime | None = None) -> LotDecision | None:
    """Newest decision on a received lot, up to a moment."""
    row = next(iter(_DECISION.rows(mark, item=item.pk, at=at)), None)
    return instances(row, _OF_DECISION)[0] if row else None


def _newest_decision(mark: Mark | None, item: Slot, at: Slot | None) -> QuerySet:
    decisions = LotDecision.objects.known(mark).filter(item_id=item)
    if at is not None:
        decisions = decisions.filter(at__lte=at)
    return decisions.order_by("-at", "-pk").values_list(*columns(_OF_DECISION))[:1]


_OF_DECISION = {"": LotDecision}
_DECISION = Asking(_newest_decision)


def is_cleared(item: Item, mark: Mark | None = None, at: datetime | None = None, steps: int = 0) -> bool:
    """Whether an item, or ``steps`` more of it, may be used as far as acceptance goes."""
    return why_barred(item, mark, at, steps) is None


def why_barred(
    item: Item,
    mark: Mark | None = None,
    at: datetime | None = None,
    steps: int = 0,
    behind: frozenset[int] = frozenset(),
) -> Barred | None:
    """Why an item, or ``steps`` more of it, may not be used as far as acceptance goes; none where it may.

    ``behind`` are lots looked at on the way here: lots put together may be made from each other.
    """
    if item.origin == Item.Origin.MADE:
        return _by_its_mothers(item, mark, at, steps, behind | {item.pk})
    decision = decision_on(item, mark, at)
    if decision is None:
        return Barred(QUARANTINE, {})
    return _by_decision(decision, item, mark, at, steps)


def _by_its_mothers(
    item: Item, mark: Mark | None, at: datetime | None, steps: int, behind: frozenset[int]
) -> Barred | None:
    """By the lots that a lot was cut off: a use counts against their limit only where it came as a package."""
    for link in mothers_of(item, mark):
        if link.parent_id in behind or not is_booked_in(link.parent, mark):
            continue
        barred = why_barred(link.parent, mark, at, steps if link.reason == PACKAGE else 0, behind)
        if barred is not None and (barred.why != QUARANTINE or _goes_by_quarantine(item, link)):
            return Barred(barred.why, {"mother": link.parent.code} | barred.facts)
    return None


def _goes_by_quarantine(item: Item, link: Link) -> bool:
    """Whether what was cut off a lot still in quarantine is in quarantine as well: a package always is.

    Elsewhere it was told as done. A works whose settings hold nothing for that has said that it takes it as it is.
    """
    return link.reason == PACKAGE or bool(hold_scope(NOT_CLEARED, item.born_at))


def mothers_of(lot: Item, mark: Mark | None = None) -> list[Link]:
    """Links to the lots of the same part that a lot was split off, put together from, or came as a package of."""
    mothers = []
    for row in _MOTHERS.rows(mark, lot=lot.pk, part=lot.revision.part_id):
        link, mother, revision, part, state = instances(row, _WITH_PARENT)
        link.parent, mother.revision, revision.part, mother.state = mother, revision, part, state
        mothers.append(link)
    return mothers


_WITH_PARENT = {
    "": Link,
    "parent__": Item,
    "parent__revision__": PartRevision,
    "parent__revision__part__": Part,
    "parent__state__": ItemState,
}
_MOTHERS = Asking(
    lambda mark, lot, part: (
        Link.objects.newest(mark)
        .filter(child_id=lot, status=Link.Status.STANDS, draw=None, parent__revision__part_id=part)
        .order_by("pk")
        .values_list(*columns(_WITH_PARENT))
    )
)


def _by_decision(
    decision: LotDecision, item: Item, mark: Mark | None, at: datetime | None, steps: int
) -> Barred | None:
    if decision.decision == ACCEPT:
        return None
    if decision.decision == REJECT:
        return Barred("rejected", {})
    until, limit = decision.limit_until, decision.limit_amount
    if until is not None and at is not None and at > until:
        return Barred("over", {"until": written_out(until, works_zone())})
    if limit is None:
        return None
    free = limit - taken_of(item, mark)
    if steps <= free:
        return None
    return Barred("used-up", {"limit": _amount(limit, item), "free": _amount(max(free, 0), item)})


def taken_of(lot: Item, mark: Mark | None = None) -> int:
    """What was taken of a delivery, its packages with it: setting a package apart is no use of it. [steps]"""
    links = Link.objects.standing(mark).filter(parent=lot, reason=PACKAGE)
    packages = {child: amount or 0 for child, amount in links.values_list("child_id", "amount")}
    drawn = balances([lot.pk, *packages], mark)
    return drawn[lot.pk].drawn - sum(packages.values()) + sum(drawn[pk].drawn for pk in packages)


def _amount(steps: int, lot: Item) -> str:
    return print_amount(steps, lot.part.unit, lot.part.unit_kind)


def decisions_on(lots: Iterable[int]) -> dict[int, str]:
    """The newest decision on each received lot, none for one in quarantine; one query."""
    rows = LotDecision.objects.filter(item_id__in=set(lots)).order_by("at", "pk")
    return dict(rows.values_list("item_id", "decision"))


def never_decided(items: Iterable[int], at: datetime, mark: Mark | None = None) -> set[int]:
    """Lots among items that came from outside and on which nobody has decided; three queries at most.

    Such a lot was used all the same, told as done. It counts where the works' settings at a moment hold by themselves
    what is used so: a works that does not stop for it has said that it takes it as it is.
    """
    causes = {cause for cause in (NOT_CLEARED, NOT_BOOKED_IN) if hold_scope(cause, at)}
    wanted = list(items) if causes else []
    outside = Item.objects.filter(pk__among=wanted, kind=Part.Tracked.LOT).exclude(origin=Item.Origin.MADE)
    came = set(outside.values_list("pk", flat=True)) if wanted else set()
    if not came:
        return came
    came -= set(LotDecision.objects.known(mark).filter(item_id__among=came).values_list("item_id", flat=True))
    booked = set(Receipt.objects.standing(mark).filter(item_id__among=came).values_list("item_id", flat=True))
    return {lot for lot in came if (NOT_CLEARED if lot in booked else NOT_BOOKED_IN) in causes}


def certificate_of(receipt: Receipt, mark: Mark | None = None) -> list[Judged]:
    """The values of a delivery's certificate against what its part asked for when it came; two queries."""
    values = CertificateValue.objects.known(mark).filter(receipt__item=receipt.item_id).order_by("pk")
    limits = receipt.item.revision.certificate_limits.order_by("pk")
    return judged(
        [Given(value.name, value.written, value.unit) for value in values],
        [Asked(limit.name, limit.unit, limit.lower, limit.upper) for limit in limits],
    )


def against_accepting(lot: Item) -> list[str]:
    """What stands against accepting a lot, as sentences, and that no two people have allowed."""
    receipt = Receipt.objects.standing().filter(item=lot).select_related("item__revision").order_by("-pk").first()
    if receipt is None:
        return []
    values = [one for one in certificate_of(receipt) if one.is_open]
    findings = list(ArrivalFinding.objects.filter(receipt__item=lot).order_by("pk"))
    allowed = last_allowed(lot) if values or findings else 0
    if allowed:  # what has come since, nobody had before them
        known = certificate_of(receipt, Mark(allowed))
        values, findings = [one for one in values if one not in known], []
    missing = ", ".join(one.name for one in values if one.verdict == MISSING)
    found = [one.words for one in values if one.verdict != MISSING]
    found += [f"Not on its certificate: {missing}."] if missing else []
    return found + [f"On arrival {finding.get_what_display()}." for finding in findings]


def last_allowed(lot: Item) -> int:
    """Number of the entry by which two people last allowed a departure on a lot as it is; nought for none."""
    rows = Evidence.objects.filter(item=lot, what=ALLOWED).order_by("-entry_id")
    return rows.values_list("entry_id", flat=True).first() or 0


def at_risk() -> list[LotDecision]:
    """Releases at risk whose lot is not accepted yet, those that end first at the head; used-up lots with them."""
    newest = LotDecision.objects.filter(item=OuterRef("item")).order_by("-at", "-pk").values("pk")[:1]
    rows = LotDecision.objects.filter(decision=RISK, pk=Subquery(newest))
    rows = rows.order_by(F("limit_until").asc(nulls_last=True))
    return list(rows.select_related("item__state", "item__revision__part", "entry__by__name_words"))
