"""A shift is handed over: two leads sign the page that both have read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from plant.people.models import Person
from plant.people.rights import RIGHTS
from plant.speaking import language_in_use
from records.floor.models import HandOver, HandOverLine
from records.ledger.acts import Free, Said, act
from records.ledger.canonical import canonical
from records.ledger.refusals import Refused
from records.ledger.words import keep_words


@dataclass(frozen=True)
class Line:
    """One line of the page: about what, the code it names, and what it says; English is what it is known by."""

    about: str
    code: str
    says: str
    spoken: Mapping[str, str] = field(default_factory=dict)  # the same in the other languages, by language

    @property
    def read(self) -> str:
        """What it says in the language in use."""
        return self.spoken.get(language_in_use(), self.says)


@dataclass(frozen=True)
class Seen:
    """Of which moment the page told that both had before them; ``unsent`` where it was signed without a link: so many
    entries of that tablet had not gone up, and nothing else that happened since was on it."""

    at: datetime
    unsent: int | None = None


def hand_over(
    lines: Sequence[Line], *, coming: Person | None, words: str = "", seen: Seen | None = None, said: Said
) -> HandOver:
    """Hand the shift over to another lead, with every line that the page showed and the moment of which it told.

    Refuses ``second-person`` where nobody else signs, and ``not-allowed`` where the one who comes is no lead.
    """
    told = [[line.about, line.code, line.says, dict(line.spoken)] for line in lines]
    facts = {"seen": [seen.at, seen.unsent]} if seen else {}
    by = coming.pk if coming else None
    with act("shift handed over", said, lines=told, coming=by, words=Free(words), **facts) as a:
        if a.made:
            return HandOver.objects.get(entry=a.entry)
        if coming is None or coming.pk == said.by.pk:
            raise Refused("second-person", "You hand over. The lead who takes over signs beside you.")
        if not coming.roles & RIGHTS["shift handed over"]:
            raise Refused("not-allowed", "%(name)s is no lead and can't take the shift over.", name=coming.name)
        signed = HandOver(handed_at=a.at, going=said.by, coming=coming, words=keep_words(words))
        if seen:
            signed.seen_at, signed.unsent = seen.at, seen.unsent
        row = a.write(signed)
        a.write_all(
            HandOverLine(
                hand_over=row,
                n=n,
                about=line.about,
                code=line.code,
                says=line.says,
                spoken=canonical(dict(line.spoken)).decode() if line.spoken else "",
            )
            for n, line in enumerate(lines, start=1)
        )
        return row
