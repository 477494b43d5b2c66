"""Questions about lots that go in: which, how much of each, and whether it is so where the records say otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as noop

from plant.catalogue.models import Part
from plant.codes import fold
from plant.quantities import print_steps, read_decimal, steps_of
from plant.speaking import say
from records.items.balancing import left_of
from records.items.models import Item
from records.items.queries import find_item, is_booked_in
from records.items.risks import risk_of
from records.ledger.refusals import Refused
from records.trace.finding import code_of

from .asking import STOPPED, Choice, Question, Told, ask_gate, scan_lot
from .bands import Band


def lot_told(told: Told, name: str) -> tuple[str, Part | None]:
    """Code of a scanned lot as it is on file, and its part: by the records, or by what its label states."""
    code = code_of(told.get(name, ""))
    lot = find_item(code)
    if lot is not None:
        return lot.code, lot.part
    return fold(code), Part.objects.filter(number=told.get(f"{name}-part", "")).first()


def amount_of(told: Told, name: str, lot: str, *, fixed: int | None = None, band: Band | None = None) -> Question:
    """How much of a scanned lot, in the unit of its part. ``lot`` names the answer that holds its code."""
    code, part = lot_told(told, lot)
    unit, kind = (part.unit, part.unit_kind) if part else ("g", "mass")
    given = print_steps(fixed, unit, kind) if fixed else ""
    hint = say("The route says %(amount)s %(unit)s.", amount=given, unit=unit) if given else ""
    if band is not None and band.aimed:
        hint = say("%(amount)s %(unit)s are due, %(band)s.", amount=band.aimed, unit=unit, band=band.words)
    hint = f"{hint} {risk_words(code) if name else ''}".strip()
    check = partial(check_amount, unit=unit, kind=kind)
    return Question(name, say("How much of %(code)s?", code=code), "Amount", check, hint, unit, band=band, given=given)


def risk_words(code: str) -> str:
    """Until when, and how much more, a lot may be used that was released at risk; empty for any other."""
    item = find_item(code)
    risk = risk_of(item) if item is not None and item.kind == Part.Tracked.LOT else None
    return risk.words() if risk else ""


def ask_left(told: Told, name: str, lot: str, before: Sequence[tuple[str, str]] = ()) -> Iterator[Question]:
    """Before more is taken of a lot than it may give at risk, or holds by the records: whether it is so. The act takes
    it and flags it.

    ``before`` names the amounts and lots drawn before for the same thing. They count together, and a lot is asked about
    once: at the draw with which the sum passes what is on file.
    """
    item = find_item(code_of(told.get(lot, "")))
    if item is None or item.kind != Part.Tracked.LOT or not is_booked_in(item):
        return
    drawn = [amount for amount, other in before if find_item(code_of(told.get(other, ""))) == item]
    if not any(told.get(f"{amount}-stop") for amount in drawn):
        yield from more_than_allowed(told, name, item, drawn)
    if not any(told.get(f"{amount}-over") for amount in drawn):
        yield from more_than(told, name, left_of(item), item.part, drawn)


def more_than_allowed(told: Told, name: str, lot: Item, drawn: Sequence[str]) -> Iterator[Question]:
    """Before more is taken than a release at risk allows: it is said while the amount can still be another one."""
    risk, taken = risk_of(lot), _taken(told, (*drawn, name), lot.part)
    if risk is None or risk.free is None or taken is None or taken <= max(risk.free, 0):
        return
    keys = (over_keys()[0], STOPPED[1])
    tells = f"{risk.words()} {_told_words(told, name, taken, lot.part, drawn)}"
    asks = say("%(code)s may not go in", code=lot.code)
    yield Question(f"{name}-stop", asks, "Stop", choices=keys, tells=tells, kind="choice")


def more_than(told: Told, name: str, held: int, part: Part, drawn: Sequence[str] = ()) -> Iterator[Question]:
    """The question whether so much was taken where so little is on file; ``drawn`` names what was taken before."""
    taken = _taken(told, (*drawn, name), part)
    if taken is None or taken <= held:
        return
    left = f"{print_steps(max(held, 0), part.unit, part.unit_kind)} {part.unit}"
    asks = say("There are only %(left)s left on file", left=left)
    tells = _told_words(told, name, taken, part, drawn)
    yield Question(f"{name}-over", asks, "Stop", choices=over_keys(), tells=tells, kind="choice")


def _taken(told: Told, names: Sequence[str], part: Part) -> int | None:
    """The sum of some answers; none where one of them is no amount. [steps]"""
    try:
        return sum(steps_of(told.get(one, ""), part.unit, part.unit_kind) for one in names)
    except Refused:
        return None


def _told_words(told: Told, name: str, taken: int, part: Part, drawn: Sequence[str]) -> str:
    amount = f"{print_steps(taken, part.unit, part.unit_kind) if drawn else told[name]} {part.unit}"
    if drawn:
        return say("You told %(amount)s of it in all. Look at the scale and at the code once more.", amount=amount)
    return say("You told %(amount)s. Look at the scale and at the code once more.", amount=amount)


def over_keys() -> tuple[Choice, ...]:
    """What may be told where more is taken than is on file."""
    return (
        Choice("again", _("Read it again"), _("Nothing is kept of this amount.")),
        Choice("as", _("It is so: that much was taken"), _("It is kept and marked, and Stores counts what is left.")),
    )


def check_amount(text: str, unit: str, kind: str) -> None:
    """Refuse what is no amount that can be taken: no number, or none above nought."""
    if steps_of(text, unit, kind) <= 0:
        raise Refused("not-a-number", "An amount lies above nought. Read it again.")


def ask_lots(
    told: Told,
    name: str,
    word: str,
    kinds: Sequence[str],
    *,
    skip: str = "",
    fixed: int | None = None,
    band: Band | None = None,
    twice: bool = False,
) -> Iterator[Question]:
    """Lots that go in, one after the other; another one is asked for where the person says so beside an amount.

    ``twice``: what was read off the scale is read once more, so that a slip of the finger is found.
    """
    drawn: list[tuple[str, str]] = []
    n = 1
    while True:
        lot, amount = f"{name}-{n}-lot", f"{name}-{n}-amount"
        yield scan_lot(lot, word, kinds, may_skip=skip if n == 1 else "")
        if not told.get(lot):
            return
        yield from ask_gate(lot, told[lot])
        asked = amount_of(told, amount, lot, fixed=fixed, band=band if n == 1 else None)
        yield replace(asked, another=say("Another %(thing)s", thing=word))
        yield from ask_left(told, amount, lot, drawn)
        drawn.append((amount, lot))
        if twice and told.get(amount):
            yield read_again(told, amount, asked)
        if told.get(f"{amount}-more") != "yes":
            return
        n += 1


def read_again(told: Told, name: str, first: Question) -> Question:
    """The same number once more; one that differs is told with both."""
    check = partial(_same, first=told[name], unit=first.unit)
    asks, skip = _("Read the scale once more"), _("Another person read it too")
    asked = Question(f"{name}-again", asks, _("Read again"), check, unit=first.unit, kind="number", band=first.band)
    return replace(asked, expects=told[name], may_skip=skip)


def by_another(told: Told) -> bool:
    """Whether another person read a typed mass, in place of a second reading: their badge is asked at the log."""
    return any(name.endswith("-again") and not value for name, value in told.items())


def _same(text: str, first: str, unit: str) -> None:
    if read_decimal(text) != read_decimal(first):
        words = noop("First %(first)s %(unit)s, now %(now)s %(unit)s. Read it once more, or go back one step.")
        raise Refused("not-a-number", words, first=first, now=text, unit=unit)
