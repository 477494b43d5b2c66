"""Entries of tablets that Review looks at: those that could not be taken, in words."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from plant.people.models import Person
from records.items.models import ItemCode
from records.items.reasons import reason_words
from records.ledger.models import Unplaced
from records.quality.queries import entries_to_place
from records.trace.unplaced import SENT_TWICE, may_have_gone_in, opened, sent_of


@dataclass(frozen=True)
class NotTaken:
    """An entry that could not be taken: who sent what for when, why not, and which things on file it names."""

    unplaced: Unplaced
    by: str
    why: str
    codes: tuple[str, ...]
    counts: bool  # what goes in by it is possible in traces until it is settled
    fields: tuple[tuple[str, str], ...]

    @property
    def was_sent_twice(self) -> bool:
        """Whether its first sending stands: then a trace goes by that one."""
        return self.unplaced.code == SENT_TWICE


def not_taken(rows: Sequence[Unplaced] | None = None) -> list[NotTaken]:
    """Entries that nobody has settled, the oldest first; the same number of queries whatever theirs."""
    found = list(entries_to_place()) if rows is None else rows
    told = opened([json.loads(row.raw)["asked"] for row in found])
    sent = [sent_of(asked) for asked in told]
    named = {code for one in sent for code in (*one.made, *one.others)}
    on_file = set(ItemCode.objects.filter(code__in=named).values_list("code", flat=True))
    people = Person.objects.filter(pk__in={row.said_by for row in found}).select_related("name_words")
    names = {person.pk: person.name for person in people}
    return [
        NotTaken(
            row,
            names.get(row.said_by, ""),
            reason_words(row.code),
            tuple(sorted(code for code in (*codes.made, *codes.others) if code in on_file)),
            may_have_gone_in(row.said_kind, row.code, asked),
            tuple(fields_of(asked)),
        )
        for row, asked, codes in zip(found, told, sent, strict=True)
    ]


def fields_of(value: Any, name: str = "") -> Iterator[tuple[str, str]]:
    """What was sent, one field a row; words that were erased are not there any more."""
    match value:
        case {"words": _, "commitment": _}:
            yield name, "(kept as words)"
        case dict():
            for key, inner in value.items():
                yield from fields_of(inner, f"{name}, {key}" if name else str(key))
        case list():
            for n, inner in enumerate(value, start=1):
                yield from fields_of(inner, f"{name} {n}" if len(value) > 1 else name)
        case None | "":
            return
        case _:
            yield name.replace("_", " "), str(value)
