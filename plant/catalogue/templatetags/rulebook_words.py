"""Limits and causes as the Rulebook prints them."""

from __future__ import annotations

from django import template

from plant.quantities import print_steps

from ..models import CharacteristicRevision

register = template.Library()


@register.filter
def steps_in(steps: int | None, band: CharacteristicRevision) -> str:
    """A limit in the unit of its band; empty where there is none."""
    return "" if steps is None else print_steps(steps, band.unit, band.unit_kind)


@register.filter
def cause(code: str) -> str:
    """A cause of a hold in words."""
    return code.replace("-", " ").capitalize()
