"""The page at the change of shift: everything that the next lead must know of, one line each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import QuerySet

from plant.equipment.models import Station
from plant.people.models import DeviceContact
from plant.templatetags.showing import lasting, when
from records.items.models import Hold, ItemState
from records.items.pots import standing_pots
from records.items.queries import HERE
from records.items.reasons import reason_words
from records.quality.queries import decisions_to_countersign, holds_that_bind, swaps_unconfirmed
from records.steps.models import Waiting

from .actions import Line
from .calls import sentence, where
from .models import Call, HandOver, HandOverLine
from .sheets import entered_counts, sheets_out

About = HandOverLine.About
# Choices of this project, no source: so many units of a station are named, calls so old are told, and a tablet that
# was not heard of for so long is silent. Entries older than an hour are told, as a lost tablet would lose them.
NAMED, CALLS_SINCE = 6, timedelta(hours=24)
SILENT, OLD = timedelta(minutes=30), timedelta(hours=1)
LONGEST = 400


def lines_now(now: datetime) -> list[Line]:
    """Every line of the page at a moment; a fixed number of queries."""
    parts: tuple[Callable[[datetime], Iterator[Line]], ...] = (
        _stations,
        _pots,
        _holds,
        _calls,
        _seconds,
        _tablets,
        _sheets,
    )
    return [Line(line.about, line.code, line.says[:LONGEST]) for part in parts for line in part(now)]


@dataclass(frozen=True)
class Section:
    """Lines about one thing, in the order of the page."""

    about: About
    lines: tuple[Line | HandOverLine, ...]

    @property
    def head(self) -> str:
        return str(self.about.label)

    @property
    def none(self) -> str:
        """What is said where there is nothing."""
        return NOTHING[self.about]


NOTHING = {
    About.STATION: "No station is set up.",
    About.POT: "No pot stands open.",
    About.HOLD: "Nothing is held.",
    About.CALL: "Every call was answered.",
    About.SECOND: "No second signature is waited for.",
    About.TABLET: "Every tablet was heard of lately, and everything has gone up.",
    About.SHEET: "Every emergency sheet is back.",
}


def sections_of(lines: list[Line] | list[HandOverLine]) -> list[Section]:
    """The page in sections; one with nothing in it stands too."""
    found: dict[str, list[Line | HandOverLine]] = defaultdict(list)
    for line in lines:
        found[line.about].append(line)
    return [Section(about, tuple(found[about.value])) for about in About]


def _stations(_: datetime) -> Iterator[Line]:
    next_step = dict(Waiting.objects.filter(operation__isnull=False).values_list("unit_id", "operation__name"))
    there: dict[int, list[str]] = defaultdict(list)
    units = ItemState.objects.filter(where=HERE, place__station__isnull=False, item_id__in=next_step)
    for state in units.select_related("place").order_by("placed_at", "pk"):
        assert state.place is not None  # asked for above
        there[state.place.station_id].append(f"{state.code}, next {next_step[state.item_id]}")  # type: ignore[index]
    for station in Station.objects.order_by("kind", "code"):
        inside = there[station.pk]
        more = f"; and {len(inside) - NAMED} more" if len(inside) > NAMED else ""
        says = "; ".join(inside[:NAMED]) + more if inside else "nothing in work"
        yield Line(About.STATION, station.code, f"{station}: {says}")


def _pots(now: datetime) -> Iterator[Line]:
    for pot in standing_pots(now):
        minutes = pot.minutes_left(now)
        left = f"{minutes} min left" if minutes >= 0 else f"ended {-minutes} min ago: do not use it, it gets hot"
        yield Line(About.POT, pot.code, f"{pot.item.part.name or pot.item.part.number}, {left}")


def _holds(_: datetime) -> Iterator[Line]:
    of_item: dict[str, list[Hold]] = defaultdict(list)
    for hold in holds_that_bind():
        of_item[hold.item.code].append(hold)
    for code, holds in of_item.items():
        why = "; ".join(dict.fromkeys(reason_words(hold.reason) for hold in holds))
        yield Line(About.HOLD, code, f"{why}, since {when(holds[0].at)}")


def _calls(now: datetime) -> Iterator[Line]:
    rows = Call.objects.unanswered().filter(called_at__gte=now - CALLS_SINCE).with_answers()
    for call in rows.order_by("called_at"):
        told = sentence(call, now) if call.was_heard else "It was heard by nobody."
        yield Line(About.CALL, call.station.code if call.station else "", f"{where(call)} {told}")


def _seconds(_: datetime) -> Iterator[Line]:
    for row in decisions_to_countersign():
        departure = row.nonconformance
        yield Line(
            About.SECOND, departure.item.code, f"{departure.code}: allowed as it is by {row.entry.by.name} alone"
        )
    for swap in swaps_unconfirmed():
        hands = swap.hands  # type: ignore[attr-defined]  # counted by the query
        yield Line(About.SECOND, swap.one.code, f"swapped with {swap.other.code}; {hands} of 2 have confirmed")


def contacts() -> QuerySet[DeviceContact]:
    """Registered tablets in use, the longest silent first."""
    return DeviceContact.objects.filter(device__ended=None).select_related("device").order_by("at")


def _tablets(now: datetime) -> Iterator[Line]:
    for contact in contacts():
        silent = now - contact.at
        if silent < SILENT and not contact.unsent:
            continue
        told = f"last heard of {lasting(silent)} ago" + (f" at {contact.station}" if contact.station else "")
        if contact.unsent:
            many = "1 entry" if contact.unsent == 1 else f"{contact.unsent} entries"
            told += f", with {many} not gone up"
        if contact.oldest_at:
            told += f", the oldest of {when(contact.oldest_at)}"
        yield Line(About.TABLET, contact.device.code, told)


def _sheets(_: datetime) -> Iterator[Line]:
    out = list(sheets_out())
    entered = entered_counts(out)
    for sheet in out:
        typed = entered.get(sheet.code, 0)
        yield Line(
            About.SHEET, sheet.code, f"{sheet.station}, printed {when(sheet.printed_at)}, {typed} lines typed in"
        )


def with_old_entries(now: datetime) -> list[DeviceContact]:
    """Tablets with entries that have not gone up for more than an hour."""
    return [row for row in contacts() if row.unsent and row.oldest_at and now - row.oldest_at > OLD]


def handed_over() -> QuerySet[HandOver]:
    """Shifts handed over, the latest first."""
    return HandOver.objects.select_related("going__name_words", "coming__name_words", "words", "entry").order_by("-pk")
