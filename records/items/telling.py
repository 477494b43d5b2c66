"""What somebody is told of an entry that was kept and marked, at the floor and at the desk alike."""

from __future__ import annotations

import json
from collections.abc import Sequence
from uuid import UUID

from plant.speaking import say
from records.ledger.acts import Act
from records.ledger.models import Flag

from .models import Hold, Item, LifeEntry
from .reasons import because


def marks_of(key: UUID) -> tuple[list[Flag], list[Hold]]:
    """Flags that an entry raised, and the holds that it placed."""
    holds = Hold.objects.filter(entry__key=key).select_related("item__state").order_by("pk")
    return list(Flag.objects.filter(entry__key=key).order_by("pk")), list(holds)


def marks_in(act: Act) -> tuple[list[Flag], list[Hold]]:
    """The same of an act just done, from what it wrote."""
    return (
        [row for row in act.rows if isinstance(row, Flag)],
        [row for row in act.rows if isinstance(row, Hold)],
    )


def kept_sentence(flags: Sequence[Flag], holds: Sequence[Hold]) -> str:
    """A sentence for what was kept with a flag or a hold; empty where there is nothing to say."""
    told = [_because(flag) for flag in flags]
    flagged = {flag.code for flag in flags}
    told += [because(hold.reason, {}) for hold in holds if hold.reason not in flagged]
    if not told:
        return ""
    held = sorted({hold.item.code for hold in holds})
    facts = {"why": "; ".join(dict.fromkeys(told)), "code": held[0] if held else "", "codes": ", ".join(held)}
    if not held:
        return say("Kept, and marked because %(why)s.", **facts)
    if len(held) == 1:
        return say("Kept, and %(code)s is held because %(why)s.", **facts)
    return say("Kept, and %(codes)s are held because %(why)s.", **facts)


def kept_words(key: UUID) -> str:
    """The sentence for the entry under a key."""
    return kept_sentence(*marks_of(key))


def _because(flag: Flag) -> str:
    """Why an entry was marked, with codes in place of numbers."""
    facts = json.loads(flag.facts)
    number = facts.get("item")
    if "code" not in facts and isinstance(number, int):
        item = Item.objects.select_related("state").filter(pk=number).first()
        facts["code"] = item.code if item else "it"
    return because(flag.code, facts)


# What was done with a lot, as a sentence goes on after "it was".
WAS: dict[str, str] = {
    LifeEntry.What.OPENED: "opened",
    LifeEntry.What.OUT: "taken out of the freezer",
    LifeEntry.What.IN: "put into the freezer",
}
