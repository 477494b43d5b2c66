"""What the floor is told of an entry that was kept and marked."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence

from records.items.models import Item
from records.ledger.models import Flag

# Said after "Kept, and marked because" or "Kept, and ... is held because".
REASONS: dict[str, str] = {
    "held": "%(code)s was held at the time",
    "expired": "%(code)s was past its end",
    "not-cleared": "%(code)s was not accepted yet",
    "not-here": "%(code)s was booked out at the time",
    "scrapped": "%(code)s was scrapped before",
    "already-used": "%(code)s is in another unit already",
    "out-of-order": "%(step)s of %(unit)s is not on file",
    "not-qualified": "you are not on the list for %(operation)s",
    "over-drawn": "more was taken from %(code)s than it should hold: weigh it",
    "not-booked-in": "%(code)s is not booked in; Stores has been told to receive it",
    "gauge-overdue": "the gauge was past its check. Take another one if you can",
    "loop": "a thing would be made from itself: look at the codes again",
    "reading-outside": "%(name)s lies outside its band",
    "measured-outside": "a measure lies outside its band",
    "scale-too-coarse": "this scale can't judge the ratio of %(part)s",
    "off-ratio": "%(part)s is off its ratio",
    "not-released": "%(unit)s was not released",
    "gate-open": "%(name)s of %(unit)s is %(verdict)s",
    "leak-test-missing": "no leak test is on file since the mould was closed",
    "run-failed": "the run was outside its recipe",
}


class _Facts(dict[str, object]):
    def __missing__(self, name: str) -> str:
        return "it"


def kept_sentence(flags: Sequence[Flag], held: Sequence[str], reasons: Sequence[str]) -> str:
    """A sentence for what was kept with a flag or a hold; empty where there is nothing to say."""
    told = [reason_of(flag.code, json.loads(flag.facts)) for flag in flags]
    flagged = {flag.code for flag in flags}
    told += [reason_of(reason, {}) for reason in dict.fromkeys(reasons) if reason not in flagged]
    if not told:
        return ""
    because = "; ".join(dict.fromkeys(told))
    what = f"and {_listed(held)} held" if held else "and marked"
    return f"Kept, {what} because {because}."


def reason_of(code: str, facts: dict[str, object]) -> str:
    """Why an entry was marked, with codes in place of numbers."""
    named = _Facts(facts)
    number = facts.get("item")
    if "code" not in facts and isinstance(number, int):
        item = Item.objects.select_related("state").filter(pk=number).first()
        named["code"] = item.code if item else "it"
    return REASONS.get(code, code.replace("-", " ")) % named


def _listed(codes: Iterable[str]) -> str:
    codes = list(codes)
    return f"{codes[0]} is" if len(codes) == 1 else f"{', '.join(codes[:-1])} and {codes[-1]} are"
