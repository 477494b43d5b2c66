"""The questions of a floor screen: one at a time, each with the check that it makes the moment it is answered."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import NamedTuple, TypeVar

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as noop

from plant.catalogue.models import Operation, Part
from plant.catalogue.queries import tank_by_code
from plant.codes import certain
from plant.equipment.models import Gauge, Tool
from plant.equipment.queries import gauge_by_code, tool_by_code
from plant.scans import opened
from plant.speaking import say, spoken
from plant.speaking import word as spoken_word
from records.items.gates import Look, may_go_in
from records.items.making import fits
from records.items.models import Item
from records.items.queries import find_item
from records.items.shelf import first_to_take
from records.items.tanks import look_in, stop_filled
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.steps.carrying import carrier_told
from records.steps.checks import stop_unfinished
from records.steps.filling import IN_THE_LIST
from records.trace.finding import code_of, item_named

from .bands import Band

Told = Mapping[str, str]
Check = Callable[[str], object]
Found = TypeVar("Found")


class Choice(NamedTuple):
    """One key of a question: what it tells, its word, and a line below it; ``sets`` where it answers another one."""

    code: str
    word: str
    small: str = ""
    sets: str = ""

    @property
    def holds(self) -> bool:
        """Whether the press holds or marks something."""
        return self.code in ("keep", "done")

    @property
    def waits(self) -> bool:
        """Whether nothing more is done now."""
        return self.code == "wait"


NOT_WORDS = noop("That is the code %(code)s. Asked for here: %(asks)s. If one more thing goes in, go back one step.")
# Answers that a symbol may give.
SCANNED = ("unit", "lot", "item", "free", "tool", "gauge", "scale", "tank", "goes", "carrier")
STOPPED = (
    Choice("again", noop("Take another one"), noop("Nothing is kept of this one.")),
    Choice("done", noop("It has gone in already"), noop("It is kept and marked, and Review is told.")),
)


@dataclass(frozen=True)
class Question:
    """One question. ``word`` names its answer where it is told again; ``parts`` may be stated for a lot not on file.

    ``kind`` and ``of`` say what is asked for as the tablet checks it without a link: the kind of thing, and which.
    """

    name: str
    asks: str
    word: str
    check: Check | None = None
    hint: str = ""
    unit: str = ""
    choices: Sequence[Choice] = ()
    parts: Sequence[str] = ()
    may_skip: str = ""
    band: Band | None = None
    tells: str = ""
    kind: str = "text"
    of: Sequence[str] = ()
    drops: int = 1  # answers that "again" takes back, from this one on
    another: str = ""  # key beside the press: it takes the answer, and one more of its kind is asked for
    ends: str = ""  # the press that ends a list: scanning the next thing is the other answer
    leaves: bool = False  # not asked unless somebody wants to tell it
    own: str = ""  # key that asks it all the same
    given: str = ""  # what stands in the field before anybody types
    expects: str = ""  # the answer that leads on, where no other one does
    wait_min: int = 0  # so long its key waits before it is measured again
    decimals: int | None = None  # as the drawing has them, where there is one
    logs: bool = False  # the scan that answers it logs: nothing is asked after it
    instead: tuple[str, str] | None = None  # name and word of the key by which what it rests on is asked after all
    again_at: str = ""  # task that "again" leads to, where it is not one more try of this one

    def offers(self, code: str) -> bool:
        """Whether an answer is one of its keys."""
        return any(choice.code == code for choice in self.choices)

    def bare(self, value: str) -> str:
        """An answer without the unit, where somebody wrote it after the number; the code alone of a scanned symbol."""
        if self.kind == "carrier":
            return carrier_told(value)
        if self.kind in SCANNED:
            return opened(value)
        return value.removesuffix(self.unit).strip() if self.unit else value

    @property
    def is_number(self) -> bool:
        return bool(self.unit)

    @property
    def is_typed(self) -> bool:
        """Whether the press that takes the answer may log as well: a number or words, not a scan."""
        return self.is_number or (self.kind == "text" and not self.choices)

    @property
    def likely(self) -> str:
        """An answer that leads on as most do, to see whether anything is asked after it."""
        if self.ends or self.expects:
            return self.expects
        band = self.band
        return (band.aimed or band.low or band.high if band else "") or "1"

    def is_told(self, value: str) -> bool:
        """Whether an answer stands in the list of what is told: not a warning, nor the end of a list."""
        return self.word not in ("Stop", "Slip") and bool(value or not self.ends)

    def shown(self, value: str) -> str:
        """An answer as the list of what is told shows it."""
        if not value:
            return self.may_skip or _("left out")
        words = {choice.code: spoken_word(choice.word) for choice in self.choices}
        return words.get(value) or spoken(f"{value} {self.unit}".strip())


def problem_with(question: Question, told: Told) -> Refused | None:
    """What is wrong with an answer; nothing where it can be taken."""
    value = told[question.name].strip()
    if not value:
        return None if question.may_skip else Refused("unknown", _first(question))
    if question.choices and not question.offers(value):
        return Refused("unknown", "Choose one of these.")
    try:
        if question.parts and told.get(f"{question.name}-part") in question.parts:
            return _misread(value)
        if question.kind == "text" and not question.choices:
            _no_code(question, value)
        if question.check is not None:
            question.check(value)
    except Refused as refused:
        return refused
    return None


def _no_code(question: Question, value: str) -> None:
    """A scan that comes where words are typed answers nothing: a spool would be logged as the programme."""
    code = opened(value)
    if code != value or certain(value):
        raise Refused("wrong-kind", NOT_WORDS, code=certain(value) or code, asks=question.asks)


def _misread(value: str) -> Refused | None:
    """What can't be read for certain is not taken, whatever part its label states."""
    try:
        code_of(value)
    except Refused as refused:
        return refused
    return None


def _first(question: Question) -> str:
    if question.is_number:
        return noop("Write the number first.")
    return noop("Scan it first, or type its code.") if question.kind in SCANNED else noop("Write it first.")


def scan_unit(name: str, asks: str, word: str, kinds: Sequence[str]) -> Question:
    """Scan a unit of one of the kinds."""
    return Question(name, asks, word, partial(_fitting, kinds=kinds), kind="unit", of=kinds)


def scan_lot(name: str, word: str, kinds: Sequence[str], may_skip: str = "") -> Question:
    """Scan a lot of one of the kinds; one that is not on file may be taken by the part that its label states."""
    parts = list(Part.objects.filter(kind__in=kinds).order_by("number").values_list("number", flat=True))
    check = partial(_fitting, kinds=kinds)
    first = first_to_take(kinds)
    hint = say("Take %(code)s first: it ends before the others.", code=first) if first else ""
    asks = say("Scan the %(thing)s", thing=word)
    return Question(name, asks, _named(word), check, hint, parts=parts, may_skip=may_skip, kind="lot", of=kinds)


def _named(word: str) -> str:
    return word[:1].upper() + word[1:]  # a part's number in it keeps its capitals


def _fitting(code: str, kinds: Sequence[str]) -> Item:
    item = no_equipment(code, " or ".join(kinds))
    fits(item, kinds)
    return item


def no_equipment(code: str, due: str) -> Item:
    """The item whose code was scanned; a tool or gauge in its place is refused by what it is."""
    try:
        return item_named(code)
    except Refused as unknown:
        _no_equipment(code, due, unknown)
        raise


def _no_equipment(code: str, due: str, unknown: Refused) -> None:
    """Refuse a tool or gauge by what it is, where a lot or unit is due: it is no code that there is not."""
    found: Tool | Gauge | None = Tool.objects.filter(code=code_of(code)).first() if unknown.code == "unknown" else None
    if found is None and unknown.code == "unknown":
        found = Gauge.objects.filter(code=code_of(code)).first()
    if found is not None:
        words = "That is the %(kind)s %(code)s. Due here: %(due)s. Scan another code."
        raise Refused("wrong-kind", words, kind=found.kind or "gauge", code=found.code, due=due) from unknown


def ask_gate(name: str, code: str, *, whole: bool = False) -> Iterator[Question]:
    """Before the act: what may not go in, and what to do. Nothing is asked where it may, or where it is not on file.

    ``whole``: a unit goes in with its whole route behind it, its surface still good.
    """
    item = find_item(code_of(code))
    if item is None:
        return
    try:
        may_go_in(item, clock.now())
        if whole:
            stop_unfinished(Look(clock.now()), item)
    except Refused as refused:
        asks = say("%(code)s may not go in", code=item.code)
        yield Question(f"{name}-stop", asks, "Stop", choices=STOPPED, tells=str(refused))


def ask_units(told: Told, name: str, word: str, kinds: Sequence[str], *, go_in: bool = False) -> Iterator[Question]:
    """Units, one after the other, until a press ends the list. ``go_in``: into another unit."""
    n = 1
    while True:
        asked = scan_unit(f"{name}-{n}", say("Scan the %(thing)s", thing=word), f"{word.capitalize()} {n}", kinds)
        asked = not_twice(asked, told, [f"{name}-{m}" for m in range(1, n)])
        yield asked if n == 1 else next_of(asked, word, n - 1)
        if not told.get(f"{name}-{n}"):
            return
        if go_in:
            yield from ask_gate(f"{name}-{n}", told[f"{name}-{n}"])
        n += 1


def not_twice(asked: Question, told: Told, before: Sequence[str]) -> Question:
    """The question for one more of a list: what answered one of those before is not taken again."""
    codes = [code_of(told[name]) for name in before]

    def check(code: str) -> object:
        check_once(code, codes)
        return asked.check(code) if asked.check else None

    return replace(asked, check=check)


def check_once(code: str, before: Sequence[str]) -> None:
    """Refuse ``already-used`` for what is in a list already."""
    bare = code_of(opened(code))
    if bare in before:
        raise Refused("already-used", IN_THE_LIST, code=bare)


def next_of(asked: Question, word: str, count: int) -> Question:
    """The question for one more of a list that holds so many; a press ends it."""
    ends = say("That is all: %(count)s scanned", count=count)
    return replace(asked, asks=say("Scan the next %(thing)s", thing=word), may_skip=_("No more"), ends=ends)


def ask_tool(operation: Operation) -> Iterator[Question]:
    """The tool that an operation is done with."""
    if operation.tool_kind:
        word = dict(Tool.Kind.choices).get(operation.tool_kind, operation.tool_kind)
        check = partial(check_tool, kinds=[operation.tool_kind])
        asks = say("Scan the %(thing)s", thing=word)
        yield Question("tool", asks, word.capitalize(), check, kind="tool", of=[operation.tool_kind])


def check_tool(code: str, kinds: Sequence[str]) -> Tool:
    """The tool with a code. Refuses ``unknown``, and ``wrong-kind`` for what is of another kind or no tool."""
    due = " or ".join(kinds)
    tool = equipment(tool_by_code, code, due)
    if tool.kind not in kinds:
        words = "That is the %(kind)s %(code)s. Due here: %(due)s. Scan another code."
        raise Refused("wrong-kind", words, kind=tool.kind, code=tool.code, due=due)
    return tool


def equipment(find: Callable[[str], Found], code: str, due: str) -> Found:
    """What a code names among equipment. A unit or lot in its place is refused as ``wrong-kind``, by what it is."""
    try:
        return find(code_of(code))
    except Refused as unknown:
        item = find_item(code_of(code))
        if item is None:
            raise
        words = "That is %(kind)s %(code)s. Due here: %(due)s. Scan another code."
        raise Refused("wrong-kind", words, kind=item.part.kind, code=item.code, due=due) from unknown


def check_gauge(code: str) -> Gauge:
    """The gauge with a code. Refuses ``unknown``, and ``wrong-kind`` for a unit or lot."""
    return equipment(gauge_by_code, code, "gauge")


def ask_bladders(told: Told) -> Iterator[Question]:
    """Bladders in the mould."""
    n = 1
    while True:
        check, skip = partial(check_tool, kinds=[Tool.Kind.BLADDER]), _("None is in it")
        asks = say("Scan the %(thing)s", thing="bladder")
        asked = Question(f"bladder-{n}", asks, f"Bladder {n}", check, may_skip=skip, kind="tool")
        asked = not_twice(asked, told, [f"bladder-{m}" for m in range(1, n)])
        yield asked if n == 1 else next_of(asked, "bladder", n - 1)
        if not told.get(f"bladder-{n}"):
            return
        n += 1


def ask_scale() -> Question:
    """The scale that a pot was weighed on."""
    skip = _("No scale: the ratio is not judged")
    return Question("scale", say("Scan the %(thing)s", thing="scale"), "Scale", _scale, may_skip=skip, kind="scale")


def _scale(code: str) -> Gauge:
    gauge = equipment(gauge_by_code, code, "scale")
    if gauge.kind and "scale" not in gauge.kind:
        raise Refused("wrong-kind", "That is the %(kind)s %(code)s. Scan a scale.", kind=gauge.kind, code=gauge.code)
    return gauge


def ask_inside(code: str) -> Iterator[Question]:
    """Before an amount is drawn: what stands in a tank or bin that may not be used, and what to do."""
    tank = tank_by_code(code)
    try:
        look_in(Look(clock.now()), tank)
    except Refused as refused:
        asks = say("Something in %(tank)s may not be used", tank=tank.code)
        drawn = Choice("done", noop("It has been drawn already"), STOPPED[1].small)
        yield Question("tank-stop", asks, "Stop", choices=(STOPPED[0], drawn), tells=str(refused))


def ask_clean(code: str) -> Iterator[Question]:
    """Before a tank or bin is told to be clean: whether it is, where its log says that something is in it."""
    tank = tank_by_code(code)
    try:
        stop_filled(Look(clock.now()), tank)
    except Refused as refused:
        look = Choice("again", noop("I look again"), noop("Nothing is kept."))
        clean = Choice("done", noop("It is empty and clean"), STOPPED[1].small)
        asks = say("Is %(tank)s empty?", tank=tank.code)
        yield Question("tank-stop", asks, "Stop", choices=(look, clean), tells=str(refused))


def ask_tank() -> Question:
    """The tank or bin."""
    return Question("tank", _("Scan the tank or bin"), "Tank", tank_by_code, kind="tank")
