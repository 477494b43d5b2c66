"""A carrier of a unit's identity is put on between the steps of its route, or found to be gone."""

from __future__ import annotations

from plant.catalogue.carriers import Carrier
from plant.codes import fold
from records.items.locking import lock_items
from records.items.making import unit_for
from records.ledger.acts import Said, act
from records.ledger.refusals import Refused

from ..carrying import begin_carrier, end_carriers, on_now
from ..models import UnitCarrier

# What a person puts on by hand; the tool that holds a unit is told by the step.
PUT_ON = (Carrier.TAG, Carrier.TRAVELLER, Carrier.LABEL, Carrier.MARK)
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


def _known(reason: str) -> bool:
    """Whether a reason is told. Refuses ``no-reason`` for one that is not on the list."""
    if reason and reason not in WHY:
        raise Refused("no-reason", "Choose the reason from the list.")
    return bool(reason)
