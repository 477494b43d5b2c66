"""Words about items, the same on every page."""

from __future__ import annotations

from django import template

from records.items.reasons import reason_words

register = template.Library()
register.filter("reason", reason_words)
