"""How the floor speaks: sentences, trade words, numbers and days in the language in use; and which languages it has."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from django.conf import settings
from django.utils.translation import get_language, gettext, override

NUMBER = re.compile(r"(?<![\w.])(\d+)\.(\d+)(?![\w.])")
NUMBERED = re.compile(r"(.+?)( \d+)", re.DOTALL)
MONTHS = {
    "en": ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"],
    "de": ["Jan", "Feb", "Mär", "Apr", "Mai", "Jun", "Jul", "Aug", "Sep", "Okt", "Nov", "Dez"],
    "it": ["gen", "feb", "mar", "apr", "mag", "giu", "lug", "ago", "set", "ott", "nov", "dic"],
}


def language_in_use() -> str:
    """Code of the language in use."""
    return (get_language() or settings.LANGUAGE_CODE)[:2]


def decimal_mark() -> str:
    """The mark before the decimals, in the language in use."""
    return "." if language_in_use() == "en" else ","


def spoken(words: str) -> str:
    """Words with their numbers as the language writes them; a code of the house has no point in it."""
    return words if decimal_mark() == "." else NUMBER.sub(rf"\1{decimal_mark()}\2", words)


def day_words(day: date) -> str:
    """A day without its year: "24 Nov", "24. Nov", "24 nov"."""
    language = language_in_use()
    return f"{day.day}{'.' if language == 'de' else ''} {MONTHS[language][day.month - 1]}"


def word(text: str) -> str:
    """A trade word in the language in use; what is on no list, such as a code or a name, as it stands.

    A capital at its head and a number at its end stay: "Bladder 2" is said by the word "bladder", "fibre or binder" by
    the two of them.
    """
    if whole := _found(text):
        return whole
    numbered = NUMBERED.fullmatch(text)
    if numbered and _found(numbered[1]):
        return _found(numbered[1]) + numbered[2]
    words = [_found(one) for one in text.split(" or ")]
    return f" {gettext('or')} ".join(words) if all(words) else text


def _found(text: str) -> str:
    """Words of a text, or of the same with a small letter at its head; empty where there are none."""
    small = text[:1].lower() + text[1:]
    if not text or (said := gettext(text)) != text:
        return said if text else ""
    said = gettext(small)
    return "" if said == small else said[:1].upper() + said[1:]


def say(sentence: str, **facts: object) -> str:
    """A sentence of the floor in the language in use, with its places filled."""
    return in_language(sentence, facts)


def in_language(words: str, facts: Mapping[str, Any]) -> str:
    """A sentence with its places filled, in the language in use, and so the trade words among them."""
    said = gettext(words) if words else ""
    told = {name: word(fact) if isinstance(fact, str) else fact for name, fact in facts.items()}
    return spoken(said % told if told else said)


def in_each_language(words: Callable[[], str]) -> dict[str, str]:
    """What is asked for once in each language, by its code."""
    told = {}
    for language, _ in languages():
        with override(language):
            told[language] = words()
    return told


def languages() -> list[tuple[str, str]]:
    """Code and own name of each language that the floor speaks."""
    return list(settings.LANGUAGES)
