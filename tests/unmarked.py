"""What the floor shows and no catalog can say: words of a template or a script that are not marked."""

import re
from pathlib import Path

from tests import sources

TEMPLATES = sources.BASE / "templates"
SCRIPTS = sources.BASE / "records" / "floor" / "static" / "floor"
# Pages of the desk that lie beside those of the floor, and a part of theirs.
DESK, DESK_PARTS = re.compile(r'\{% extends "desk\.html" %\}'), {"_sections.html"}
MARKED = re.compile(r"\{#.*?#\}|\{% blocktranslate.*?endblocktranslate %\}|\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)
READ_OUT = re.compile(r'\b(?:aria-label|placeholder|title|alt)="([^"]*)"')
WORD = re.compile(r"[^\W\d_]{2,}")
NAMES = {"English · Italiano · Deutsch"}  # languages by their own names


def floor_templates() -> list[Path]:
    """Pages and parts that are seen on the floor."""
    pages = [path for path in sorted((TEMPLATES / "floor").glob("*.html")) if path.name not in DESK_PARTS]
    parts = [TEMPLATES / "parts" / f"{name}.html" for name in ("gauge", "state", "messages", "winding")]
    return [TEMPLATES / "floor.html", *(path for path in pages if not DESK.search(path.read_text())), *parts]


def unmarked_of_template(text: str) -> list[str]:
    """Words between the tags, and those of attributes that are read out."""
    plain = MARKED.sub("", text)
    shown = re.sub(r"<[^<>]*>", "\n", plain).split("\n")
    return [line.strip() for line in [*READ_OUT.findall(plain), *shown] if WORD.search(line) and line not in NAMES]
