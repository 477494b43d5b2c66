"""The shapes of states and the marks of things: one file of geometry, drawn by pages as it stands and by papers.

No Django. The file holds paths, circles and ellipses in boxes 20 px high.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

_FILE = Path(__file__).with_name("shapes.svg")


@dataclass(frozen=True)
class Piece:
    """A piece of a shape: a path that is filled, or a line of a width. [px]"""

    path: str
    width: float = 0.0
    dash: tuple[str, ...] = ()
    opacity: float = 1.0
    is_even_odd: bool = False


@cache
def sprite() -> str:
    """All shapes as they stand on top of a page."""
    return _FILE.read_text()


@cache
def shape(name: str) -> tuple[Piece, ...]:
    """Pieces of a shape. Raises ``KeyError`` for a name that has none.

    Examples
    --------
    >>> shape("done")[0].path
    'M1.6 10A8.4 8.4 0 1 1 18.4 10A8.4 8.4 0 1 1 1.6 10Z'
    """
    return _shapes()[name]


@cache
def _shapes() -> dict[str, tuple[Piece, ...]]:
    found = {}
    for symbol in ElementTree.fromstring(sprite()):
        found[symbol.attrib["id"].removeprefix("s-")] = tuple(_piece(node.tag, dict(node.attrib)) for node in symbol)
    return found


def _piece(tag: str, told: dict[str, str]) -> Piece:
    return Piece(
        _path(tag.rsplit("}", 1)[-1], told),
        float(told.get("stroke-width", "1")) if "stroke" in told else 0.0,
        tuple(told.get("stroke-dasharray", "").split()),
        float(told.get("opacity", "1")),
        told.get("fill-rule") == "evenodd",
    )


def _path(kind: str, told: dict[str, str]) -> str:
    """A piece as a path; a circle is two arcs, an ellipse four curves."""
    if kind == "path":
        return told["d"]
    x, y = float(told["cx"]), float(told["cy"])
    if kind == "circle":
        r = float(told["r"])
        arc = f"A{r:g} {r:g} 0 1 1"
        return f"M{x - r:g} {y:g}{arc} {x + r:g} {y:g}{arc} {x - r:g} {y:g}Z"
    rx, ry = float(told["rx"]), float(told["ry"])
    k = 0.5523  # a quarter of an ellipse as one curve
    return (
        f"M{x - rx:g} {y:g}"
        f"C{x - rx:g} {y - k * ry:g} {x - k * rx:g} {y - ry:g} {x:g} {y - ry:g}"
        f"C{x + k * rx:g} {y - ry:g} {x + rx:g} {y - k * ry:g} {x + rx:g} {y:g}"
        f"C{x + rx:g} {y + k * ry:g} {x + k * rx:g} {y + ry:g} {x:g} {y + ry:g}"
        f"C{x - k * rx:g} {y + ry:g} {x - rx:g} {y + k * ry:g} {x - rx:g} {y:g}Z"
    )
