"""How the floor speaks: numbers with the decimal mark of the language in use, and the languages there are."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from django.conf import settings
from django.utils.translation import get_language, gettext

NUMBER = re.compile(r"(?<![\w.])(\d+)\.(\d+)(?![\w.])")


def decimal_mark() -> str:
    """The mark before the decimals, in the language in use."""
    return "." if (get_language() or "en").startswith("en") else ","


def spoken(words: str) -> str:
    """Words with their numbers as the language writes them; a code of the house has no point in it."""
    return words if decimal_mark() == "." else NUMBER.sub(rf"\1{decimal_mark()}\2", words)


def word(text: str) -> str:
    """A trade word in the language in use; what is on no list, such as a code or a name, as it stands."""
    return gettext(text) if text else ""


def in_language(words: str, facts: Mapping[str, Any]) -> str:
    """A sentence with its places filled, in the language in use, and so the trade words among them."""
    said = word(words)
    told = {name: word(fact) if isinstance(fact, str) else fact for name, fact in facts.items()}
    return spoken(said % told if told else said)


def languages() -> list[tuple[str, str]]:
    """Code and own name of each language that the floor speaks."""
    return list(settings.LANGUAGES)
