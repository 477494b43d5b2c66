"""Limits and causes as the Rulebook prints them."""

from __future__ import annotations

from decimal import Decimal

from django import template

from plant.quantities import print_steps

from ..models import CertificateLimit, CharacteristicRevision, PartRevision
from ..writing_back import keeping_words, limit_spec

register = template.Library()


@register.filter
def steps_in(steps: int | None, band: CharacteristicRevision) -> str:
    """A limit in the unit of its band, with the drawing's decimals; empty where there is none."""
    if steps is None:
        return ""
    exact = Decimal(print_steps(steps, band.unit, band.unit_kind))
    shown = f"{exact:.{band.decimals}f}"
    return shown if Decimal(shown) == exact else format(exact, "f")


@register.filter
def cause(code: str) -> str:
    """A cause of a hold in words."""
    return code.replace("-", " ").capitalize()


@register.filter
def limit(row: CertificateLimit) -> str:
    """What a certificate must say of a value."""
    return str(limit_spec(row))


@register.filter
def keeping(row: PartRevision) -> str:
    """How a lot of a part keeps; empty where a last good day says it all."""
    return keeping_words(row)
