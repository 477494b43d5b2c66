"""Measured values as pages print them."""

from __future__ import annotations

from django import template

from plant.catalogue.models import CharacteristicRevision

from .. import showing

register = template.Library()


@register.filter
def measured(steps: int | None, band: CharacteristicRevision) -> str:
    """A value with the drawing's decimals."""
    return showing.value_words(steps, band)


@register.filter
def difference(steps: int | None, band: CharacteristicRevision) -> str:
    """A distance between values, in the unit of the band."""
    return showing.value_words(steps, band, difference=True)


@register.filter
def limits(band: CharacteristicRevision) -> str:
    """The limits of a band in words."""
    return showing.band_shown(band)
