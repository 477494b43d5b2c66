"""How a lot is kept: opened, out of the freezer and into it; a longer life by certificate."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext_noop as noop

from plant.catalogue.models import Part
from plant.codes import fold
from plant.people.queries import works_zone
from plant.times import written_out
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..clearing import last_allowed
from ..gates import stop_gone
from ..keeping import last_day_of
from ..locking import lock_items
from ..models import Item, LifeEntry, LifeExtension
from ..queries import item_by_code


def log_keeping(lot: str, *, what: str, said: Said) -> LifeEntry:
    """A lot's package is opened, or it goes out of the freezer or into it. Nobody is stopped from putting it in.

    Refuses ``unknown``, ``wrong-kind`` for a unit, ``not-here``, and at the gate ``already`` for what the records say
    of it.
    """
    with act("keeping logged", said, lot=fold(lot), what=what) as a:
        if a.made:
            return LifeEntry.objects.get(entry=a.entry)
        if what not in LifeEntry.What.values:
            raise Refused("unknown", "Say what was done: opened, out of the freezer, or into it.")
        item = _lot(lot)
        lock_items([item])
        stop_gone(a, [item])
        _stop_again(a, item, what)
        return a.write(LifeEntry(item=item, what=what, at=a.at))


def _lot(code: str) -> Item:
    item = item_by_code(code)
    if item.kind != Part.Tracked.LOT:
        raise Refused("wrong-kind", "%(code)s is a unit. A lot is due here.", code=item.code)
    return item


def _stop_again(a: Act, item: Item, what: str) -> None:
    """What stands already is asked about before it is done; told as done it is kept, and counts once."""
    rows = LifeEntry.objects.standing().filter(item=item, at__lte=a.at)
    opened = what == LifeEntry.What.OPENED
    rows = rows.filter(what=what) if opened else rows.exclude(what=LifeEntry.What.OPENED)
    latest = rows.order_by("-at", "-pk").first()
    if latest is not None and latest.what == what and not a.said.done:
        raise Refused("already", _STANDS[what], code=item.code, at=written_out(latest.at, works_zone()))


_STANDS: dict[str, str] = {
    LifeEntry.What.OPENED: noop("By the records %(code)s has been open since %(at)s. Nothing changed."),
    LifeEntry.What.OUT: noop("By the records %(code)s has been out of the freezer since %(at)s. Nothing changed."),
    LifeEntry.What.IN: noop("By the records %(code)s has been in the freezer since %(at)s. Nothing changed."),
}


def extend_life(lot: str, *, until: date, certificate: str, words: str, said: Said) -> LifeExtension:
    """Give a lot a later last good day, by the certificate of a test. The day before stays on file.

    Refuses ``unknown``, ``wrong-kind``, ``no-reason`` without certificate or words, ``not-later``, and
    ``no-departure`` where two people have allowed no departure on it since its life was last made longer.
    """
    stated = {"until": until, "certificate": certificate.strip(), "words": Free(words)}
    with act("life extended", said, lot=fold(lot), **stated) as a:
        if a.made:
            return LifeExtension.objects.get(entry=a.entry)
        item = _lot(lot)
        if not certificate.strip() or not words.strip():
            raise Refused("no-reason", "Write the number of the certificate, and what was tested with which result.")
        day = last_day_of(item, a.at)
        if day is None:
            raise Refused("unknown", "%(code)s has no last good day.", code=item.code)
        if until <= day:
            raise Refused("not-later", "%(code)s is good until %(day)s: write a later day.", code=item.code, day=day)
        lock_items([item])
        before = LifeExtension.objects.filter(item=item).order_by("-entry_id").values_list("entry_id", flat=True)
        if last_allowed(item) <= (before.first() or 0):
            raise Refused(
                "no-departure",
                "A longer life is a departure: note one on %(code)s, and two people must allow it first.",
                code=item.code,
            )
        return a.write(
            LifeExtension(item=item, until=until, certificate=certificate.strip(), words=keep_words(words), at=a.at)
        )
