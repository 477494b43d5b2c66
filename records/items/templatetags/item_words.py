"""Words about items, the same on every page."""

from __future__ import annotations

from django import template

from plant.quantities import print_steps
from records.items.keeping import hours
from records.items.reasons import reason_words

register = template.Library()
register.filter("reason", reason_words)
register.filter("hours", hours)


@register.filter
def celsius(millikelvin: int) -> str:
    """A temperature as it was read."""
    return f"{print_steps(millikelvin, '°C', 'temperature')} °C"
