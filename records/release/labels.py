"""Labels of lots, units, stations, tools and badges: what stands on one, which there are, which were scanned back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.conf import settings
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.db.models.functions import Coalesce

from plant.catalogue.models import Part, Tank
from plant.codes import fold
from plant.equipment.models import Gauge, Recorder, Station, Tool
from plant.messages import SCANNER_TEST, Message, Named, message_of, owner_link
from plant.papers.label import HEIGHT, WIDTH, LabelFacts
from plant.people.models import Person, Works
from plant.people.queries import works_day, works_zone
from plant.times import written_out
from records.items.lots import lot_page
from records.items.models import Item, Link
from records.items.queries import PACKAGE, find_item
from records.ledger.refusals import Refused

from .models import LabelCheck, LabelPrint, Passport

# What carries a label beside items: its table, the column of its code, and its word.
_THINGS: tuple[tuple[Any, str, str], ...] = (
    (Station, "code", "station"),
    (Tool, "code", "tool"),
    (Gauge, "code", "gauge"),
    (Recorder, "code", "recorder"),
    (Tank, "code", "tank or bin"),
    (Person, "badge", "badge"),
)


@dataclass(frozen=True)
class Labelled:
    """What a label is for: an item, or a thing of the works with its word and what else its label says."""

    code: str
    word: str
    more: str = ""
    item: Item | None = None

    @property
    def is_unit(self) -> bool:
        return self.item is not None and self.item.kind == Part.Tracked.UNIT


def labelled(code: str) -> Labelled:
    """What carries a code. Refuses ``unknown``."""
    item = find_item(code)
    if item is not None:
        part = item.part
        return Labelled(item.code, part.name or part.get_kind_display(), part.number, item)
    for model, column, word in _THINGS:
        row = model._default_manager.filter(**{f"{column}__iexact": code.strip()}).first()
        if row is not None:
            more = row.name if word in ("station", "badge") else str(getattr(row, "kind", ""))
            return Labelled(getattr(row, column), word, more)
    raise Refused("unknown", "No such code here: %(code)s.", code=fold(code))


def prints_of(thing: Item | Labelled) -> list[LabelPrint]:
    """Labels printed for the newest code of a thing, the first first."""
    item = thing.item if isinstance(thing, Labelled) else thing
    of_it = Q(item_code__item=item, item_code__code=thing.code) if item else Q(thing=thing.code)
    rows = with_checks().filter(of_it)
    return list(rows.select_related("entry__by__name_words", "item_code").order_by("copy"))


def packages_of(delivery: Item) -> list[Item]:
    """What came with a delivery as packages with a label of their own, in the order of their codes."""
    links = Link.objects.newest().filter(parent=delivery, reason=PACKAGE, status=Link.Status.STANDS)
    found = Item.objects.filter(pk__in=links.values("child")).select_related("state", "revision__part")
    return list(found.order_by("state__code"))


def newest_prints(items: list[Item]) -> dict[int, LabelPrint]:
    """The newest label of each item that has one; one query."""
    rows = LabelPrint.objects.filter(item_code__item__in=items).select_related("item_code__item", "entry")
    rows = rows.order_by("copy")
    return {row.item_code.item_id: row for row in rows if row.item_code}


def with_checks() -> Any:
    """Labels printed, each with ``is_checked``: whether it was scanned back."""
    return LabelPrint.objects.annotate(is_checked=Exists(LabelCheck.objects.filter(printed=OuterRef("pk"))))


def not_scanned_back() -> QuerySet[LabelPrint]:
    """The newest label of each thing that nobody has scanned back, the oldest first; ``named`` is its code."""
    later = LabelPrint.objects.filter(
        Q(item_code=OuterRef("item_code")) | Q(item_code=None, thing=OuterRef("thing")), copy__gt=OuterRef("copy")
    )
    related = ("entry__by__name_words", "item_code__item__state", "item_code__item__revision__part")
    waiting = (
        with_checks().filter(~Exists(later), is_checked=False).annotate(named=Coalesce("item_code__code", "thing"))
    )
    return waiting.select_related(*related).order_by("pk")


# A tablet takes along so many labels that wait to be scanned back, the newest first: a choice of this project.
MOST_TAKEN_ALONG = 200


def labels_to_check() -> list[list[str | int]]:
    """Codes and numbers of labels that nobody has scanned back, as a tablet takes them along."""
    waiting = not_scanned_back().order_by("-pk")[:MOST_TAKEN_ALONG]
    return [[printed.code, printed.copy] for printed in waiting]


def scanner_test_label() -> LabelFacts:
    """The set-up test label: whatever a scanner or a keyboard makes of its symbol, the floor tells it by that."""
    works = Works.current()
    lines = (
        "Set-up test label of scanners",
        "Scan it at any screen of the floor: it says",
        "whether layout, capitals, separators are right.",
        "Look: squares sharp, white all round, nothing",
        f"cut off; the label is {WIDTH:.0f} by {HEIGHT:.0f} mm.",
    )
    message = message_of(Named(SCANNER_TEST, is_unit=True, copy=1))
    return LabelFacts(message, SCANNER_TEST, lines, str(works.name if works else ""), has_figure=False)


def label_of(printed: LabelPrint, *, for_owner: bool = False) -> LabelFacts:
    """What stands on a label that was printed; ``for_owner`` the one with the link that a rider scans.

    Refuses ``unknown`` for an owner's label where the works has no address for owners, or the unit no passport.
    """
    thing = labelled(printed.code)
    works = Works.current()
    foot = f"{works.name if works else ''}, label {printed.copy}"
    if printed.item_code is None:
        message = message_of(Named(thing.code, is_unit=True, copy=printed.copy))
        return LabelFacts(message, thing.code, (f"{thing.word.capitalize()} {thing.more}".strip(),), foot, False)
    item, code = printed.item_code.item, printed.item_code.code
    last = None if thing.is_unit else lot_page(item).last_day
    made_on = works_day(item.born_at) if item.part.kind in MADE_HERE else None
    reference = item.part.pk
    named = Named(code, thing.is_unit, printed.copy, item.part.number, reference, made_on, last)
    message = message_of(named, settings.COMPANY_PREFIX)
    if for_owner:
        message = _link_of(named, item)
    return LabelFacts(message, code, _lines(thing, item, last), foot, has_figure=thing.is_unit)


def _link_of(named: Named, unit: Item) -> Message:
    passport = Passport.objects.standing().filter(unit=unit).first()
    if passport is None:
        raise Refused("unknown", "No label for an owner: %(code)s has no passport. Open it first.", code=named.code)
    link = owner_link(named, settings.COMPANY_PREFIX, settings.OWNER_ADDRESS, passport.token)
    if link is None:
        raise Refused("unknown", "No label for an owner: OWNER_ADDRESS is not set.")
    return link


# Lots whose day of making is the house's own.
MADE_HERE = (Part.Kind.RESIN_MIX, Part.Kind.ADHESIVE_MIX)


def _lines(thing: Labelled, item: Item, last: date | None) -> tuple[str, ...]:
    lines = [f"{thing.word[:1].upper()}{thing.word[1:]}, {thing.more}"]
    if item.good_until and not thing.is_unit:
        lines.append(f"good until {written_out(item.good_until, works_zone())}")
    elif last:
        lines.append(f"last good day {last.day} {last:%b %Y}")
    return tuple(lines)
