"""What a hold stops, in the words of the floor."""

from __future__ import annotations

from django import template

from records.floor.holding import stops_words

register = template.Library()
register.filter("stops", stops_words)
