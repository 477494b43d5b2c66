"""A page has shown somebody what they are told of."""

from __future__ import annotations

from records.floor.models import Seen
from records.ledger.acts import Said, act
from records.ledger.models import Entry
from records.ledger.refusals import Conflict


def see_notice(of: Entry, *, said: Said) -> Seen:
    """Note that a call or a hold stood on the page of whoever is told of it. Refuses ``seen`` where it did before."""
    with act("notice seen", said, of=of.pk) as a:
        if a.made:
            return Seen.objects.get(entry=a.entry)
        overtaken = Conflict("seen", "Your page has shown this already.")
        if Seen.objects.filter(of=of, person=said.by).exists():
            raise overtaken
        return a.write_only(Seen(of=of, person=said.by, at=a.at), overtaken)
