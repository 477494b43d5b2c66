"""What is told at a closed mould: what it is closed over, that it was closed again, and the pot that goes in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from urllib.parse import urlencode

from django.utils.translation import gettext as _

from plant.catalogue.models import Operation, OperationInput, Part
from plant.catalogue.queries import route_of
from plant.equipment.models import Tool
from plant.quantities import print_steps
from plant.scans import opened
from plant.speaking import say
from records.items.making import fits
from records.items.models import Item
from records.items.queries import find_item
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.steps.checks import checks_of
from records.steps.filling import inputs_of, mould_of
from records.trace.finding import code_of, item_named

from .asking import Choice, Question, Told, ask_gate, check_once, check_tool, next_of, not_twice, scan_lot
from .going_in import amount_of, ask_left
from .pieces import Payload, Piece, keys_data

KIND = Part.Kind
GOES_IN = (KIND.PREFORM, Tool.Kind.BLADDER, KIND.INSERT)


def no_pot() -> Sequence[Choice]:
    """What may be told where the pot can't be scanned."""
    return (
        Choice("again", _("Scan it, or type its code"), _("Nothing is kept yet.")),
        Choice("done", _("It is in, and nobody knows which pot"), _("It is kept and marked, and Review is told.")),
    )


def wrongs() -> Sequence[Choice]:
    """What may be told where a fill did not go as usual."""
    return (
        Choice("amount", _("Another amount went in")),
        Choice("more", _("A second pot went in")),
        Choice("stopped", _("The fill was broken off")),
    )


def untested() -> Sequence[Choice]:
    """What may be told where a check does not hold."""
    return (
        Choice("again", _("Not yet: it is tested first"), _("Nothing is kept.")),
        Choice("done", _("It has been filled already"), _("It is kept and marked, and Review is told.")),
    )


def another_mould() -> Sequence[Choice]:
    """What may be told where another mould is scanned than the unit stood in."""
    return (
        Choice("again", _("Look again, and scan the mould"), _("Nothing is kept of this scan.")),
        Choice("moved", _("It is closed in this one now"), _("It was taken over: its tests begin anew.")),
    )


def takes_pot(operation: Operation) -> bool:
    """Whether a mixed pot goes in at an operation."""
    return any(one.kind == KIND.RESIN_MIX for one in inputs_of(operation))


def fills_later(route: Sequence[Operation]) -> bool:
    """Whether a mould is closed first, and filled at an operation of its own."""
    wanted = OperationInput.objects.filter(operation__in=[one.pk for one in route[1:]], kind=KIND.RESIN_MIX)
    return wanted.exists()


def closing_pieces(operation: Operation) -> list[Piece]:
    """What a mould is closed over."""
    insert = next((one for one in inputs_of(operation) if one.kind == KIND.INSERT), None)
    return [InMould(insert.amount if insert else None, insert.part if insert else None)]


@dataclass(frozen=True)
class InMould:
    """Preforms, bladders and inserts, scanned one after the other in any order; a press ends the list."""

    insert: int | None = None
    part: Part | None = None

    def asks(self, told: Told) -> Iterator[Question]:
        n = 1
        while True:
            yield self._question(told, n)
            code = told.get(f"in-{n}", "")
            if not code:
                return
            yield from ask_gate(f"in-{n}", code)
            if _kind_of(code) == KIND.INSERT and self.insert is None:
                yield amount_of(told, f"in-{n}-amount", f"in-{n}")
                yield from ask_left(told, f"in-{n}-amount", f"in-{n}")
            n += 1

    def _question(self, told: Told, n: int) -> Question:
        lot = scan_lot("", "", [KIND.INSERT])
        before = [code_of(told[f"in-{m}"]) for m in range(1, n)]
        word = _words_of(told[f"in-{n}"]) if told.get(f"in-{n}") else _("In it")
        asked = Question(
            f"in-{n}",
            _("Scan what goes into the mould"),
            word,
            partial(_goes_in, before=before),
            hint=_("Preforms, bladders, frame inserts, in any order."),
            parts=lot.parts,
            may_skip=_("Nothing goes in"),
            kind="goes",
            of=GOES_IN,
        )
        return asked if n == 1 else replace(next_of(asked, "", n - 1), asks=_("Scan the next one, or close the mould"))

    def tells(self, told: Told) -> Payload:
        found: dict[str, list[object]] = {"preforms": [], "bladders": [], "inserts": []}
        n = 1
        while told.get(f"in-{n}"):
            code = code_of(told[f"in-{n}"])
            kind = _kind_of(code)
            if kind == KIND.PREFORM:
                found["preforms"].append(code)
            elif kind == Tool.Kind.BLADDER:
                found["bladders"].append(code)
            else:
                found["inserts"].append(self._insert(told, n, code))
            n += 1
        return dict(found)

    def _insert(self, told: Told, n: int, code: str) -> Payload:
        unit = amount_of(told, "", f"in-{n}").unit
        kind = self.part.unit_kind if self.part else "count"
        fixed = print_steps(self.insert, unit, kind) if self.insert is not None else ""
        part = told.get(f"in-{n}-part", "")
        return {"lot": code, "amount": f"{told.get(f'in-{n}-amount') or fixed} {unit}", "part": part}

    def data(self) -> Payload:
        fixed = print_steps(self.insert, self.part.unit, self.part.unit_kind) if self.insert and self.part else ""
        asked = self._question({}, 1)
        return {
            "piece": "in-mould",
            "of": list(GOES_IN),
            "asks": asked.asks,
            "next": _("Scan the next one, or close the mould"),
            "hint": asked.hint,
            "may_skip": asked.may_skip,
            "insert": fixed,
            "unit": self.part.unit if self.part else "pcs",
        }


def _kind_of(code: str) -> str:
    item = find_item(code_of(code))
    if item is not None:
        return item.part.kind
    tool = Tool.objects.filter(code=code_of(code)).first()
    return tool.kind if tool else KIND.INSERT


def _words_of(code: str) -> str:
    kind = _kind_of(code)
    return dict([*KIND.choices, *Tool.Kind.choices]).get(kind, kind).capitalize()


def _goes_in(code: str, before: Sequence[str]) -> Item | Tool:
    """What goes into a mould. Refuses ``unknown``, ``wrong-kind`` and ``already-used``."""
    bare = code_of(opened(code))
    if _kind_of(bare) != KIND.INSERT:
        check_once(code, before)
    tool = Tool.objects.filter(code=bare).first()
    if tool is None:
        item = item_named(code)
        fits(item, (KIND.PREFORM, KIND.INSERT))
        return item
    if tool.kind != Tool.Kind.BLADDER:
        raise Refused("wrong-kind", "That is the %(kind)s %(code)s. It does not go in.", kind=tool.kind, code=bare)
    return tool


@dataclass(frozen=True)
class ClosedAgain:
    """The mould and the bladders in it, of a mould that was opened and is closed again."""

    unit: Item | None = None

    def asks(self, told: Told) -> Iterator[Question]:
        check = partial(check_tool, kinds=[Tool.Kind.MOULD])
        yield Question("tools-1", _("Scan the mould"), _("Mould"), check, kind="tool", of=[Tool.Kind.MOULD])
        yield from self._another_one(told.get("tools-1", ""))
        n = 2
        while True:
            asks, check = _("Scan the bladder that is in it now"), partial(check_tool, kinds=[Tool.Kind.BLADDER])
            asked = Question(f"tools-{n}", asks, _("Bladder"), check, kind="tool", of=[Tool.Kind.BLADDER])
            asked = not_twice(asked, told, [f"tools-{m}" for m in range(2, n)])
            yield replace(next_of(asked, "", n - 1), asks=asks)
            if not told.get(f"tools-{n}"):
                return
            n += 1

    def _another_one(self, scanned: str) -> Iterator[Question]:
        """Whether it is closed in another mould than it stood in, or the wrong one was scanned."""
        stood = mould_of(self.unit, clock.now()) if self.unit else None
        code = code_of(scanned)
        if stood is None or self.unit is None or not code or stood.code == code:
            return
        asks = say("%(unit)s stands in %(mould)s", unit=self.unit.code, mould=stood.code)
        tells = say("You scanned %(code)s. Which one is in front of you?", code=code)
        yield Question("mould-stop", asks, "Stop", choices=another_mould(), tells=tells, kind="choice")

    def tells(self, told: Told) -> Payload:
        tools, n = [], 1
        while told.get(f"tools-{n}"):
            tools.append(code_of(told[f"tools-{n}"]))
            n += 1
        return {"tools": tools}

    def data(self) -> Payload:
        return {"piece": "closed-again", "choices": keys_data(another_mould())}


@dataclass(frozen=True)
class Checked:
    """Before a pot goes in: the checks of this closing hold. Where one does not, it is tested first."""

    operation: Operation
    unit: Item | None = None

    def asks(self, told: Told) -> Iterator[Question]:
        if self.unit is None:
            return
        route, now = route_of(self.unit.part, self.unit.born_at), clock.now()
        for check in checks_of(self.unit, route, now):
            fault = check.fault(now)
            if fault is None or check.operation.n > self.operation.n:
                continue
            code, words = fault
            tells = str(Refused(code, words, step=check.operation.name, until=check.ends, unit=self.unit.code))
            address = urlencode({"unit": self.unit.code, "operation": check.operation.name})
            asks = _("Do not fill %(unit)s yet") % {"unit": self.unit.code}
            yield Question(
                f"check-{check.operation.n}-stop",
                asks,
                "Stop",
                choices=untested(),
                tells=tells,
                kind="choice",
                again_at=f"step/?{address}",
            )

    def tells(self, told: Told) -> Payload:
        return {}

    def data(self) -> Payload:
        return {"piece": "checked", "n": self.operation.n, "choices": keys_data(untested())}


@dataclass(frozen=True)
class PotIn:
    """The pot that goes in: one scan. What did not go as usual is asked only where somebody says so."""

    operation: Operation

    @property
    def fixed(self) -> int | None:
        return next((one.amount for one in inputs_of(self.operation) if one.kind == KIND.RESIN_MIX), None)

    def asks(self, told: Told) -> Iterator[Question]:
        yield self._scan(1)
        if not told.get("pot-1"):
            asks, tells = _("Nobody knows which pot it is"), _("Each pot that is open counts as possible.")
            yield Question("pot-stop", asks, "Stop", choices=no_pot(), tells=tells, kind="choice")
            return
        yield from ask_gate("pot-1", told["pot-1"])
        asks, key = _("What is different?"), _("Something is wrong")
        yield Question("wrong", asks, _("Besides"), choices=wrongs(), kind="choice", leaves=True, own=key)
        if told.get("wrong") == "amount":
            yield replace(amount_of(told, "pot-1-amount", "pot-1", fixed=self.fixed), another="")
            yield from ask_left(told, "pot-1-amount", "pot-1")
        if told.get("wrong") == "more":
            yield not_twice(self._scan(2), told, ["pot-1"])
            yield from ask_gate("pot-2", told.get("pot-2", ""))
            yield amount_of(told, "pot-2-amount", "pot-2")
            yield from ask_left(told, "pot-2-amount", "pot-2")

    def _scan(self, n: int) -> Question:
        asked = replace(scan_lot(f"pot-{n}", _("pot"), [KIND.RESIN_MIX]), word=_("Pot"))
        return replace(asked, may_skip=_("I can’t scan it")) if n == 1 else asked

    def tells(self, told: Told) -> Payload:
        shots = []
        for n in (1, 2):
            if told.get(f"pot-{n}"):
                amount, unit = told.get(f"pot-{n}-amount", ""), amount_of(told, "", f"pot-{n}").unit
                shot = {"lot": code_of(told[f"pot-{n}"]), "amount": f"{amount} {unit}" if amount else ""}
                shots.append(shot | {"part": told.get(f"pot-{n}-part", "")})
        return {"shots": shots} | ({"outcome": "interrupted"} if told.get("wrong") == "stopped" else {})

    def data(self) -> Payload:
        return {"piece": "pot-in", "no_pot": keys_data(no_pot()), "wrongs": keys_data(wrongs())}
