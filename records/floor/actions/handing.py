"""A shift is handed over: two leads sign the page that both have read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plant.people.models import Person
from plant.people.rights import RIGHTS
from records.floor.models import HandOver, HandOverLine
from records.ledger.acts import Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words


@dataclass(frozen=True)
class Line:
    """One line of the page: about what, the code it names, and what it says."""

    about: str
    code: str
    says: str


def hand_over(lines: Sequence[Line], *, coming: Person, words: str = "", said: Said) -> HandOver:
    """Hand the shift over to another lead, with every line that the page showed.

    Refuses ``second-person`` where both are one, and ``not-allowed`` where the one who comes is no lead.
    """
    told = [[line.about, line.code, line.says] for line in lines]
    with act("shift handed over", said, lines=told, coming=coming.pk, words=Free(words)) as a:
        if a.made:
            return HandOver.objects.get(entry=a.entry)
        if coming.pk == said.by.pk:
            raise Refused("second-person", "You hand over. The lead who takes over signs beside you.")
        if not coming.roles & RIGHTS["shift handed over"]:
            raise Refused("not-allowed", "%(name)s is no lead and can't take the shift over.", name=coming.name)
        signed = HandOver(handed_at=a.at, going=said.by, coming=coming, words=keep_words(words))
        row = a.write(signed)
        a.write_all(
            HandOverLine(hand_over=row, n=n, about=line.about, code=line.code, says=line.says)
            for n, line in enumerate(lines, start=1)
        )
        return row
