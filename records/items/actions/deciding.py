"""A received lot is accepted, rejected or released at risk."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from plant.catalogue.models import Part
from plant.codes import fold
from plant.people.queries import works_zone
from plant.quantities import Quantity, print_amount
from plant.times import written_out
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..clearing import against_accepting, decision_on
from ..gates import hold_by_cause
from ..locking import lock_items
from ..models import Item, LotDecision, Receipt
from ..queries import is_booked_in, item_by_code

# A release at risk waits for a certificate, not for years: a choice of this project.
LONGEST_AT_RISK = timedelta(days=366)


def accept_lot(lot: str, *, words: str = "", seen: int | None = None, said: Said) -> LotDecision:
    """Accept a received lot: it may be used from then on.

    ``seen`` is the number of the decision that whoever decides had before them, nought for none. Refuses ``unknown``,
    ``wrong-kind`` and ``decided-meanwhile`` where another one stands; at the gate also ``decided-before`` for one that
    is accepted, and ``not-acceptable`` where its certificate or how it came stands against it and no departure was
    allowed.
    """
    return _decide("lot accepted", lot, LotDecision.Decision.ACCEPT, words, said, seen=seen)


def reject_lot(lot: str, *, words: str, seen: int | None = None, said: Said) -> LotDecision:
    """Reject a received lot: it may not be used, nor what was split off it.

    Refuses ``unknown``, ``wrong-kind``, ``no-reason`` and ``decided-meanwhile``; at the gate also ``decided-before``.
    """
    if not words.strip():
        raise Refused("no-reason", "Write why this lot is rejected. The auditor will read it.")
    return _decide("lot rejected", lot, LotDecision.Decision.REJECT, words, said, seen=seen)


def release_at_risk(
    lot: str,
    *,
    words: str,
    limit: Quantity | None = None,
    until: datetime | None = None,
    seen: int | None = None,
    said: Said,
) -> LotDecision:
    """Let a lot be used before it is acceptable, so much and so long; what holds it can't be released till accepted.

    Who says it has approved it. A lot at risk may be released again, within other limits. Refuses ``unknown``,
    ``wrong-kind``, ``no-reason``, ``decided-meanwhile``, and ``no-limit`` without an amount and a time to come.
    """
    if not words.strip():
        raise Refused("no-reason", "Write why this lot is used before it is accepted.")
    limits = Limits(limit.steps if limit else None, until, limit.unit_kind if limit else "")
    return _decide("lot released at risk", lot, LotDecision.Decision.RISK, words, said, limits, seen)


@dataclass(frozen=True)
class Limits:
    """How much of a lot may be used at most, and until when."""

    amount: int | None = None
    until: datetime | None = None
    unit_kind: str = ""

    def as_read(self) -> dict[str, object]:
        return {"limit_amount": self.amount, "limit_until": self.until}


def _decide(
    kind: str,
    lot: str,
    decision: str,
    words: str,
    said: Said,
    limits: Limits | None = None,
    seen: int | None = None,
) -> LotDecision:
    stated = limits.as_read() if limits else {}
    looked_at = {} if seen is None else {"seen": seen}
    with act(kind, said, lot=fold(lot), words=Free(words), **stated, **looked_at) as a:
        if a.made:
            return LotDecision.objects.get(entry=a.entry)
        item = item_by_code(lot)
        if item.kind != Part.Tracked.LOT:
            raise Refused("wrong-kind", "%(code)s is a unit. Lots are accepted; units are released.", code=item.code)
        if not is_booked_in(item):
            raise Refused("unknown", "%(code)s is not booked in yet. Receive it first.", code=item.code)
        if item.origin == Item.Origin.MADE and decision != LotDecision.Decision.ACCEPT:
            raise Refused("wrong-kind", "%(code)s was made here. Hold it, or scrap it.", code=item.code)
        lock_items([item])
        if seen is not None:
            _stop_unseen(item, seen)
        _stop_second(a, item, decision)
        if decision == LotDecision.Decision.ACCEPT:
            _stop_unacceptable(a, item)
        if limits is not None:
            _ask_limits(a, item, limits)
        made = a.write(LotDecision(item=item, decision=decision, at=a.at, reason=keep_words(words), **stated))
        hold_by_cause(a, [item])
        return made


def last_decision(item: Item) -> LotDecision | None:
    """The decision on a lot that was put on file last, whatever time it tells."""
    return LotDecision.objects.filter(item=item).select_related("entry__by__name_words").order_by("-pk").first()


def _stop_unseen(item: Item, seen: int) -> None:
    """Two people may have the same lot before them: the second press must not put the first aside unseen."""
    last = last_decision(item)
    if last is None or last.pk == seen:
        return
    raise Refused(
        "decided-meanwhile",
        "%(by)s has decided on %(code)s since this page was opened: it is %(decision)s. Nothing of yours was kept. "
        "Press again only if yours is to stand instead.",
        by=last.entry.by.name,
        code=item.code,
        decision=last.get_decision_display(),
    )


def _stop_second(a: Act, item: Item, decision: str) -> None:
    """The page of a decision may be opened again by a step back: under another key it would decide a second time."""
    standing = decision_on(item, at=a.at)
    if standing is None or standing.decision != decision or decision == LotDecision.Decision.RISK:
        return
    a.refuse_or_flag(
        "decided-before",
        "%(code)s is %(decision)s already: %(by)s did so. Nothing changed.",
        code=item.code,
        decision=standing.get_decision_display(),
        by=standing.entry.by.name,
    )


def _stop_unacceptable(a: Act, item: Item) -> None:
    against = against_accepting(item)
    if against:
        a.refuse_or_flag(
            "not-acceptable",
            "%(code)s can’t be accepted. %(why)s Note a departure that two people allow, reject it, or ask Review to "
            "release it at risk.",
            code=item.code,
            why=" ".join(against),
        )


def _ask_limits(a: Act, item: Item, limits: Limits) -> None:
    if limits.amount is None or limits.amount <= 0 or limits.until is None:
        raise Refused(
            "no-limit", "Write how much of %(code)s may be used at most, and until when: both.", code=item.code
        )
    if limits.unit_kind != item.part.unit_kind:
        raise Refused(
            "wrong-kind",
            "%(part)s is measured in %(unit)s. Write the amount so.",
            part=item.part.number,
            unit=item.part.unit,
        )
    if limits.until <= a.at:
        raise Refused(
            "no-limit",
            "%(until)s has passed. Write until when %(code)s may be used.",
            until=written_out(limits.until, works_zone()),
            code=item.code,
        )
    if limits.until - a.at > LONGEST_AT_RISK:
        raise Refused(
            "no-limit",
            "%(until)s is more than a year away: that is no limit for %(code)s. Write an earlier moment.",
            until=written_out(limits.until, works_zone()),
            code=item.code,
        )
    came = Receipt.objects.standing().filter(item=item).order_by("-pk").values_list("amount", flat=True).first()
    if came is not None and limits.amount > came:
        raise Refused(
            "no-limit",
            "%(came)s of %(code)s came: %(limit)s is no limit. Write how much of it may be used at most.",
            came=print_amount(came, item.part.unit, item.part.unit_kind),
            limit=print_amount(limits.amount, item.part.unit, item.part.unit_kind),
            code=item.code,
        )
