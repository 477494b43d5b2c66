"""The questions of a floor screen: one at a time, each with the check that it makes the moment it is answered."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from plant.catalogue.models import Operation, OperationReading, Part
from plant.catalogue.queries import tank_by_code
from plant.codes import fold
from plant.equipment.models import Tool
from plant.equipment.queries import gauge_by_code, tool_by_code
from plant.quantities import print_steps, read_decimal, steps_of
from records.inspection.judging import judge
from records.items.making import fits
from records.items.models import Item
from records.items.queries import find_item, item_by_code
from records.ledger.refusals import Refused
from records.trace.finding import code_of

Told = Mapping[str, str]
Check = Callable[[str], object]

MORE = (("no", "No more"), ("yes", "Another one"))
OUTSIDE = (("keep", "Keep it and hold the unit"), ("again", "Read it again"))


@dataclass(frozen=True)
class Band:
    """Limits of a reading in whole steps, and its unit as written."""

    unit: str
    unit_kind: str
    lower: int | None = None
    upper: int | None = None

    @property
    def words(self) -> str:
        """Limits in words, "55 to 65 °C"; empty where there are none."""
        low, high = (None if s is None else print_steps(s, self.unit, self.unit_kind) for s in (self.lower, self.upper))
        if low is None and high is None:
            return ""
        if low is None or high is None:
            return f"at most {high} {self.unit}" if low is None else f"at least {low} {self.unit}"
        return f"{low} to {high} {self.unit}"

    def distance(self, text: str) -> str:
        """How far a reading lies outside, "2.4 °C below"; empty inside."""
        steps = steps_of(text, self.unit, self.unit_kind)
        if judge(steps, self.lower, self.upper).is_outside:
            limit = self.lower if self.lower is not None and steps < self.lower else self.upper
            side = "below" if limit == self.lower else "above"
            away = print_steps(abs(steps - (limit or 0)), self.unit, self.unit_kind, difference=True)
            return f"{away} {self.unit} {side}"
        return ""


@dataclass(frozen=True)
class Question:
    """One question. ``word`` names its answer where it is told again; ``parts`` may be stated for a lot not on file."""

    name: str
    asks: str
    word: str
    check: Check | None = None
    hint: str = ""
    unit: str = ""
    choices: Sequence[tuple[str, str]] = ()
    parts: Sequence[str] = ()
    may_skip: str = ""
    band: Band | None = None
    tells: str = ""

    @property
    def is_number(self) -> bool:
        return bool(self.unit)

    def shown(self, value: str) -> str:
        """An answer as the list of what is told shows it."""
        if not value:
            return "left out"
        return dict(self.choices).get(value, f"{value} {self.unit}".strip())


def problem_with(question: Question, told: Told) -> Refused | None:
    """What is wrong with an answer; nothing where it can be taken."""
    value = told[question.name].strip()
    if not value:
        return None if question.may_skip else Refused("unknown", "Answer this first.")
    if question.choices and value not in dict(question.choices):
        return Refused("unknown", "Choose one of these.")
    if question.parts and told.get(f"{question.name}-part") in question.parts:
        return None
    try:
        if question.check is not None:
            question.check(value)
    except Refused as refused:
        return refused
    return None


def scan_unit(name: str, asks: str, word: str, kinds: Sequence[str]) -> Question:
    """Scan a unit of one of the kinds."""
    return Question(name, asks, word, partial(_fitting, kinds=kinds))


def scan_lot(name: str, word: str, kinds: Sequence[str], may_skip: str = "") -> Question:
    """Scan a lot of one of the kinds; one that is not on file may be taken by the part that its label states."""
    parts = list(Part.objects.filter(kind__in=kinds).order_by("number").values_list("number", flat=True))
    return Question(
        name, f"Scan the {word}", word.capitalize(), partial(_fitting, kinds=kinds), parts=parts, may_skip=may_skip
    )


def _fitting(code: str, kinds: Sequence[str]) -> Item:
    item = item_by_code(code_of(code))
    fits(item, kinds)
    return item


def amount_of(name: str, code: str, *, fixed: int | None = None) -> Question:
    """How much of a scanned lot, in the unit of its part."""
    lot = find_item(code)
    unit, kind = (lot.part.unit, lot.part.unit_kind) if lot else ("g", "mass")
    hint = f"The route says {print_steps(fixed, unit, kind)} {unit}." if fixed else ""
    return Question(name, f"How much of {fold(code)}?", "Amount", partial(_not_below, unit=unit, kind=kind), hint, unit)


def _not_below(text: str, unit: str, kind: str) -> None:
    if steps_of(text, unit, kind) <= 0:
        raise Refused("not-a-number", "An amount lies above nought. Read it again.")


def ask_lots(
    told: Told, name: str, word: str, kinds: Sequence[str], *, skip: str = "", fixed: int | None = None
) -> Iterator[Question]:
    """Lots that go in, one after the other, until the person says that there are no more."""
    n = 1
    while True:
        lot = f"{name}-{n}-lot"
        yield scan_lot(lot, word, kinds, may_skip=skip if n == 1 else "")
        if not told.get(lot):
            return
        yield amount_of(f"{name}-{n}-amount", told[lot], fixed=fixed)
        yield Question(f"{name}-{n}-more", f"Does another {word} go in?", "More", choices=MORE)
        if told.get(f"{name}-{n}-more") != "yes":
            return
        n += 1


def ask_units(told: Told, name: str, word: str, kinds: Sequence[str]) -> Iterator[Question]:
    """Units, one after the other, until the person says that there are no more."""
    n = 1
    while True:
        yield scan_unit(f"{name}-{n}", f"Scan the {word}", f"{word.capitalize()} {n}", kinds)
        yield Question(f"{name}-{n}-more", f"Another {word}?", "More", choices=MORE)
        if told.get(f"{name}-{n}-more") != "yes":
            return
        n += 1


def ask_tool(operation: Operation) -> Iterator[Question]:
    """The tool that an operation is done with."""
    if operation.tool_kind:
        word = dict(Tool.Kind.choices).get(operation.tool_kind, operation.tool_kind)
        yield Question("tool", f"Scan the {word}", word.capitalize(), partial(_tool, kind=operation.tool_kind))


def _tool(code: str, kind: str) -> Tool:
    tool = tool_by_code(code)
    if tool.kind != kind:
        raise Refused(
            "wrong-kind", "That is the %(is)s %(tool)s. Scan a %(due)s.", **{"is": tool.kind}, tool=tool.code, due=kind
        )
    return tool


def ask_bladders(told: Told) -> Iterator[Question]:
    """Bladders in the mould."""
    n = 1
    while True:
        skip = "None is in it" if n == 1 else "No more"
        yield Question(
            f"bladder-{n}", "Scan the bladder", f"Bladder {n}", partial(_tool, kind="bladder"), may_skip=skip
        )
        if not told.get(f"bladder-{n}"):
            return
        n += 1


def ask_readings(told: Told, operation: Operation) -> Iterator[Question]:
    """Numbers that are read at an operation; one outside its band asks what to do."""
    for n, row in enumerate(OperationReading.objects.filter(operation=operation).order_by("pk"), start=1):
        band, name = Band(row.unit, row.unit_kind, row.lower, row.upper), f"reading-{n}"
        yield Question(
            name,
            row.name.replace("-", " ").capitalize(),
            row.name,
            partial(steps_of, unit=row.unit, unit_kind=row.unit_kind),
            band.words,
            row.unit,
            may_skip="Can’t read it: leave it out",
            band=band,
        )
        try:
            away = band.distance(told[name]) if told.get(name) else ""
        except Refused:
            return
        if away:
            yield Question(
                f"{name}-outside",
                f"{told[name]} {row.unit} is {away} the band. What is to be done?",
                "Outside",
                choices=OUTSIDE,
                tells=f"The band is {band.words}.",
            )


def ask_scale() -> Question:
    """The scale that a pot was weighed on."""
    return Question("scale", "Scan the scale", "Scale", gauge_by_code, may_skip="No scale: the ratio is not judged")


def ask_tank() -> Question:
    """The tank or bin."""
    return Question("tank", "Scan the tank or bin", "Tank", tank_by_code)


def check_share(text: str) -> None:
    """Refuse what is no share between 0 and 1."""
    if not 0 <= read_decimal(text) <= 1:
        raise Refused("not-a-number", "A share lies between 0 and 1.")
