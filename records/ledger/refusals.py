"""What the program says when it does not take something: a code, words for a person, and the facts."""

from __future__ import annotations


class Refused(Exception):
    """An act that is not taken: nothing of it is kept.

    ``code`` is stable and meant for programs; ``words`` is a sentence with named places that says what, where and
    what to do; ``facts`` fill the places.
    """

    def __init__(self, code: str, words: str, /, **facts: object) -> None:
        super().__init__(code)
        self.code = code
        self.words = words
        self.facts = facts

    def __str__(self) -> str:
        return self.words % self.facts if self.facts else self.words


class Conflict(Refused):
    """A refusal because of something that stands already: a key used for other content, a version overtaken."""
