"""What the program says when it does not take something: a code, words for a person, and the facts."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, ClassVar


def in_english(words: str, facts: Mapping[str, Any]) -> str:
    """A sentence with its places filled."""
    return words % facts if facts else words


class Refused(Exception):
    """An act that is not taken: nothing of it is kept.

    ``code`` is stable and meant for programs; ``words`` is a sentence with named places that says what, where and
    what to do; ``facts`` fill the places. ``is_kept`` once what was sent is kept for Review.
    """

    # Sums refuse too and know no Django: the site puts the languages of the floor in here when it starts.
    tell: ClassVar[Callable[[str, Mapping[str, Any]], str]] = staticmethod(in_english)

    def __init__(self, code: str, words: str, /, **facts: object) -> None:
        super().__init__(code)
        self.code = code
        self.words = words
        self.facts = facts
        self.is_kept = False

    def __str__(self) -> str:
        """The sentence in the language in use; on the desk that is English."""
        return type(self).tell(self.words, self.facts)


class Conflict(Refused):
    """A refusal because of something that stands already: a key used for other content, a version overtaken."""
