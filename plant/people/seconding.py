"""A second person who signs beside the maker of an entry: on the floor by badge, without a change of who is active."""

from __future__ import annotations

from records.ledger.acts import Act, Said

from .models import Person

NEEDED = "This needs a second person: let another one who may do it sign beside you."


def second_person(a: Act, kind: str = "") -> Person | None:
    """Whoever signs beside the maker. Refuses ``second-person`` at the gate; flags it where it has happened already,
    and gives back nobody.
    """
    second = signs_beside(a.said, kind or a.entry.kind)
    if second is None:
        a.refuse_or_flag("second-person", NEEDED)
    return second


def signs_beside(said: Said, kind: str) -> Person | None:
    """Somebody else who signs and may do the act ``kind``, or might as it happened; nobody where none does.

    An entry of the floor names the second person in its field ``second``; the server has checked the signature, or
    the sitting, before the act (``records.floor.proving``). A page of a desk puts the person into ``Said.second``
    (``beside.py``).
    """
    second = said.second
    return second if second is not None and second.pk != said.by.pk and said.lets(second, kind) else None
