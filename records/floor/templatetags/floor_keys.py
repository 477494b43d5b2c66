"""What a form of the floor needs that is drawn on every page: a key of its own."""

from __future__ import annotations

from uuid import uuid4

from django import template

register = template.Library()


@register.simple_tag
def fresh_key() -> str:
    """A key for an entry, made when its form is drawn: a second press repeats."""
    return str(uuid4())
