"""Tablets that were lost, as far as a trace rests on what nobody was told of them."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Q

from plant.people.models import DeviceEnded
from records.items.doubting import LOST
from records.items.models import Link
from records.ledger.marks import Mark


def tablets_behind(items: Iterable[int], mark: Mark | None = None) -> list[DeviceEnded]:
    """Lost tablets for which something among these items can't be ruled out, as known at a mark."""
    doubted = Link.objects.newest(mark).filter(reason=LOST, status=Link.Status.STANDS)
    wanted = list(items)
    doubts = doubted.filter(parent_id__among=wanted) | doubted.filter(child_id__among=wanted)
    left, moved = Q(entry__in=doubts.values("entry")), Q(pk__in=doubts.values("doubt_moved__ended"))
    rows = DeviceEnded.objects.filter(left | moved)
    return list(rows.select_related("device__entry", "device__contact").order_by("pk"))
