"""A mis-tap taken back: a hold that was never meant, a move that was not made, a pot that was not mixed.

Each is a fact of its own under an entry of its own; what it withdraws stays in the book and in the life of the thing.
"""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

from records.ledger.acts import Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..deriving import lock_tank
from ..locking import lock_items
from ..making import come_to
from ..models import Hold, HoldLift, Item, Loss, Move, TankEntry
from ..queries import HERE
from ..unmaking import unmake
from .correcting import entry_of, withdraw_line

# So long a hold may have been on file. By what the book saw, since a tablet tells what time it likes; a choice of this
# project, no source.
HELD_FOR = timedelta(minutes=1)


def withdraw_hold(of: UUID, *, words: str, said: Said) -> list[HoldLift]:
    """Take back the holds that an entry placed by itself; that they stood stays readable.

    It lets go what was held, so only who held it may, and at once: after that Review lifts it. Refuses ``unknown``
    where it held nothing, ``other-person``, ``too-late``, ``no-reason``, and ``lifted`` where one binds no more.
    """
    with act("entry withdrawn", said, of=of, words=Free(words)) as a:
        if a.made:
            return list(HoldLift.objects.filter(entry=a.entry).order_by("pk"))
        entry = entry_of(of)
        holds = list(Hold.objects.filter(entry=entry).select_related("item__state").order_by("pk"))
        if entry.kind != "hold placed" or not holds:
            raise Refused("unknown", "This entry placed no hold by itself. Ask Review.")
        if entry.by_id != said.by.pk:
            raise Refused("other-person", "Somebody else logged this. Correct it on the page of the unit.")
        if a.entry.taken_at - entry.taken_at > HELD_FOR:
            raise Refused("too-late", "This hold has stood for more than a minute. Only Review lifts it.")
        if not words.strip():
            raise Refused("no-reason", "Write why this hold is withdrawn. The auditor will read it.")
        lock_items([hold.item for hold in holds])
        if HoldLift.objects.filter(hold__in=holds).exists():
            raise Refused("lifted", "Somebody has ended this hold already. Open its page again.")
        kept = keep_words(words)
        return a.write_all(HoldLift(hold=hold, words=kept, at=a.at, is_withdrawn=True) for hold in holds)


def withdraw_move(of: UUID, *, words: str, said: Said) -> Move:
    """Take back a move that was told of by mistake: the thing is where it was before.

    Refuses ``unknown`` for no move, ``moved-since`` where something happened to it after, and ``no-place`` where nobody
    had said before where it was.
    """
    with act("entry withdrawn", said, of=of, words=Free(words)) as a:
        if a.made:
            return Move.objects.get(entry=a.entry)
        entry = entry_of(of)
        move = Move.objects.filter(entry=entry).select_related("item__state").first()
        if entry.kind != "item moved" or move is None:
            raise Refused("unknown", "This entry moved nothing by itself.")
        thing = move.item
        lock_items([thing])
        state = thing.state
        if state.where != HERE or state.place_id != move.place_id or (state.placed_at or move.at) > move.at:
            raise Refused("moved-since", "%(code)s went somewhere else since. Bring it where it is.", code=thing.code)
        before = Move.objects.filter(item=thing, at__lte=move.at).exclude(pk=move.pk).select_related("place")
        last = before.order_by("-at", "-pk").first()
        if last is None:
            raise Refused("no-place", "Nobody had said where %(code)s was. Bring it where it is.", code=thing.code)
        come_to(a, [thing], last.place)
        return Move.objects.get(entry=a.entry)


def withdraw_pot(of: UUID, *, words: str, said: Said) -> Loss:
    """Take back a pot that was not mixed, or not so: its components are as before, and nothing may be filled from it.

    What a machine took of a tank for it is in the tank again; its log stays on file: it is told of the right pot once
    more. Refuses ``unknown``, and
    ``already-used`` where something was filled from it.
    """
    with act("entry withdrawn", said, of=of, words=Free(words)) as a:
        if a.made:
            return Loss.objects.get(entry=a.entry)
        entry = entry_of(of)
        pot = Item.objects.filter(entry=entry, good_until__isnull=False).select_related("state").first()
        if entry.kind not in ("pot mixed", "pot metered") or pot is None:
            raise Refused("unknown", "This entry mixed no pot.")
        drawn = list(TankEntry.objects.standing().filter(entry=entry).select_related("tank").order_by("tank", "pk"))
        for line in drawn:
            lock_tank(a, line.tank)
        loss = unmake(a, pot, words)
        for line in drawn:
            withdraw_line(a, line)
        return loss
