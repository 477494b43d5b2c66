"""Holds: an item may not be used, moved on or shipped until somebody lifts it with a reason."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID

from plant.catalogue.models import Operation
from plant.codes import fold
from records.ledger.acts import Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..gates import write_holds
from ..locking import lock_items
from ..models import Hold, HoldLift
from ..queries import item_by_code
from .labels import SWAP


def place_hold(
    item: str,
    *,
    reason: str,
    words: str = "",
    scope: int = Hold.Scope.ALL,
    operation: Operation | None = None,
    said: Said,
) -> Hold:
    """Hold an item. Several holds may bind at once.

    The same key again returns the hold it made the first time. Refuses ``unknown`` and ``no-reason``.
    """
    stated = {"reason": reason, "words": Free(words), "scope": scope, "operation": operation}
    with act("hold placed", said, item=fold(item), **stated) as a:
        if a.made:
            return Hold.objects.get(entry=a.entry)
        thing = item_by_code(item)
        if not reason.strip():
            raise Refused("no-reason", "Choose why %(code)s is held.", code=thing.code)
        if scope == Hold.Scope.AFTER and operation is None:
            raise Refused("unknown", "Say after which operation %(code)s stops.", code=thing.code)
        lock_items([thing])
        hold = Hold(item=thing, reason=reason, words=keep_words(words), scope=scope, operation=operation, at=a.at)
        return write_holds(a, [hold])[0]


def place_holds(codes: Sequence[str], *, reason: str, words: str = "", said: Said) -> list[Hold]:
    """Hold several items for one reason, all of them or none: what one bad lot went into.

    Refuses ``unknown`` and ``no-reason``.
    """
    with act("hold placed", said, items=[fold(code) for code in codes], reason=reason, words=Free(words)) as a:
        if a.made:
            return list(Hold.objects.filter(entry=a.entry).order_by("pk"))
        things = list({thing.pk: thing for thing in map(item_by_code, codes)}.values())
        if not things:
            raise Refused("unknown", "Nothing is chosen. Choose at least one thing to hold.")
        if not reason.strip():
            raise Refused("no-reason", "Choose why these are held.")
        lock_items(things)
        kept = keep_words(words)
        return write_holds(a, [Hold(item=thing, reason=reason, words=kept, at=a.at) for thing in things])


def lift_hold(hold: UUID, *, item: str = "", reason: str = "", words: str, said: Said) -> HoldLift:
    """Lift the hold that was placed under a key, with the reason why.

    One entry may hold several items, and one item for several causes: ``item`` and ``reason`` say which hold is meant;
    without them it is the first that binds. Refuses ``unknown`` where no such hold binds, ``no-reason``, and
    ``second-person`` for swapped labels: that hold ends when two people have confirmed them.
    """
    with act("hold lifted", said, hold=hold, item=fold(item), reason=reason, words=Free(words)) as a:
        if a.made:
            return HoldLift.objects.get(entry=a.entry)
        if not words.strip():
            raise Refused("no-reason", "Write why you lift this hold. The auditor will read it.")
        holds = Hold.objects.filter(entry__key=hold, lift=None).select_related("item__state").order_by("pk")
        if item:
            holds = holds.filter(item=item_by_code(item))
        standing = (holds.filter(reason=reason) if reason else holds).first()
        if standing is None:
            raise Refused("unknown", "No hold binds under this entry. It may be lifted already.")
        if standing.reason == SWAP:
            raise Refused("second-person", "Two people must confirm which of the swapped units is which.")
        lock_items([standing.item])
        return a.write(HoldLift(hold=standing, words=keep_words(words), at=a.at))


def lift_holds(hold: UUID, codes: Sequence[str], *, words: str, said: Said) -> list[HoldLift]:
    """Lift the holds that were placed on several items under one key, all of them or none, for one reason.

    Refuses ``unknown`` for an item that no such hold binds any more, ``no-reason``, and ``second-person`` for swapped
    labels.
    """
    stated = {"hold": hold, "items": [fold(code) for code in codes], "words": Free(words)}
    with act("hold lifted", said, **stated) as a:
        if a.made:
            return list(HoldLift.objects.filter(entry=a.entry).order_by("pk"))
        if not words.strip():
            raise Refused("no-reason", "Write why you lift these holds. The auditor will read it.")
        things = {thing.pk: thing for thing in map(item_by_code, codes)}
        if not things:
            raise Refused("unknown", "Nothing is chosen. Choose at least one.")
        lock_items(list(things.values()))
        binding = list(Hold.objects.filter(entry__key=hold, lift=None, item__in=things).order_by("pk"))
        free = things.keys() - {one.item_id for one in binding}
        if free:
            code = min(things[item].code for item in free)
            raise Refused("unknown", "%(code)s is not held by this any more. Open the page again.", code=code)
        if any(one.reason == SWAP for one in binding):
            raise Refused("second-person", "Two people must confirm which of the swapped units is which.")
        kept = keep_words(words)
        return a.write_all(HoldLift(hold=one, words=kept, at=a.at) for one in binding)
