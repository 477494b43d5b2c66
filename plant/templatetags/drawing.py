"""Pictures of the house, drawn in a page."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.safestring import SafeString, mark_safe

from plant.pictures import jaws as jaws_picture
from plant.pictures import shapes as shapes_picture
from plant.pictures import winding as winding_picture
from plant.pictures.states import STATES

register = template.Library()


@register.inclusion_tag("parts/jaws.html")
def jaws(value: int | None, lower: int | None, upper: int | None, verdict: str = "") -> dict[str, Any]:
    """A value against its limits; nothing where one of them is missing. The words stand beside it in the row."""
    picture = None if value is None else jaws_picture.jaws(value, lower, upper)
    tone = "bad" if verdict.startswith("outside") else "watch" if verdict == "near-edge" else "ink"
    return {"jaws": picture, "tone": tone}


@register.inclusion_tag("parts/winding.html")
def winding(serial: str) -> dict[str, Any]:
    """The winding figure of a serial."""
    return {"serial": serial, "winding": winding_picture.winding(serial)}


@register.inclusion_tag("parts/shape.html")
def shape(code: str) -> dict[str, str]:
    """The shape of a state alone, where its word stands beside it."""
    name, colour, _ = STATES.get(code, ("signal", "ask", ""))
    return {"shape": name, "colour": colour}


@register.inclusion_tag("parts/gauge.html")
def gauge(band: Any, text: str = "") -> dict[str, Any]:
    """The wide gauge of a band, with a dot where what was typed stands, and the verdict on it."""
    return {"band": band, "gauge": band.picture(text), "text": text, "verdict": band.verdict(text)}


@register.simple_tag
def shapes() -> SafeString:
    """The shapes of states and the marks of things, drawn once a page."""
    return mark_safe(shapes_picture.sprite())


@register.inclusion_tag("parts/spot.html")
def spot(code: str, x: float, y: float) -> dict[str, Any]:
    """The shape of a state about a place of a drawing, whose words stand beside it."""
    name, colour, _ = STATES.get(code, ("signal", "ask", ""))
    return {"shape": name, "colour": colour, "left": x - 10, "top": y - 10}
