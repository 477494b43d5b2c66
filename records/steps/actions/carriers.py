"""A carrier of a unit is put on between the steps of its route, found to be gone, or either was a mistake."""

from __future__ import annotations

from uuid import UUID

from plant.catalogue.carriers import Carrier
from plant.codes import fold
from records.items.actions.correcting import entry_of
from records.items.locking import lock_items
from records.items.making import unit_for
from records.items.models import Item
from records.ledger.acts import Free, Said, act
from records.ledger.refusals import Refused

from ..carrying import begin_carrier, end_carriers, on_now, stands_of, take_back_carriers
from ..models import UnitCarrier

# What a person puts on by hand; the tool that holds a unit is told by the step.
PUT_ON = (Carrier.TAG, Carrier.TRAVELLER, Carrier.LABEL, Carrier.MARK)
PUT, GONE = "carrier put on", "carrier taken off"
WHY = ("worn", "burnt", "painted-over", "unreadable", "came-off", "carrier-lost", "not-its-own")


def put_carrier(unit: str, *, kind: str, symbol: str, reason: str = "", said: Said) -> UnitCarrier:
    """A carrier is on a unit, its code read back from it. The one before ends.

    Refuses ``wrong-kind`` for what is no carrier, ``no-reason`` for another one of the same kind without saying why,
    ``scan`` for what can't be read; or flags where it is done ``wrong-carrier`` and ``old-carrier``.
    """
    with act("carrier put on", said, unit=fold(unit), carrier=kind, symbol=symbol, reason=reason) as a:
        if a.made:
            return UnitCarrier.objects.filter(entry=a.entry).latest("pk")
        item = unit_for(unit)
        if kind not in PUT_ON:
            raise Refused("wrong-kind", "Choose what was put on %(unit)s from the list.", unit=item.code)
        _known(reason)
        lock_items([item])
        present = on_now([item.pk]).get(item.pk)
        if present is not None and present.kind == kind and not reason:
            words = "%(unit)s has a %(carrier)s already. Say why another one is put on."
            raise Refused("no-reason", words, unit=item.code, carrier=str(Carrier(kind).label))
        return begin_carrier(a, item, kind, symbol, reason=reason)


def take_carrier_off(unit: str, *, reason: str, said: Said) -> UnitCarrier:
    """What carried a unit's identity is gone or can't be read: nothing carries it until another one is put on.

    Refuses ``no-reason``, and ``unknown`` where nothing carries it by the records.
    """
    with act("carrier taken off", said, unit=fold(unit), reason=reason) as a:
        if a.made:
            return UnitCarrier.objects.filter(entry=a.entry).latest("pk")
        item = unit_for(unit)
        if not _known(reason):
            raise Refused("no-reason", "Say why nothing carries the code of %(unit)s any more.", unit=item.code)
        lock_items([item])
        if item.pk not in on_now([item.pk]):
            raise Refused("unknown", "Nothing carries the code of %(unit)s by the records.", unit=item.code)
        end_carriers(a, [item], reason)
        return UnitCarrier.objects.filter(entry=a.entry).latest("pk")


def withdraw_carrier(of: UUID, *, words: str, said: Said) -> UnitCarrier:
    """Take back that a carrier was put on, or was gone: what carried the unit before carries it again.

    Where another one was put on since, that stays, and the one before is told to have been on until then. Refuses
    ``unknown`` where nothing of the entry stands any more, and ``no-reason``.
    """
    with act("entry withdrawn", said, of=of, words=Free(words)) as a:
        if a.made:
            return UnitCarrier.objects.filter(entry=a.entry).earliest("pk")
        entry = entry_of(of)
        told = list(UnitCarrier.objects.filter(entry=entry).select_related("unit"))
        if entry.kind not in (PUT, GONE) or not told:
            raise Refused("unknown", "This entry told of no carrier by itself. Correct it on the page of the unit.")
        if not words.strip():
            raise Refused("no-reason", "Write why this is taken back. The auditor will read it.")
        lock_items([told[0].unit])
        if not stands_of(told):
            raise Refused("unknown", "Nothing that this entry told of a carrier stands any more.")
        take_back_carriers(a, entry.pk)
        return UnitCarrier.objects.filter(entry=a.entry).earliest("pk")


def told_of_carriers(unit: Item) -> list[UnitCarrier]:
    """What was told between the steps of a unit's carriers and still counts, the latest first: a row for each entry."""
    told = UnitCarrier.objects.filter(unit=unit, entry__kind__in=(PUT, GONE)).select_related("entry__by__name_words")
    found = {row.entry_id: row for row in stands_of(told)}
    return sorted(found.values(), key=lambda row: row.entry_id, reverse=True)


def _known(reason: str) -> bool:
    """Whether a reason is told. Refuses ``no-reason`` for one that is not on the list."""
    if reason and reason not in WHY:
        raise Refused("no-reason", "Choose the reason from the list.")
    return bool(reason)
