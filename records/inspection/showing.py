"""Measured values and bands as pages print them: with the decimals of the drawing."""

from __future__ import annotations

from decimal import Decimal

from plant.catalogue.models import CharacteristicRevision
from plant.quantities import print_steps

from .judging import band_words


def value_words(steps: int | None, band: CharacteristicRevision, *, more: int = 0, difference: bool = False) -> str:
    """A value with the drawing's decimals, and ``more`` of them for what was worked out; empty where there is none."""
    if steps is None:
        return ""
    exact = Decimal(print_steps(steps, band.unit, band.unit_kind, difference=difference))
    decimals = max(band.decimals + more, 0)
    shown = f"{exact:.{decimals}f}"
    # A reading finer than the drawing is never rounded away.
    return shown if more or Decimal(shown) == exact else format(exact, "f")


def band_shown(band: CharacteristicRevision) -> str:
    """The limits of a band in words."""
    lower = None if band.lower is None else value_words(band.lower, band)
    upper = None if band.upper is None else value_words(band.upper, band)
    return band_words(lower, upper, band.unit)
