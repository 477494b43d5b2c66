"""Numbers that are read on the floor: asked with their band, doubted where they look like a slip, and outside it the
three ways on."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from functools import partial

from django.utils.translation import gettext as _

from plant.quantities import read_decimal, steps_of
from plant.speaking import say
from records.ledger.refusals import Refused

from .asking import Choice, Question, Told
from .bands import Band
from .slips import is_far, meant

WAIT_MIN = 10  # unless a leak test or a pot ends before. A choice of this project, no source.


def outside(wait_min: int = 0) -> list[Choice]:
    """Keys for a reading outside its band; the middle one only where there is time to wait."""
    again = Choice("again", _("Read it again"), _("Mistyped, or the gauge has not settled. Nothing is kept."))
    keep = Choice("keep", _("Keep it and hold the unit"), _("Review decides. Put it on the red shelf."))
    if wait_min < 1:
        return [again, keep]
    words = say("Wait %(minutes)s min, then measure again", minutes=wait_min)
    return [again, Choice("wait", words, _("It is kept; the step stays locked until then.")), keep]


def not_read() -> list[Choice]:
    """Why a number could not be read."""
    return [
        Choice("cannot-reach", _("Can’t get at it")),
        Choice("no-gauge", _("No gauge to hand")),
        Choice("gauge-doubtful", _("Gauge is doubtful")),
        Choice("surface-not-ready", _("Surface not ready")),
    ]


def band_of_reading(name: str, asks: str, word: str, band: Band, unit_kind: str) -> Question:
    """A number that is read, with its band; one that can't be read says why."""
    return Question(
        name,
        asks,
        word,
        partial(_number, unit=band.unit, unit_kind=unit_kind),
        band.words,
        band.unit,
        may_skip=_("Can’t read it"),
        band=band,
        kind="number",
    )


def _number(text: str, unit: str, unit_kind: str) -> int:
    return steps_of(text, unit, unit_kind)


def ask_numbers(told: Told, question: Question, wait_min: int = 0) -> Iterator[Question]:
    """A number with its band; one that can't be read asks why, one outside what to do."""
    yield question
    name, band = question.name, question.band
    text = told.get(name)
    if text == "":
        asks = _("Why can’t it be read?")
        yield Question(f"{name}-why", asks, question.word, choices=not_read(), kind="choice")
        return
    try:
        off = band.outside(text) if band and text else ""
    except Refused:
        return
    if not (off and band and text):
        return
    slip = ask_slip(question, band, text)
    if slip is not None:
        yield slip
    yield Question(
        f"{name}-outside",
        off,
        "Outside",
        choices=outside(wait_min),
        tells=say("The band is %(band)s. What is to be done?", band=band.words),
        band=band,
        drops=1 if slip is None else 2,
        wait_min=wait_min,
    )


def ask_slip(question: Question, band: Band, text: str) -> Question | None:
    """Whether it is what was meant, asked of a number that looks like a slip; nothing of any other."""
    value = read_decimal(text)
    low, high = (Decimal(limit) if limit else None for limit in (band.low, band.high))
    likely = meant(value, low, high, inches=band.unit_kind == "length")
    if not likely and not is_far(value, low, high):
        return None
    told = {"value": text, "unit": band.unit}
    keys = [Choice(one, f"{one} {band.unit}", _("That is what it reads."), question.name) for one in likely]
    keys += [Choice("again", _("Read it again"), _("Nothing is kept."))]
    keys += [Choice("as", say("It reads %(value)s %(unit)s", **told), _("It is taken as it stands."))]
    asks = say("Did you mean %(value)s?", value=likely[0]) if likely else say("Is it %(value)s %(unit)s?", **told)
    tells = say("%(value)s %(unit)s lies far outside. The band is %(band)s.", **told, band=band.words)
    return Question(f"{question.name}-slip", asks, "Slip", choices=keys, tells=tells)
