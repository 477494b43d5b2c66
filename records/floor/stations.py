"""The station of an address of the floor."""

from __future__ import annotations

from django.http import Http404

from plant.equipment.models import Station
from plant.equipment.queries import station_by_code
from records.ledger.refusals import Refused


def station_here(code: str) -> Station:
    """The station of an address, or 404."""
    try:
        return station_by_code(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused
