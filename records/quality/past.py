"""Matters that Review has decided, the latest first: holds, departures, runs, signals, marks, entries, swaps."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.urls import reverse

from records.items.models import HoldLift, SwapConfirm
from records.items.reasons import reason_words
from records.ledger.models import UnplacedSettled
from records.ledger.patterns import Fact
from records.runs.models import RunDecision
from records.spc.models import SignalAnswer

from .bench import code_in
from .models import BECAME, Disposition, FlagAnswer


@dataclass(frozen=True)
class Decided:
    """One decision: on what kind of matter, on which code, about what, what was decided, why, by whom and when."""

    at: datetime
    kind: str
    code: str
    page: str
    about: str
    state: str
    word: str
    why: str
    by: str
    second: str = ""


def decided() -> list[Decided]:
    """Every decision of Review, the latest first; the same number of queries whatever their number."""
    rows = [*_lifts(), *_departures(), *_runs(), *_signals(), *_flags(), *_unplaced(), *_swaps()]
    return sorted(rows, key=lambda row: row.at, reverse=True)


def _told(row: Fact, words: object, **said: str) -> Decided:
    return Decided(at=row.entry.happened_at, by=row.entry.by.name, why=str(words or ""), **said)


def _unit(code: str) -> str:
    return reverse("trace:unit", args=[code])


def _lifts() -> Iterator[Decided]:
    for row in HoldLift.objects.select_related("hold__item__state", "words", "entry__by__name_words"):
        code, about = row.hold.item.code, reason_words(row.hold.reason)
        told = {"code": code, "page": _unit(code), "about": about, "state": "done", "word": row.ending.capitalize()}
        yield _told(row, row.words, kind="hold", **told)


def _departures() -> Iterator[Decided]:
    related = ("nonconformance__item__state", "words", "entry__by__name_words", "countersign__signer__name_words")
    for row in Disposition.objects.select_related(*related):
        departure, second = row.nonconformance, getattr(row, "countersign", None)
        yield _told(
            row,
            row.words,
            kind="departure",
            code=departure.item.code,
            page=reverse("quality:departure", args=[departure.code]),
            about=f"{departure.code}: {departure.get_defect_display()}",
            state=BECAME.get(row.choice, "done"),
            word=str(row.get_choice_display()).capitalize(),
            second=second.signer.name if second else "",
        )


def _runs() -> Iterator[Decided]:
    related = ("run", "assessment__recipe_revision", "words", "entry__by__name_words")
    for row in RunDecision.objects.select_related(*related):
        yield _told(
            row,
            row.words,
            kind="run",
            code=row.run.code,
            page=reverse("runs:run", args=[row.run.code]),
            about=f"{row.run.get_kind_display()} against {row.assessment.recipe_revision}",
            state="released" if row.choice == RunDecision.Choice.ACCEPT else "outside",
            word=str(row.get_choice_display()).capitalize(),
        )


def _signals() -> Iterator[Decided]:
    related = ("characteristic__part", "measurement__unit__state", "words", "entry__by__name_words")
    for row in SignalAnswer.objects.select_related(*related):
        part, name = row.characteristic.part.number, row.characteristic.name
        cause = "Cause found" if row.cause_found else "No cause found"
        yield _told(
            row,
            row.words,
            kind="signal",
            code=row.measurement.unit.code,
            page=reverse("spc:chart", args=[part, name]),
            about=f"{name.replace('-', ' ')} on {part}",
            state="done",
            word=f"{cause} and removed" if row.removed else cause,
        )


def _flags() -> Iterator[Decided]:
    for row in FlagAnswer.objects.select_related("flag", "words", "entry__by__name_words"):
        code = code_in(json.loads(row.flag.facts))
        page = f"{reverse('trace:find')}?code={code}" if code else ""
        told = {"code": code, "page": page, "about": reason_words(row.flag.code), "state": "done"}
        yield _told(row, row.words, kind="mark", word=str(row.get_found_display()).capitalize(), **told)


def _unplaced() -> Iterator[Decided]:
    for row in UnplacedSettled.objects.select_related("unplaced", "reason", "entry__by__name_words"):
        about = f"{row.unplaced.said_kind}: {reason_words(row.unplaced.code)}"
        told = {"code": "", "page": "", "about": about, "state": "done"}
        yield _told(row, row.reason, kind="entry", word=str(row.get_how_display()).capitalize(), **told)


def _swaps() -> Iterator[Decided]:
    related = ("swap__one__state", "swap__other__state", "words", "entry__by__name_words")
    for row in SwapConfirm.objects.select_related(*related):
        one, other = row.swap.one.code, row.swap.other.code
        told = {"code": one, "page": _unit(one), "about": f"labels swapped with {other}"}
        yield _told(row, row.words, kind="swap", state="corrected", word="Confirmed", **told)
