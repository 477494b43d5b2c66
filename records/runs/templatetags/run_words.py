"""Units of a recorder file as people write them."""

from __future__ import annotations

from django import template

from .. import showing

register = template.Library()
register.filter("unit_word", showing.shown_unit)
