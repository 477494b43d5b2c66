"""Signals in words."""

from __future__ import annotations

from django import template

from .. import showing

register = template.Library()
register.filter("signal_words", showing.signal_words)


@register.filter
def replace_dashes(name: str) -> str:
    """The name of a measure as it is read."""
    return name.replace("-", " ")
