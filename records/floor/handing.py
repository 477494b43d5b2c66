"""The page at the change of shift: everything that the next lead must know of, one line each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from django.conf import settings
from django.db.models import QuerySet
from django.utils.translation import gettext
from django.utils.translation import gettext_noop as noop

from plant.equipment.models import Station
from plant.people.models import DeviceContact
from plant.speaking import in_each_language, say, word
from plant.templatetags.showing import lasting, when
from records.items.models import Hold, ItemState
from records.items.pots import standing_pots
from records.items.queries import HERE
from records.items.reasons import reason_words
from records.quality.queries import decisions_to_countersign, holds_that_bind, swaps_unconfirmed
from records.steps.models import Waiting

from .actions import Line
from .calls import Ringing, ringing, sentence, where
from .models import ByVoice, Call, EmergencySheet, HandOver, HandOverLine
from .sheets import entered_counts, sheets_out
from .shown import shown_text
from .voice import voice_words, voices_of

About = HandOverLine.About
# Choices of this project, no source: so many units of a station are named, calls so old are told, and a tablet that
# was not heard of for so long is silent. Entries older than an hour are told, as a lost tablet would lose them.
NAMED, CALLS_SINCE = 6, timedelta(hours=24)
SILENT, OLD = timedelta(minutes=30), timedelta(hours=1)
LONGEST = 400


Says = Callable[[], str]


@dataclass(frozen=True)
class Draft:
    """A line before it is said: its words are asked for once in each language, of the same rows."""

    about: About
    code: str
    says: Says

    def line(self) -> Line:
        told = in_each_language(lambda: self.says()[:LONGEST])
        return Line(self.about, self.code, told.pop(settings.LANGUAGE_CODE), told)


def lines_now(now: datetime) -> list[Line]:
    """Every line of the page at a moment; a fixed number of queries."""
    parts = (_stations, _pots, _holds, _calls, _seconds, _tablets, _sheets)
    return [draft.line() for part in parts for draft in part(now)]


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
        return gettext(NOTHING[self.about])


NOTHING = {
    About.STATION: noop("No station is set up."),
    About.POT: noop("No pot stands open."),
    About.HOLD: noop("Nothing is held."),
    About.CALL: noop("Every call was answered."),
    About.SECOND: noop("No second signature is waited for."),
    About.TABLET: noop("Every tablet was heard of lately, and everything has gone up."),
    About.SHEET: noop("Every emergency sheet is back."),
}


def sections_of(lines: list[Line] | list[HandOverLine]) -> list[Section]:
    """The page in sections; one with nothing in it stands too."""
    found: dict[str, list[Line | HandOverLine]] = defaultdict(list)
    for line in lines:
        found[line.about].append(line)
    return [Section(about, tuple(found[about.value])) for about in About]


def handing_data(now: datetime) -> dict[str, Any]:
    """The page as a tablet takes it along, in every language, to be read and signed where there is no link.

    Pots have no lines in it, since the tablet works out their minutes; what is signed holds them as they were.
    """
    lines = lines_now(now)
    shown = [line for line in lines if line.about != About.POT]
    sections = [_section_data(about, [line for line in shown if line.about == about]) for about in About]
    return {"handing": sections, "handing_shown": shown_text(lines, now)}


def _section_data(about: About, lines: list[Line]) -> dict[str, Any]:
    section = Section(about, tuple(lines))
    heads = {"head": in_each_language(lambda: section.head), "none": in_each_language(lambda: section.none)}
    told = [[line.code, {settings.LANGUAGE_CODE: line.says, **line.spoken}] for line in lines]
    return {"about": about.value, **heads, "lines": told}


def _stations(_: datetime) -> Iterator[Draft]:
    next_step = dict(Waiting.objects.filter(operation__isnull=False).values_list("unit_id", "operation__name"))
    there: dict[int, list[tuple[str, str]]] = defaultdict(list)
    units = ItemState.objects.filter(where=HERE, place__station__isnull=False, item_id__in=next_step)
    for state in units.select_related("place").order_by("placed_at", "pk"):
        assert state.place is not None  # asked for above
        there[state.place.station_id].append((state.code, next_step[state.item_id]))  # type: ignore[index]
    for station in Station.objects.order_by("kind", "code"):
        yield Draft(About.STATION, station.code, partial(_station_says, station, there[station.pk]))


def _station_says(station: Station, inside: list[tuple[str, str]]) -> str:
    if not inside:
        return say("%(station)s: nothing in work", station=str(station))
    units = [say("%(code)s, next %(step)s", code=code, step=step) for code, step in inside[:NAMED]]
    if len(inside) > NAMED:
        units.append(say("and %(more)s more", more=len(inside) - NAMED))
    return f"{word(str(station))}: {'; '.join(units)}"


def _pots(now: datetime) -> Iterator[Draft]:
    for pot in standing_pots(now):
        name = pot.item.part.name or pot.item.part.number
        yield Draft(About.POT, pot.code, partial(_pot_says, name, pot.minutes_left(now)))


def _pot_says(name: str, minutes: int) -> str:
    if minutes < 0:
        return say("%(name)s, ended %(minutes)s min ago: do not use it, it gets hot", name=name, minutes=-minutes)
    return say("%(name)s, %(minutes)s min left", name=name, minutes=minutes)


def _holds(_: datetime) -> Iterator[Draft]:
    of_item: dict[str, list[Hold]] = defaultdict(list)
    for hold in holds_that_bind():
        of_item[hold.item.code].append(hold)
    voices = voices_of(hold.entry_id for holds in of_item.values() for hold in holds)
    for code, holds in of_item.items():
        spoken = [row for hold in holds for row in voices[hold.entry_id]]
        spoken.sort(key=lambda row: row.at, reverse=True)
        yield Draft(About.HOLD, code, partial(_hold_says, holds, spoken))


def _hold_says(holds: list[Hold], spoken: list[ByVoice]) -> str:
    why = "; ".join(dict.fromkeys(word(reason_words(hold.reason)) for hold in holds))
    held = say("%(why)s, since %(when)s", why=why, when=when(holds[0].at))
    return "; ".join(filter(None, [held, voice_words(spoken)]))


def _calls(now: datetime) -> Iterator[Draft]:
    rows = Call.objects.unanswered().filter(called_at__gte=now - CALLS_SINCE).with_answers()
    calls = list(rows.order_by("called_at"))
    how = ringing(calls, now) if calls else None
    for call in calls:
        yield Draft(About.CALL, call.station.code if call.station else "", partial(_call_says, call, now, how))


def _call_says(call: Call, now: datetime, how: Ringing | None) -> str:
    known = call.was_heard or (how and how.voices.get(call.entry_id))
    told = sentence(call, now, how) if known else say("It was heard by nobody.")
    return f"{where(call)} {told}"


def _seconds(_: datetime) -> Iterator[Draft]:
    for row in decisions_to_countersign():
        departure = row.nonconformance
        facts = {"code": departure.code, "name": row.entry.by.name}
        says = partial(say, "%(code)s: allowed as it is by %(name)s alone", **facts)
        yield Draft(About.SECOND, departure.item.code, says)
    for swap in swaps_unconfirmed():
        hands = swap.hands  # type: ignore[attr-defined]  # counted by the query
        says = partial(say, "swapped with %(code)s; %(hands)s of 2 have confirmed", code=swap.other.code, hands=hands)
        yield Draft(About.SECOND, swap.one.code, says)


def contacts() -> QuerySet[DeviceContact]:
    """Registered tablets in use, the longest silent first."""
    return DeviceContact.objects.filter(device__ended=None).select_related("device").order_by("at")


def _tablets(now: datetime) -> Iterator[Draft]:
    for contact in contacts():
        if now - contact.at >= SILENT or contact.unsent:
            yield Draft(About.TABLET, contact.device.code, partial(_tablet_says, contact, now))


def _tablet_says(contact: DeviceContact, now: datetime) -> str:
    facts: dict[str, Any] = {"ago": lasting(now - contact.at), "station": contact.station, "count": contact.unsent}
    told = [
        say("last heard of %(ago)s ago at %(station)s" if contact.station else "last heard of %(ago)s ago", **facts)
    ]
    if contact.unsent == 1:
        told.append(say("with 1 entry not gone up"))
    elif contact.unsent:
        told.append(say("with %(count)s entries not gone up", **facts))
    if contact.unsent and contact.oldest_at:
        told.append(say("the oldest of %(when)s", when=when(contact.oldest_at)))
    return ", ".join(told)


def _sheets(_: datetime) -> Iterator[Draft]:
    out = list(sheets_out())
    entered = entered_counts(out)
    for sheet in out:
        yield Draft(About.SHEET, sheet.code, partial(_sheet_says, sheet, entered.get(sheet.code, 0)))


def _sheet_says(sheet: EmergencySheet, typed: int) -> str:
    facts = {"station": str(sheet.station), "when": when(sheet.printed_at), "typed": typed}
    return say("%(station)s, printed %(when)s, %(typed)s lines typed in", **facts)


def with_old_entries(now: datetime) -> list[DeviceContact]:
    """Tablets with entries that have not gone up for more than an hour."""
    return [row for row in contacts() if row.unsent and row.oldest_at and now - row.oldest_at > OLD]


def handed_over() -> QuerySet[HandOver]:
    """Shifts handed over, the latest first."""
    return HandOver.objects.select_related("going__name_words", "coming__name_words", "words", "entry").order_by("-pk")
