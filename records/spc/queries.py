"""Charts of characteristics from the measurements on file."""

from __future__ import annotations

from datetime import datetime

from plant.catalogue.models import Characteristic
from records.inspection.models import Measurement
from records.inspection.queries import series_of
from records.ledger.marks import Mark

from .models import ChartBreak
from .pieces import PieceChart, chart_in_pieces, cut_at_breaks


def chart_of(characteristic: Characteristic, mark: Mark | None = None) -> PieceChart | None:
    """Individuals chart of a characteristic in pieces, as known at a mark. [whole steps]

    None where no two readings stand beside each other. A withdrawn or missing reading leaves its place empty.
    """
    return chart_in_pieces(readings_in_pieces(characteristic, mark))


def readings_in_pieces(
    characteristic: Characteristic, mark: Mark | None = None
) -> tuple[tuple[float | None, ...], ...]:
    """Readings of a characteristic in order of time, cut at its breaks. [whole steps]"""
    readings = [(m.at, value_in_chart(m)) for m in series_of(characteristic, mark)]
    breaks = ChartBreak.objects.known(mark).filter(characteristic=characteristic).values_list("at", flat=True)
    return cut_at_breaks(readings, list(breaks))


def value_in_chart(measurement: Measurement) -> float | None:
    """Value that a chart shows, none for one withdrawn or not read. [whole steps]"""
    if measurement.status != Measurement.Status.STANDS or measurement.value is None:
        return None
    return float(measurement.value)


def standing_values(characteristic: Characteristic, from_at: datetime, to_at: datetime) -> list[Measurement]:
    """Measurements with a value in a span of time, in order."""
    return [m for m in series_of(characteristic) if from_at <= m.at <= to_at and value_in_chart(m) is not None]
