"""What a keyboard, a set-up or an eye makes of a code on its way: told in a sentence, never put right in silence.

The same rules stand in ``records/floor/static/floor/misreads.js`` for the tablet without a link; one table of cases
drives both. The key positions are those of the common US, German and Italian keyboards: common practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from django.utils.translation import gettext_noop as _

from records.ledger.refusals import Refused

from .codes import ALIKE, certain, fold

SHOWN_SIGNS = 60


@dataclass(frozen=True)
class Doubt:
    """Why a text may be another one than was meant: counts only where it is not on file just so.

    ``how`` is a stable name for programs; ``words`` have named places that ``facts`` fill.
    """

    how: str
    words: str
    facts: dict[str, str]

    def __str__(self) -> str:
        """The sentence in the language in use."""
        return str(Refused("scan", self.words, **self.facts))


# Signs as they arrive, and the key that a scanner meant by them: the scanner's own layout and the tablet's differ.
LAYOUTS: tuple[dict[str, str], ...] = (
    {"ß": "-", "Y": "Z", "Z": "Y"},  # scanner US, tablet German
    {"'": "-"},  # scanner US, tablet Italian
    {"/": "-", "Y": "Z", "Z": "Y"},  # scanner German or Italian, tablet US
)
# How the heads of symbols arrive by another layout.
_HEADS = re.compile(r"[ÜÈ]=:|\+[DQCE][0-9]|8?\([>|]|HTTPS?(?:Ö--|Ç--|>&&)")
_WITHIN = re.compile(r"[A-Z0-9]ß[A-Z0-9]|[A-Z]'[0-9]")
_DASHES = dict.fromkeys(map(ord, "‐‑‒–—―−"), "-")
_BLANKS = re.compile("[\\s\u00ad\u200b-\u200f\u2060\ufeff]")
# Fields that often follow a lot: dates, counts, masses. Behind a lost separator they look like part of it.
_TAIL = re.compile(r"(?:(?:029)?(?:1[123567]\d\d(?:0[1-9]|1[0-2])(?:[0-2]\d|3[01])|3[07]\d{1,8}|310\d{7}))+", re.ASCII)
_RUN_ON = re.compile(r"(?:10|21)(.*[A-Z].*)", re.DOTALL)
STAND_INS = ("|", "↔", "␝", "<GS>", "{GS}", "[GS]", "^]", "\\x1d", "\\u001d")

LAYOUT = _(
    "The scanner’s keyboard layout looks wrong: %(read)s came. Scan the set-up test label, or type the code that "
    "stands beside the symbol."
)
LAYOUT_DUE = _(
    "The scanner’s keyboard layout looks wrong: %(read)s came, the label may say %(due)s. Scan the set-up test label, "
    "or type the code that stands beside the symbol."
)
BLANKS = _(
    "There is a blank or a strange dash inside this code: %(read)s. If its label says %(due)s, type it so; else scan "
    "it again."
)
LOOK_ALIKES = _(
    "%(read)s has signs that look like others; codes of the house have no letters O and I. If its label says %(due)s, "
    "type it so; else scan it."
)
RUN_TOGETHER = _(
    "Two fields of this label may have run together: %(read)s. The label may say %(lot)s and %(rest)s, or "
    "%(whole)s. Scan it once more, or type what stands on it."
)


def doubt_of(text: str) -> Doubt | None:
    """What a plain text may be instead; nothing where it stands for itself.

    Examples
    --------
    >>> doubt_of("FRZß0417").how, doubt_of("TW-26-OOO396-8").facts["due"], doubt_of("FRZ-0417")
    ('layout', 'TW-26-000396-8', None)
    """
    told = _upper(text.strip())
    if certain(told):
        return None
    bare = _BLANKS.sub("", told).translate(_DASHES)
    if due := certain(bare):
        return Doubt("blanks", BLANKS, {"read": shown(told), "due": due})
    for signs in LAYOUTS:
        due = certain("".join(signs.get(sign, sign) for sign in bare))
        if due:
            return Doubt("layout", LAYOUT_DUE, {"read": shown(told), "due": due})
    if is_other_layout(told) or _WITHIN.search(told):
        return Doubt("layout", LAYOUT, {"read": shown(told)})
    if due := certain(bare[:2] + bare[2:].translate(ALIKE)):
        return Doubt("look-alike", LOOK_ALIKES, {"read": shown(told), "due": due})
    run_on = _RUN_ON.fullmatch(told)
    return run_together(run_on[1], told) if run_on else None


def is_other_layout(told: str) -> bool:
    """Whether a symbol's head arrived by the keys of another layout."""
    return bool(_HEADS.match(_upper(told)))


def _upper(text: str) -> str:
    """Capitals, but the sharp s stays one sign: it tells of a German keyboard."""
    return "".join(sign if sign == "ß" else sign.upper() for sign in text)


def run_together(value: str, read: str = "") -> Doubt | None:
    """A lot or serial behind which other fields may hide, as no separator came; case C09.

    Examples
    --------
    >>> run_together("BTCH0033740").facts["lot"], run_together("RB260917A"), run_together("TW-26-000396-8")
    ('BTCH003', None, None)
    """
    value = fold(value)
    if certain(value):
        return None
    for start in range(1, len(value)):
        if _TAIL.fullmatch(value, start):
            rest = value[start:].removeprefix("029")
            facts = {"read": shown(read or value), "lot": value[:start], "rest": rest, "whole": value}
            return Doubt("run-together", RUN_TOGETHER, facts)
    return None


def stand_in(body: str) -> str:
    """What came in place of a separator: a sign that no field holds, or nothing.

    Examples
    --------
    >>> stand_in("010952123454404310BTCH003|3740"), stand_in("010952123454404310BTCH003")
    ('|', '')
    """
    return next((sign for sign in STAND_INS if sign in body), "")


def shown(body: str) -> str:
    """A text with its control characters made visible, no longer than a line."""
    seen = "".join(sign if sign.isprintable() else "·" for sign in body)
    return seen if len(seen) <= SHOWN_SIGNS else f"{seen[: SHOWN_SIGNS - 1]}…"
