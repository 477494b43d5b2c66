"""What a task is made of: pieces that ask, tell the entry what was answered, and travel to the tablet as data.

A piece is written once. The server walks it for a page; the tablet walks the same data where it has no link, and names
the answers alike, so that a walk begun on either side goes on at the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from plant.catalogue.models import CharacteristicRevision, OperationReading
from plant.codes import read_typed
from plant.quantities import TEXT
from plant.speaking import say, word
from records.items.queries import find_item
from records.ledger.refusals import Refused
from records.trace.finding import code_of

from .asking import STOPPED, Choice, Question, Told, ask_bladders, ask_gate, ask_units, check_gauge
from .bands import Band
from .going_in import amount_of, ask_lots, over_keys
from .numbers import ask_numbers, band_of_reading

Payload = dict[str, Any]


class Piece(Protocol):
    """Some questions of a task that belong together."""

    def asks(self, told: Told) -> Iterator[Question]:
        """Its questions, one after the other, for what was answered so far."""

    def tells(self, told: Told) -> Payload:
        """Fields of the entry that the answers make."""

    def data(self) -> Payload:
        """The piece as the tablet walks it."""


def question_data(question: Question) -> Payload:
    """A question as data; what is empty is left out."""
    told: Payload = {
        "name": question.name,
        "asks": word(question.asks),
        "word": question.word,
        "kind": question.kind,
        "of": list(question.of),
        "hint": word(question.hint),
        "unit": question.unit,
        "may_skip": word(question.may_skip),
        "choices": keys_data(question.choices),
        "band": band_data(question.band) if question.band else None,
        "decimals": question.decimals,
        "logs": question.logs,
    }
    return {name: value for name, value in told.items() if value}


def keys_data(choices: Sequence[Choice]) -> list[list[str]]:
    """Keys of a question with their words said."""
    return [[key.code, word(key.word), word(key.small), key.sets] for key in choices]


def band_data(band: Band) -> Payload:
    """A band in words and numbers as written, with its gauge drawn."""
    context = {"band": band, "gauge": band.picture(), "text": "", "verdict": ""}
    drawn = render_to_string("parts/gauge.html", context)
    told = {
        "words": band.words,
        "kind": band.unit_kind,
        "low": band.low,
        "high": band.high,
        "aimed": band.aimed,
        "gauge": drawn.strip(),
    }
    return {name: value for name, value in told.items() if value}


@dataclass(frozen=True)
class One:
    """One question. ``into`` is the field of the entry; ``listed`` where that is a list of one; ``gate`` where it may
    be stopped from going in, ``whole`` where a unit needs its whole route behind it for that; ``left`` where nobody is
    asked without a link either."""

    question: Question
    into: str
    listed: bool = False
    gate: bool = False
    left: bool = False
    whole: bool = False

    def asks(self, told: Told) -> Iterator[Question]:
        yield self.question
        if self.gate:
            yield from ask_gate(self.question.name, told.get(self.question.name, ""), whole=self.whole)

    def tells(self, told: Told) -> Payload:
        value = told.get(self.question.name, "")
        if self.question.kind in ("unit", "item"):
            value = code_of(value)
        elif self.question.kind == "free":
            value = read_typed(value)
        return {self.into: ([value] if value else []) if self.listed else value}

    def data(self) -> Payload:
        told = {"piece": "one", "into": self.into, **question_data(self.question)}
        marks = {"listed": self.listed, "gate": self.gate, "left": self.left, "whole": self.whole}
        told |= {"own": word(self.question.own)} if self.left and self.question.own else {}
        return told | {name: True for name, is_so in marks.items() if is_so}


@dataclass(frozen=True)
class Lots:
    """Lots that go in, each with its amount, until there are no more."""

    name: str
    word: str
    kinds: Sequence[str]
    into: str
    skip: str = ""
    fixed: int | None = None

    def asks(self, told: Told) -> Iterator[Question]:
        yield from ask_lots(told, self.name, self.word, self.kinds, skip=self.skip, fixed=self.fixed)

    def tells(self, told: Told) -> Payload:
        return {self.into: lots_told(told, self.name)}

    def data(self) -> Payload:
        told = {"piece": "lots", "name": self.name, "word": self.word, "of": list(self.kinds), "into": self.into}
        return told | {"may_skip": word(self.skip), "fixed": self.fixed}


@dataclass(frozen=True)
class Units:
    """Units, one after the other, until there are no more. ``go_in``: into another unit."""

    name: str
    word: str
    kinds: Sequence[str]
    go_in: bool = False

    def asks(self, told: Told) -> Iterator[Question]:
        yield from ask_units(told, self.name, self.word, self.kinds, go_in=self.go_in)

    def tells(self, told: Told) -> Payload:
        return {self.name: units_told(told, self.name)}

    def data(self) -> Payload:
        told = {"piece": "units", "name": self.name, "word": self.word, "of": list(self.kinds), "into": self.name}
        return told | {"gate": self.go_in}


@dataclass(frozen=True)
class Bladders:
    """Bladders in the mould."""

    def asks(self, told: Told) -> Iterator[Question]:
        yield from ask_bladders(told)

    def tells(self, told: Told) -> Payload:
        return {"bladders": units_told(told, "bladder")}

    def data(self) -> Payload:
        return {"piece": "bladders"}


@dataclass(frozen=True)
class Readings:
    """Numbers that are read at an operation; one outside may wait so long. [min]"""

    rows: Sequence[OperationReading]
    wait_min: int = 0

    def asks(self, told: Told) -> Iterator[Question]:
        for n, row in enumerate(self.rows, start=1):
            yield from ask_numbers(told, self._question(n, row), self.wait_min)

    def _question(self, n: int, row: OperationReading) -> Question:
        asks = word(row.name.replace("-", " ").capitalize())
        if row.unit_kind == TEXT:
            return Question(f"reading-{n}", asks, row.name, may_skip=_("Can’t read it"))
        return band_of_reading(
            f"reading-{n}", asks, row.name, Band(row.unit, row.unit_kind, row.lower, row.upper), row.unit_kind
        )

    def tells(self, told: Told) -> Payload:
        rows = []
        for n, row in enumerate(self.rows, start=1):
            value, why = told.get(f"reading-{n}", ""), told.get(f"reading-{n}-why", "")
            if value or why:
                unit = "" if row.unit_kind == TEXT else row.unit
                rows.append({"name": row.name, "value": value, "unit": unit} | ({} if value else {"reason": why}))
        return {"readings": rows}

    def data(self) -> Payload:
        questions = [question_data(self._question(n, row)) for n, row in enumerate(self.rows, start=1)]
        return {"piece": "numbers", "into": "readings", "questions": questions}


@dataclass(frozen=True)
class Values:
    """A sheet of measurements: for each characteristic its gauge, then its readings; what can't be read says why.

    One outside may wait so long. [min]
    """

    bands: Sequence[CharacteristicRevision]
    wait_min: int = 0

    def asks(self, told: Told) -> Iterator[Question]:
        for n, band in enumerate(self.bands, start=1):
            yield self._gauge(n, band)
            for question in self._questions(n, band):
                yield from ask_numbers(told, question, self.wait_min)
                if told.get(question.name) == "":
                    break  # a characteristic that can't be read once is not read at all

    def _gauge(self, n: int, band: CharacteristicRevision) -> Question:
        name = band.characteristic.name.replace("-", " ")
        with_what = band.gauge_kind or "gauge"
        hint = say("It measures: %(measure)s.", measure=name)
        return Question(
            f"gauge-{n}",
            say("Scan the %(thing)s", thing=with_what),
            say("Gauge for %(measure)s", measure=name),
            check_gauge,
            hint,
            may_skip=_("No gauge to scan"),
            kind="gauge",
        )

    def _questions(self, n: int, band: CharacteristicRevision) -> list[Question]:
        name = word(band.characteristic.name.replace("-", " ").capitalize())
        within = Band(band.unit, band.unit_kind, band.lower, band.upper, band.nominal)
        count = band.readings
        return [
            replace(
                band_of_reading(
                    f"value-{n}-{m}",
                    name if count == 1 else say("%(name)s, %(n)s of %(count)s", name=name, n=m, count=count),
                    band.characteristic.name if count == 1 else f"{band.characteristic.name} {m}",
                    within,
                    band.unit_kind,
                ),
                decimals=band.decimals,
            )
            for m in range(1, count + 1)
        ]

    def tells(self, told: Told) -> Payload:
        lines = []
        for n, band in enumerate(self.bands, start=1):
            names = [question.name for question in self._questions(n, band)]
            values = [told.get(name, "") for name in names]
            readings = values if all(values) else []
            why = next((told[f"{name}-why"] for name in names if told.get(f"{name}-why")), "cannot-reach")
            line = {
                "characteristic": band.characteristic.name,
                "readings": readings,
                "gauge": told.get(f"gauge-{n}", ""),
            }
            lines.append(line | {"reason": "" if readings else why})
        return {"lines": lines}

    def data(self) -> Payload:
        lines = [
            {
                "characteristic": band.characteristic.name,
                "revision": band.revision,
                "gauge": question_data(self._gauge(n, band)),
                "questions": [question_data(question) for question in self._questions(n, band)],
            }
            for n, band in enumerate(self.bands, start=1)
        ]
        return {"piece": "sheet", "lines": lines}


def number_of(name: str, label: str, *, has_own: bool) -> One:
    """The number of what is made: given by the house where it numbers such parts itself, else scanned."""
    asks, skip = say("Scan %(label)s", label=label), ""
    if has_own:
        asks, skip = say("Scan %(label)s, or let the house give a number", label=label), _("Give it a number")
    own = _("It has its own label")
    asked = Question(name, asks, "Number", _is_free, may_skip=skip, kind="free", leaves=has_own, own=own)
    return One(asked, name)


def _is_free(code: str) -> None:
    read_typed(code)  # a label of the house whose check digit does not fit is misread
    if find_item(code_of(code)) is not None:
        raise Refused("code-taken", "%(code)s is taken: no number is used twice. Take another one.", code=code)


def lots_told(told: Told, name: str) -> list[Payload]:
    """Lots among the answers, in the order scanned."""
    rows, n = [], 1
    while told.get(f"{name}-{n}-lot"):
        lot = told[f"{name}-{n}-lot"]
        unit = amount_of(told, "", f"{name}-{n}-lot").unit
        amount = f"{told.get(f'{name}-{n}-amount', '')} {unit}"
        rows.append({"lot": code_of(lot), "amount": amount, "part": told.get(f"{name}-{n}-lot-part", "")})
        n += 1
    return rows


def units_told(told: Told, name: str) -> list[str]:
    """Units among the answers, in the order scanned."""
    codes, n = [], 1
    while told.get(f"{name}-{n}"):
        codes.append(code_of(told[f"{name}-{n}"]))
        n += 1
    return codes


def choices_data() -> Mapping[str, list[list[str]]]:
    """The keys that every task shares: what may not go in."""
    return {"stopped": keys_data(STOPPED), "over": keys_data(over_keys())}
