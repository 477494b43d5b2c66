"""The scan of what was just put on a unit to carry its code: at the step whose route names it, and between steps."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from django.utils.translation import gettext as _

from plant.catalogue.carriers import Carrier
from plant.catalogue.models import Operation
from plant.catalogue.queries import carrier_from
from plant.speaking import say
from records.items.models import Item
from records.items.reasons import reason_words
from records.ledger.refusals import Refused
from records.steps.actions.carriers import PUT_ON, WHY
from records.steps.carrying import OLD, WRONG, carriers_of, expected, on_now, read_carrier

from .asking import Choice, Question, Told
from .pieces import question_data


def puts_on(operation: Operation) -> str:
    """The carrier that is scanned at an operation; none where the tool that it is done with stands for the unit."""
    kind = carrier_from(operation)
    return "" if kind == Carrier.TOOL or operation.n == 1 else kind


@dataclass(frozen=True)
class NewCarrier:
    """The scan of what carries the unit from here on: it shows that the code can be read, and that it is the unit's."""

    kind: str
    unit: Item | None = None

    def asks(self, told: Told) -> Iterator[Question]:
        thing = Carrier(self.kind).label
        yield Question(
            "carrier",
            say("Scan the %(thing)s", thing=str(thing)),
            str(thing).capitalize(),
            partial(_names, unit=self.unit),
            hint=_("Put it on first: the scan shows that it can be read."),
            may_skip=_("It has none yet"),
            kind="carrier",
        )

    def tells(self, told: Told) -> dict[str, Any]:
        return {"carrier": told.get("carrier", "")}

    def data(self) -> dict[str, Any]:
        (question,) = self.asks({})
        return {"piece": "carrier", **question_data(question)}


FIRST = "first"


@dataclass(frozen=True)
class AnotherCarrier:
    """A carrier put on between the steps: what it is, why, and the scan of it, which logs."""

    unit: Item | None = None

    def asks(self, told: Told) -> Iterator[Question]:
        yield self._kind()
        yield self._why(told.get("reason") == FIRST)
        if told.get("put"):
            yield self._scan(told["put"])

    def _kind(self) -> Question:
        kinds = [Choice(kind, _headed(str(Carrier(kind).label))) for kind in PUT_ON]
        return Question("put", _("What is put on?"), "Put on", choices=kinds, kind="choice")

    def _why(self, is_first: bool) -> Question:
        reasons = [Choice(code, _headed(reason_words(code))) for code in WHY]
        keys = [Choice(FIRST, _("It is the first one"))] if is_first else reasons
        return Question("reason", _("Why is another one put on?"), "Why", choices=keys, kind="choice")

    def _scan(self, kind: str) -> Question:
        (asked,) = NewCarrier(kind, self.unit).asks({})
        hint = _("Take the old one off and put this one on. Without a number on them both read alike.")
        return replace(asked, hint=hint, may_skip="", logs=True)

    def tells(self, told: Told) -> dict[str, Any]:
        reason = told.get("reason", "")
        symbol = told.get("carrier", "")
        return {"carrier": told.get("put", ""), "symbol": symbol, "reason": "" if reason == FIRST else reason}

    def data(self) -> dict[str, Any]:
        asked = {"put": self._kind(), "why": self._why(False), "first": self._why(True)}
        told = {name: question_data(question) for name, question in asked.items()}
        scans = {kind: question_data(self._scan(kind)) for kind in PUT_ON}
        return {"piece": "another-carrier", **told, "scans": scans}


@dataclass(frozen=True)
class DueCarrier:
    """The carrier that a unit may get by hand: of the kind that is on it, else of the one that its route asks for."""

    kind: str
    is_on: bool

    @property
    def label(self) -> str:
        return str(Carrier(self.kind).label)


def carrier_due(unit: Item) -> DueCarrier | None:
    """What may be put on to carry a unit's code; nothing while a tool stands for it, or where no carrier is asked."""
    present = on_now([unit.pk]).get(unit.pk)
    kind = present.kind if present else expected([unit.pk]).get(unit.pk, "")
    return DueCarrier(kind, present is not None) if kind in PUT_ON else None


def _headed(text: str) -> str:
    return _(text)[:1].upper() + _(text)[1:]


def _names(text: str, unit: Item | None) -> None:
    """Refuse what carries the code of another unit, or of none, and a label that a newer one came after."""
    found = read_carrier(text)
    if unit is not None and (found.item is None or found.item.pk != unit.pk):
        raise Refused("wrong-carrier", WRONG, unit=unit.code, found=found.code)
    if unit is not None and found.is_old(carriers_of([unit.pk])):
        raise Refused("old-carrier", OLD, unit=unit.code, copy=found.copy)
