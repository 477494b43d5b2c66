"""Everything on file about one item, for its page: what was measured, decided, corrected and flagged."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from uuid import UUID

from django.db.models import Q

from plant.catalogue.models import CharacteristicRevision
from plant.people.models import Person
from records.inspection.judging import Verdict, is_near_edge
from records.inspection.models import Measurement
from records.inspection.queries import verdict_of
from records.inspection.showing import value_words
from records.items.models import ConsignmentLine, Hold, HoldLift, Item, Link, LotDecision, Move, Receipt, StockCount
from records.items.reasons import reason_words
from records.ledger.marks import Mark
from records.ledger.models import Entry, EntryBody, Flag, Photo
from records.ledger.patterns import Fact, Version
from records.quality.models import BECAME, Nonconformance
from records.steps.models import StepRecord


@dataclass(frozen=True)
class Correction:
    """What a fact said, what it says since, why, and who put it right when."""

    before: str
    after: str
    why: str
    by: str
    at: datetime


@dataclass(frozen=True)
class Measured:
    """One measurement as it stands, with what it said before it was corrected."""

    unit_of: int
    name: str
    code: str
    got: str
    unit: str
    band: str
    verdict: str
    at: datetime
    by: str
    before: tuple[str, ...]
    value: int | None
    lower: int | None
    upper: int | None
    gauge: str
    band_revision: CharacteristicRevision
    corrections: tuple[Correction, ...]
    entry_key: UUID  # by which a correction names it


def measured_on(units: Iterable[int], mark: Mark | None = None) -> list[Measured]:
    """Measurements of units in order of time, as known at a mark; one query."""
    lines: dict[int, list[Measurement]] = defaultdict(list)
    rows = Measurement.objects.known(mark).filter(unit_id__in=list(units)).order_by("version", "pk")
    related = (
        "characteristic_revision__characteristic",
        "entry__by__name_words",
        "unit__state",
        "gauge",
        "words",
        "second__name_words",
    )
    for row in rows.select_related(*related):
        lines[row.line].append(row)
    return sorted((_measured(versions) for versions in lines.values()), key=lambda m: (m.at, m.name, m.code))


def _measured(versions: list[Measurement]) -> Measured:
    *before, row = versions
    band = row.characteristic_revision
    verdict = str(verdict_of(row).value)
    if row.status == Version.Status.WITHDRAWN:
        verdict = "withdrawn"
    elif verdict == Verdict.WITHIN and is_near_edge(row.value or 0, band.lower, band.upper):
        verdict = "near-edge"
    return Measured(
        unit_of=row.unit_id,
        name=band.characteristic.name,
        code=row.unit.code,
        got=_got(row),
        unit=row.unit_text or band.unit,
        band=_band(band),
        verdict=verdict,
        at=row.at,
        by=row.entry.by.name,
        before=tuple(_got(old) for old in before),
        value=row.value,
        lower=band.lower,
        upper=band.upper,
        gauge=row.gauge.code if row.gauge else "",
        band_revision=band,
        corrections=tuple(_correction(old, new) for old, new in pairwise(versions)),
        entry_key=row.entry.key,
    )


def _correction(old: Measurement, new: Measurement) -> Correction:
    was_withdrawn = new.status == Version.Status.WITHDRAWN
    after = "withdrawn" if was_withdrawn else _moved_or(old, new, _with_unit(new))
    why = "; ".join(word for word in (reason_words(new.reason) if new.reason else "", str(new.words or "")) if word)
    by = new.entry.by.name + (f", seconded by {new.second.name}" if new.second else "")
    return Correction(_moved_or(new, old, _with_unit(old)), after, why, by, new.entry.happened_at)


def _moved_or(one: Measurement, row: Measurement, words: str) -> str:
    """What a row says, with the unit it says it of where the other version names another unit."""
    return words if one.unit_id == row.unit_id else f"{words} on {row.unit.code}"


def _with_unit(row: Measurement) -> str:
    return _got(row) if row.value is None else f"{_got(row)} {row.unit_text or row.characteristic_revision.unit}"


def _got(row: Measurement) -> str:
    """The value as it was written, or as it was worked out from several readings."""
    if row.value is None:
        return "not read"
    if row.written:
        return row.written
    # What was worked out from several readings has one decimal more than the drawing.
    return value_words(row.value, row.characteristic_revision, more=1)


def _band(band: CharacteristicRevision) -> str:
    """The band with the drawing's decimals; its unit stands beside the value."""
    lower, upper = (value_words(steps, band) for steps in (band.lower, band.upper))
    if lower and upper:
        return f"{lower} to {upper}"
    return f"at least {lower}" if lower else f"at most {upper}" if upper else ""


@dataclass(frozen=True)
class Decided:
    """A decision about an item: what it was about, what was decided, why, by whom."""

    item: int
    about: str
    code: str
    state: str
    word: str
    why: str
    by: str
    at: datetime
    second: str = ""
    noted: str = ""  # what was said when a departure that is decided was noted


def decisions_on(items: Iterable[int], mark: Mark | None = None) -> list[Decided]:
    """Decisions on lots, holds that were lifted, departures and what became of them, in order; three queries."""
    wanted = list(items)
    found: list[Decided] = []
    lots = LotDecision.objects.known(mark).filter(item__in=wanted).select_related("entry__by__name_words", "reason")
    found += [
        Decided(d.item_id, "This lot", "", d.decision, "", str(d.reason or ""), d.entry.by.name, d.at) for d in lots
    ]
    lifts = HoldLift.objects.known(mark).filter(hold__item__in=wanted)
    for lift in lifts.select_related("hold", "entry__by__name_words", "words"):
        about, why = f"Hold: {reason_words(lift.hold.reason)}", str(lift.words or "")
        state, word = ("corrected" if lift.is_withdrawn else "done"), lift.ending.capitalize()
        found.append(Decided(lift.hold.item_id, about, "", state, word, why, lift.entry.by.name, lift.at))
    return sorted([*found, *_departures(wanted, mark)], key=lambda d: (d.at, d.item, d.about, d.code))


def _departures(items: list[int], mark: Mark | None) -> list[Decided]:
    signed = (
        "disposition__countersign__signer__name_words",
        "disposition__entry__by__name_words",
        "disposition__words",
    )
    related = (*signed, "entry__by__name_words", "words")
    rows = Nonconformance.objects.newest(mark).filter(item__in=items).select_related(*related)
    found = []
    for row in rows:
        decision = getattr(row, "disposition", None)
        if decision is not None and mark is not None and not mark.knows(decision.entry_id):
            decision = None
        second = getattr(decision, "countersign", None)
        if second is not None and mark is not None and not mark.knows(second.entry_id):
            second = None
        told, word = (row, "Nobody has decided") if decision is None else (decision, decision.get_choice_display())
        state = "waiting" if decision is None else BECAME.get(decision.choice, "done")
        found.append(
            Decided(
                row.item_id,
                row.get_defect_display(),
                row.code,
                state,
                word.capitalize(),
                str(told.words or ""),
                told.entry.by.name,
                told.entry.happened_at,
                second.signer.name if second else "",
                str(row.words or "") if decision is not None else "",
            )
        )
    return found


def links_corrected(items: Iterable[int], mark: Mark | None = None) -> list[tuple[Link, str]]:
    """Later versions of the links that say what items are made from: what was corrected, withdrawn, taken out; each
    with the name of the second person who signed it, if any.
    """
    later = Link.objects.known(mark).filter(child__in=list(items), version__gt=1)
    links = list(later.select_related("parent__state", "words", "entry__by__name_words").order_by("entry_id"))
    beside = signed_beside({link.entry_id for link in links})
    return [(link, beside.get(link.entry_id, "")) for link in links]


def signed_beside(entries: Iterable[int]) -> dict[int, str]:
    """Names of the second persons who signed entries, as the payloads name them."""
    bodies = EntryBody.objects.filter(entry__in=list(entries), payload__contains='"second":')
    told = {entry: json.loads(payload).get("told", {}) for entry, payload in bodies.values_list("entry_id", "payload")}
    second = {entry: said["second"] for entry, said in told.items() if "second" in said}
    people = Person.objects.select_related("name_words").in_bulk(set(second.values())) if second else {}
    return {entry: people[number].name for entry, number in second.items() if number in people}


def flags_on(items: Iterable[int], mark: Mark | None = None) -> list[Flag]:
    """Rules that entries about items have broken."""
    related = ("entry__by__name_words", "answer__words", "answer__entry__by__name_words")
    about = _told_about(list(items), FLAGGED)
    return list(Flag.objects.known(mark).filter(about).select_related(*related).order_by("entry_id", "pk"))


def photos_on(items: Iterable[int]) -> list[tuple[Entry, list[Photo]]]:
    """Photos of entries about items, entry by entry in the order taken; one query."""
    rows = Photo.objects.filter(_told_about(list(items), (*FLAGGED, *SHOWN)))
    found: dict[int, tuple[Entry, list[Photo]]] = {}
    for photo in rows.select_related("entry__by__name_words").order_by("entry_id", "pk"):
        found.setdefault(photo.entry_id, (photo.entry, []))[1].append(photo)
    return list(found.values())


# Tables whose rows say something of an item, and the column that names it.
FLAGGED: tuple[tuple[type[Fact], str], ...] = (
    (Measurement, "unit"),
    (StepRecord, "unit"),
    (Link, "child"),
    (Move, "item"),
    (Hold, "item"),
    (ConsignmentLine, "item"),
)
SHOWN: tuple[tuple[type[Fact], str], ...] = (
    (Item, "pk"),
    (Receipt, "item"),
    (LotDecision, "item"),
    (StockCount, "item"),
    (HoldLift, "hold__item"),
    (Nonconformance, "item"),
)


def _told_about(items: list[int], tables: Iterable[tuple[type[Fact], str]]) -> Q:
    """Rows of entries that wrote something about items into one of the tables."""
    about = Q(pk__in=[])
    for model, column in tables:
        about |= Q(entry_id__in=model._base_manager.filter(**{f"{column}__in": items}).values("entry_id"))
    return about
