"""How a unit stands at the door, for pages of rooms that don't know it."""

from __future__ import annotations

from django import template

from records.items.models import Item
from records.release.actions import standing_release
from records.release.models import Release

register = template.Library()


@register.simple_tag
def release_of(unit: Item) -> Release | None:
    """The release that lets a unit go, where one stands."""
    return standing_release(unit)
