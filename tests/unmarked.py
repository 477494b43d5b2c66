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
    door = [TEMPLATES / "door.html", TEMPLATES / "people" / "sign_in.html", TEMPLATES / "people" / "locked_out.html"]
    parts = [TEMPLATES / "parts" / f"{name}.html" for name in ("gauge", "state", "messages", "winding")]
    return [TEMPLATES / "floor.html", *(path for path in pages if not DESK.search(path.read_text())), *door, *parts]


def unmarked_of_template(text: str) -> list[str]:
    """Words between the tags, and those of attributes that are read out."""
    plain = MARKED.sub("", text)
    shown = re.sub(r"<[^<>]*>", "\n", plain).split("\n")
    return [line.strip() for line in [*READ_OUT.findall(plain), *shown] if WORD.search(line) and line not in NAMES]


# A call that says a sentence, one that names one to be said later, what is imported, and what stands behind a comment.
SAYING = re.compile(r'(?:say|noop)\(\s*"(?:[^"\\]|\\.)*"|^import .*$|//.*$', re.MULTILINE)
LITERAL = re.compile(r'"((?:[^"\\]|\\.)*)"|`((?:[^`\\]|\\.)*)`')
# Two words with a blank between them that begin like a sentence.
SENTENCE = re.compile(r"(?:^|[>\s])[A-Z][a-z’]+,? [a-z]")


def unmarked_of_script(text: str) -> list[str]:
    """Literals that read like a sentence and that no catalog says."""
    found = LITERAL.findall(SAYING.sub("", text))
    words = [re.sub(r"\$\{[^}]*\}", "", plain or drawn) for plain, drawn in found]
    return [one for one in words if SENTENCE.search(one)]
