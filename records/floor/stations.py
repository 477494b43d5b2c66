"""The station of an address of the floor, and what has come due there."""

from __future__ import annotations

from django.http import Http404

from plant.equipment.models import Station
from plant.equipment.queries import station_by_code
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.steps.due import due_now


def station_here(code: str) -> Station:
    """The station of an address, or 404."""
    try:
        return station_by_code(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused


def due_words(station: str = "") -> list[str]:
    """What has come due, at a station or anywhere, a sentence each."""
    now = clock.now()
    return [one.words(now) for one in due_now(now, station)]
