"""A mis-tap taken back: the withdrawal of what somebody logged a moment ago, by the action that its kind has."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from uuid import UUID

from django.utils.translation import gettext_noop as _

from records.inspection.actions import withdraw_sheet
from records.inspection.models import Measurement
from records.items.actions import withdraw, withdraw_hold, withdraw_move, withdraw_pot
from records.items.actions.correcting import entry_of
from records.items.models import Item, Link
from records.ledger.acts import Said
from records.ledger.models import Entry
from records.ledger.refusals import Refused
from records.steps.actions import withdraw_carrier, withdraw_step, withdraw_unit

MIS_TAP = "mis-tap"
# The key stands for ten seconds; a clock put right meanwhile may shift them. A choice of this project, no source.
LATEST = timedelta(minutes=1)
BY_KIND: dict[str, Callable[[UUID, Said], object]] = {
    "step done": lambda of, said: withdraw_step(of, words=MIS_TAP, said=said),
    "measured": lambda of, said: withdraw_sheet(of, words=MIS_TAP, said=said),
    "tank charged": lambda of, said: withdraw(of, words=MIS_TAP, said=said),
    "tank drawn": lambda of, said: withdraw(of, words=MIS_TAP, said=said),
    "unit made": lambda of, said: withdraw_unit(of, words=MIS_TAP, said=said),
    "pot mixed": lambda of, said: withdraw_pot(of, words=MIS_TAP, said=said),
    "pot metered": lambda of, said: withdraw_pot(of, words=MIS_TAP, said=said),
    "hold placed": lambda of, said: withdraw_hold(of, words=MIS_TAP, said=said),
    "carrier put on": lambda of, said: withdraw_carrier(of, words=MIS_TAP, said=said),
    "item moved": lambda of, said: withdraw_move(of, words=MIS_TAP, said=said),
}
# What no press takes back, and what to do then; ``undo.js`` says the same before anybody presses.
INSTEAD = {
    "tank cleaned": _("This can't be undone by a press. Tell your lead at once: what was in the tank is in doubt."),
    "sent out": _("This can't be undone by a press. Take them back in where they did not leave."),
    "come back": _("This can't be undone by a press. Send them out again where they did not come."),
    "shipped": _("This can't be undone by a press. Tell Review at once."),
    "stock counted": _("This can't be undone by a press. Count once more: the last count stands."),
    "measured again later": _("This can't be undone by a press. Measure it when its time has come."),
    "shift handed over": _("This can't be undone by a press. Hand over once more: the last page stands."),
    "hold lifted": _("This can't be undone. Hold it again at once, and say why."),
    "item scrapped": _("This can't be undone. Keep the part, mark it, and tell Review at once."),
}


def undo(of: UUID, said: Said) -> object:
    """Withdraw an entry as a mis-tap; both stay readable, and the book says that it was one.

    Refuses ``unknown`` for what has no withdrawal, ``other-person`` for another's, ``too-late`` after a minute, and
    what the withdrawal refuses where something rests on it by now.
    """
    entry = entry_of(of)
    if entry.kind in INSTEAD:
        raise Refused("unknown", INSTEAD[entry.kind])
    if entry.kind not in BY_KIND or _moved_material(entry):
        raise Refused("unknown", "This can't be undone. Correct it on the page of the unit, or tell your lead.")
    if entry.by_id != said.by.pk:
        raise Refused("other-person", "Somebody else logged this. Correct it on the page of the unit.")
    if abs(said.happened_at - entry.happened_at) > LATEST:
        raise Refused("too-late", "This was logged more than a minute ago. Correct it on the page of the unit.")
    _stop_measured(entry)
    return BY_KIND[entry.kind](of, replace(said, told={**said.told, "because": MIS_TAP}))


def _moved_material(entry: Entry) -> bool:
    """Whether a step took something in: that is put right link by link."""
    return entry.kind == "step done" and Link.objects.filter(entry=entry).exists()


def _stop_measured(entry: Entry) -> None:
    """Refuse ``worked-on`` for a unit that was measured since it was made."""
    made = Item.objects.filter(entry=entry).values("pk")
    row = Measurement.objects.standing().filter(unit__in=made).select_related("unit__state").first()
    if row is not None:
        raise Refused(
            "worked-on", "%(code)s was measured since. It can't be undone: tell your lead.", code=row.unit.code
        )
