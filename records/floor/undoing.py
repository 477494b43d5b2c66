"""A mis-tap taken back: the withdrawal of what somebody logged a moment ago, by the action that its kind has."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from uuid import UUID

from records.inspection.actions import withdraw_sheet
from records.items.actions import withdraw
from records.items.actions.correcting import entry_of
from records.items.models import Link
from records.ledger.acts import Said
from records.ledger.models import Entry
from records.ledger.refusals import Refused
from records.steps.actions import withdraw_step

MIS_TAP = "mis-tap"
# The key stands for ten seconds; a clock put right meanwhile may shift them. A choice of this project, no source.
LATEST = timedelta(minutes=1)
BY_KIND: dict[str, Callable[[UUID, Said], object]] = {
    "step done": lambda of, said: withdraw_step(of, words=MIS_TAP, said=said),
    "measured": lambda of, said: withdraw_sheet(of, words=MIS_TAP, said=said),
    "tank charged": lambda of, said: withdraw(of, words=MIS_TAP, said=said),
    "tank drawn": lambda of, said: withdraw(of, words=MIS_TAP, said=said),
}


def undo(of: UUID, said: Said) -> object:
    """Withdraw an entry as a mis-tap; both stay readable, and the book says that it was one.

    Refuses ``unknown`` for what has no withdrawal, ``other-person`` for another's, ``too-late`` after a minute.
    """
    entry = entry_of(of)
    if entry.kind not in BY_KIND or _moved_material(entry):
        raise Refused("unknown", "This can't be undone. Correct it on the page of the unit, or tell your lead.")
    if entry.by_id != said.by.pk:
        raise Refused("other-person", "Somebody else logged this. Correct it on the page of the unit.")
    if abs(said.happened_at - entry.happened_at) > LATEST:
        raise Refused("too-late", "This was logged more than a minute ago. Correct it on the page of the unit.")
    return BY_KIND[entry.kind](of, replace(said, told={**said.told, "because": MIS_TAP}))


def _moved_material(entry: Entry) -> bool:
    """Whether a step took something in: that is put right link by link."""
    return entry.kind == "step done" and Link.objects.filter(entry=entry).exists()
