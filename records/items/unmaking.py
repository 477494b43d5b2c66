"""Something was told as made by a mis-tap and was never made: its number stays, and nothing of it may be used."""

from __future__ import annotations

from plant.catalogue.models import Part
from records.ledger.acts import Act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from .locking import lock_items
from .making import change_amount, relocate
from .models import Item, Link, Loss


def unmake(a: Act, item: Item, words: str) -> Loss:
    """Take the birth of an item back, in an open act: what went in is as before, and the item is none.

    Refuses ``already-used`` where something of it went into another thing, ``scrapped`` for what is gone already.
    """
    standing = Link.objects.newest().filter(status=Link.Status.STANDS)
    links = list(standing.filter(child=item, feed=None).select_related("parent__state").order_by("pk"))
    lock_items([item, *(link.parent for link in links)])
    used = standing.filter(parent=item).select_related("child__state").first()
    if used is not None:
        raise Refused(
            "already-used",
            "%(code)s is in %(other)s already. It can't be undone: tell your lead.",
            code=item.code,
            other=used.child.code,
        )
    if item.losses.standing().exists() or item.tank_entries.exists():
        raise Refused(
            "scrapped", "Something of %(code)s was written off or charged since. Tell your lead.", code=item.code
        )
    for link in links:
        a.write(link.next_version(status=Link.Status.WITHDRAWN, reason="withdrawn", words=keep_words(words)))
        change_amount(a, link.parent, link.amount or 0)
        change_amount(a, item, -(link.amount or 0))
    relocate(a, [link.parent for link in links if link.parent.kind == Part.Tracked.UNIT])
    loss = a.write(Loss(item=item, kind=Loss.Kind.NEVER, reason=keep_words(words), at=a.at))
    relocate(a, [item])
    return loss
