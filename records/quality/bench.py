"""The bench of Review: everything that waits for a decision as one list, the oldest first."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from django.urls import NoReverseMatch, reverse

from plant.people.deputies import deciders_on
from plant.people.queries import works_day
from records.items.models import Hold
from records.items.reasons import reason_words
from records.ledger.clock import clock
from records.ledger.models import Flag
from records.runs.queries import open_runs
from records.spc.showing import signal_words
from records.spc.standing import standings_in_force

from . import queries
from .models import FlagAnswer


@dataclass(frozen=True)
class Matter:
    """One thing that waits: since when, how it stands, on what, why, who said so, and where it is decided.

    ``act`` is the act that decides it, as the table of rights names it; ``press`` is the word on its link; ``decides``
    names the person who decides and the deputy, where they are named.
    """

    at: datetime
    state: str
    word: str
    code: str
    page: str
    why: str
    by: str
    act: str
    address: str
    press: str
    decides: str = ""


@dataclass(frozen=True)
class Marked:
    """An entry that was kept although it broke a rule: which one in words, about which code, in which act."""

    number: int
    words: str
    code: str
    act: str
    by: str
    at: datetime
    answer: FlagAnswer | None = None


def marked(flag: Flag, *, answered: bool = False) -> Marked:
    """A flag as Review reads it."""
    return Marked(
        number=flag.pk,
        words=reason_words(flag.code).capitalize(),
        code=code_in(json.loads(flag.facts)),
        act=flag.entry.kind,
        by=flag.entry.by.name,
        at=flag.entry.happened_at,
        answer=flag.answer if answered else None,
    )


def to_look_at() -> list[Marked]:
    """Entries that were kept and marked and that nobody has looked at; one query."""
    return [marked(flag) for flag in queries.flags_to_look_at()]


def looked_at() -> list[Marked]:
    """The latest that somebody has looked at; one query."""
    return [marked(flag, answered=True) for flag in queries.flags_answered()]


def code_in(facts: dict[str, object]) -> str:
    """The code that a flag names, where it names one."""
    named = (facts.get("code"), facts.get("unit"))
    return next((value for value in named if isinstance(value, str)), "")


def matters() -> list[Matter]:
    """What waits for a decision, the oldest first; the same number of queries whatever their number."""
    found = [*_holds(), *_departures(), *_countersigns(), *_runs(), *_unplaced(), *_swaps(), *_signals()]
    deciders = deciders_on(works_day(clock.now()))
    found = [replace(matter, decides=deciders.get(matter.act, "")) for matter in found]
    return sorted(found, key=lambda matter: matter.at)


def _holds() -> Iterator[Matter]:
    """One matter an item, however many holds bind it."""
    of_item: dict[str, list[Hold]] = defaultdict(list)
    for hold in queries.holds_that_bind():
        of_item[hold.item.code].append(hold)
    for code, holds in of_item.items():
        first, page = holds[0], reverse("trace:unit", args=[code])
        why = "; ".join(dict.fromkeys(_said(reason_words(hold.reason), hold.words) for hold in holds))
        one = len(holds) == 1
        yield Matter(
            at=first.at,
            state="held",
            word="Held" if one else f"Held {len(holds)} times",
            code=code,
            page=page,
            why=why,
            by=first.entry.by.name,
            act="hold lifted",
            address=reverse("trace:hold_lift", args=[first.pk]) if one else page,
            press="Decide the hold" if one else "Decide the holds",
        )


def _departures() -> Iterator[Matter]:
    for row in queries.departures_undecided():
        yield Matter(
            at=row.found_at,
            state="signal",
            word="Departure",
            code=row.item.code,
            page=reverse("trace:unit", args=[row.item.code]),
            why=f"{row.code}: {_said(row.get_defect_display(), row.words)}",
            by=row.told_by,
            act="departure decided",
            address=reverse("quality:departure", args=[row.code]),
            press="Decide the departure",
        )


def _countersigns() -> Iterator[Matter]:
    for row in queries.decisions_to_countersign():
        departure = row.nonconformance
        yield Matter(
            at=row.entry.happened_at,
            state="allowed",
            word="To countersign",
            code=departure.item.code,
            page=reverse("trace:unit", args=[departure.item.code]),
            why=f"{departure.code}: {row.get_choice_display()}, {departure.get_defect_display()}",
            by=row.entry.by.name,
            act="departure countersigned",
            address=reverse("quality:departure", args=[departure.code]),
            press="Countersign it",
        )


def _runs() -> Iterator[Matter]:
    for standing in open_runs():
        run, judged = standing.run, standing.assessment
        assert judged is not None  # a run waits only once it is judged
        address = _address("runs:run", run.code)
        yield Matter(
            at=run.began_at,
            state=judged.verdict,
            word="",
            code=run.code,
            page=address,
            why=f"{run.get_kind_display()} against {judged.recipe_revision}",
            by="",
            act="run decided",
            address=address,
            press="Decide the run",
        )


def _unplaced() -> Iterator[Matter]:
    for row in queries.entries_to_place():
        yield Matter(
            at=row.said_at,
            state="queued",
            word="Not placed",
            code="",
            page="",
            why=f"{row.said_kind}: {reason_words(row.code)}",
            by="",
            act="unplaced settled",
            address=reverse("quality:unplaced_settle", args=[row.entry.key]),
            press="Settle the entry",
        )


def _swaps() -> Iterator[Matter]:
    for row in queries.swaps_unconfirmed():
        hands = row.hands  # type: ignore[attr-defined]  # counted by the query
        yield Matter(
            at=row.entry.happened_at,
            state="corrected",
            word="Labels swapped",
            code=row.one.code,
            page=reverse("trace:unit", args=[row.one.code]),
            why=f"with {row.other.code}; {hands} of 2 have confirmed",
            by=row.entry.by.name,
            act="swap confirmed",
            address=reverse("quality:swap_confirm", args=[row.entry.key]),
            press="Confirm the swap",
        )


def _signals() -> Iterator[Matter]:
    for standing in standings_in_force():
        part, name = standing.characteristic.part.number, standing.characteristic.name
        for told in standing.unanswered:
            yield Matter(
                at=told.at.at,
                state="signal",
                word=f"Signal {told.letter}",
                code=told.at.unit.code,
                page=reverse("spc:chart", args=[part, name]),
                why=f"{name.replace('-', ' ')} on {part}: {signal_words(told).lower()}",
                by="",
                act="signal answered",
                address=reverse("spc:signal_answer", args=[part, name, told.at.pk, told.signal.rule]),
                press="Answer the signal",
            )


def _said(reason: str, words: object) -> str:
    return f"{reason}, “{words}”" if words else reason


def _address(name: str, code: str) -> str:
    """Address of a page of another area; empty while that area has none."""
    try:
        return reverse(name, args=[code])
    except NoReverseMatch:
        return ""
