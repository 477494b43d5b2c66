"""Words about what a trace found."""

from __future__ import annotations

from collections.abc import Iterable

from django import template

from ..queries import Found

register = template.Library()


@register.filter
def any_share(rows: Iterable[Found]) -> bool:
    """Whether one of the rows holds a share of what was asked about."""
    return any(row.share_ppb is not None for row in rows)
