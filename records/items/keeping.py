"""How long a lot is good: its last day, its pot's end, its life once open and its time out of the freezer.

All of it is judged at the moment of use. The limits are those of the data sheet that was in force when the lot came.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.utils.translation import gettext_noop

from plant.people.queries import works_day, works_zone
from plant.times import written_out
from records.ledger.asking import Asking

from .clearing import mothers_of
from .models import Item, LifeEntry, LifeExtension, Link, Receipt
from .out_time import OutTime, out_time
from .queries import PACKAGE, SPLIT

EXPIRED, NOT_THAWED = "expired", "not-thawed"
IN_HOURS = 180  # a choice of this project, no source [min]


@dataclass(frozen=True)
class Ended:
    """Why a lot is past its end, or not fit to be opened yet, as a sentence with its facts."""

    code: str
    words: str
    facts: dict[str, object]


def why_ended(lot: Item, at: datetime) -> Ended | None:
    """Why a lot may not be used at a moment for its age; none where it may. Both ends still count as good."""
    if lot.good_until is not None and at > lot.good_until:
        return _why_pot_ended(int((at - lot.good_until).total_seconds() // 60))
    day = last_day_of(lot, at)
    if day is not None and works_day(at) > day:
        words = gettext_noop("%(code)s is past its end, %(day)s. Do not use it: hold it or write it off.")
        return Ended(EXPIRED, words, {"day": f"{day:%-d %B %Y}"})
    return _why_kept_too_long(lot, at) if lot.revision.limits_its_keeping else None


def _why_pot_ended(minutes: int) -> Ended:
    """In minutes while it may still get hot, in hours once nobody counts minutes."""
    if minutes < IN_HOURS:
        words = gettext_noop(
            "This pot ended %(minutes)s min ago. Do not use it, do not cover it: marked place by the mix bench, "
            "it gets hot."
        )
        return Ended(EXPIRED, words, {"minutes": minutes})
    words = gettext_noop("This pot ended %(hours)s h ago. Do not use it: it goes with the set resin.")
    return Ended(EXPIRED, words, {"hours": minutes // 60})


def is_expired(lot: Item, at: datetime) -> bool:
    """Whether a lot was past its end at a moment, by any of its limits."""
    ended = why_ended(lot, at)
    return ended is not None and ended.code == EXPIRED


def last_day_of(lot: Item, at: datetime | None = None) -> date | None:
    """Last good day of a lot: its own where it was made here, else its newest receipt's; or a later one, allowed.

    What came as a package of a delivery, or was cut off it, goes by what was put right or allowed of that since.
    """
    is_made = lot.origin == Item.Origin.MADE
    came_as = roots_of([lot.pk]).get(lot.pk, lot.pk) if is_made and lot.good_until is None else lot.pk
    day = lot.expires_on
    if not is_made or came_as != lot.pk:
        version, booked = next(iter(_BOOKED_IN.rows(lot=came_as)), (0, None))
        if not is_made or version > 1:
            day = booked
    if day is None or (at is not None and works_day(at) <= day):
        return day
    allowed = LifeExtension.objects.filter(item__in={lot.pk, came_as})
    if at is not None:
        allowed = allowed.filter(at__lte=at)
    extension = allowed.order_by("-at", "-pk").first()
    return max(extension.until, day) if extension else day


def roots_of(lots: Iterable[int]) -> dict[int, int]:
    """The delivery that each lot came as a package of, or was split off, over however many cuts."""
    above: dict[int, int] = {}
    frontier = set(lots)
    while frontier:
        rows = list(_CUT_FROM.rows(lots=frontier))
        above |= {child: parent for child, parent, _ in rows}
        frontier = {parent for _, parent, origin in rows if origin == Item.Origin.MADE}
    found = {}
    for lot in above:
        root = above[lot]
        while root in above:
            root = above[root]
        found[lot] = root
    return found


_BOOKED_IN = Asking(
    lambda _, lot: (
        Receipt.objects.standing().filter(item_id=lot).order_by("-entry_id").values_list("version", "expires_on")[:1]
    )
)
# A lot is cut off one other alone, and what was put together is cut off none: no chain of these ends in itself.
_CUT_FROM = Asking(
    lambda _, lots: (
        Link.objects.newest()
        .filter(child_id__among=lots, reason__in=(PACKAGE, SPLIT), status=Link.Status.STANDS)
        .values_list("child_id", "parent_id", "parent__origin")
    )
)


@dataclass(frozen=True)
class Keeping:
    """What was told of a lot's keeping up to a moment, and what its data sheet allows."""

    out: OutTime | None
    out_life: timedelta | None
    opened_at: datetime | None
    open_until: datetime | None
    thawed_at: datetime | None

    @property
    def is_out(self) -> bool:
        """Whether it is out of the freezer."""
        return self.out is not None and self.out.since is not None

    @property
    def out_left(self) -> timedelta | None:
        """Time out of the freezer that is left; below nothing where it is over."""
        return None if self.out is None or self.out_life is None else self.out_life - self.out.spent


def keeping_of(lot: Item, at: datetime) -> Keeping:
    """How a lot was kept up to a moment. What it was cut off from counts along."""
    sheet = lot.revision
    stories = _stories(lot, at)
    lines = [line for _, told in stories for line in told]
    opened = min((moment for moment, what in lines if what == LifeEntry.What.OPENED), default=None)
    is_frozen = sheet.out_life_ms is not None or sheet.thaw_ms is not None
    # Of lots put together the one that was out longest speaks for all.
    came, lines = max(stories, key=lambda one: _out_of(one, at).spent)
    out = _out_of((came, lines), at) if is_frozen else None
    thaw = timedelta(milliseconds=sheet.thaw_ms) if sheet.thaw_ms else None
    has_been_in = any(what == LifeEntry.What.IN for _, what in lines)
    return Keeping(
        out=out,
        out_life=timedelta(milliseconds=sheet.out_life_ms) if sheet.out_life_ms else None,
        opened_at=opened,
        open_until=opened + timedelta(milliseconds=sheet.opened_life_ms) if opened and sheet.opened_life_ms else None,
        thawed_at=out.since + thaw if thaw and out and out.since and has_been_in else None,
    )


Story = tuple[datetime, list[tuple[datetime, str]]]


def _stories(lot: Item, until: datetime, behind: frozenset[int] = frozenset()) -> list[Story]:
    """When a lot came, and the lines of its keeping: one story for each lot that it was cut off or put together from,
    with the lines of that one from before.
    """
    rows = LifeEntry.objects.standing().filter(item=lot, at__lte=until)
    lines = list(rows.values_list("at", "what"))
    stories: list[Story] = []
    behind |= {lot.pk}
    for link in mothers_of(lot) if lot.origin == Item.Origin.MADE else ():
        if link.parent_id in behind:
            continue
        for came, before in _stories(link.parent, min(link.at, until), behind):
            # What went back in at the same moment went without the piece that was cut off.
            before = [line for line in before if line != (link.at, LifeEntry.What.IN)]
            stories.append((min(came, lot.born_at), [*before, *lines]))
    return stories or [(lot.born_at, lines)]


def _out_of(story: Story, at: datetime) -> OutTime:
    came, lines = story
    return out_time(came, [line for line in lines if line[1] != LifeEntry.What.OPENED], at)


def _why_kept_too_long(lot: Item, at: datetime) -> Ended | None:
    return next(_reasons(lot, at), None)


def _reasons(lot: Item, at: datetime) -> Iterator[Ended]:
    kept = keeping_of(lot, at)
    if kept.open_until is not None and at > kept.open_until:
        words = gettext_noop("%(code)s is past its end: open since %(opened)s, it kept until %(until)s. Do not use it.")
        yield Ended(EXPIRED, words, {"opened": _when(kept.opened_at), "until": _when(kept.open_until)})
    if kept.out is not None and kept.out_life is not None and kept.out.spent > kept.out_life:
        words = gettext_noop(
            "%(code)s is past its end: %(spent)s out of the freezer, where %(life)s are allowed. Do not use it."
        )
        yield Ended(EXPIRED, words, {"spent": hours(kept.out.spent), "life": hours(kept.out_life)})
    if kept.out is not None and kept.out.since is None:
        words = gettext_noop("%(code)s is in the freezer by the records. Log that it is out, then let it thaw closed.")
        yield Ended(NOT_THAWED, words, {})
    if kept.thawed_at is not None and at < kept.thawed_at:
        words = gettext_noop("%(code)s is not thawed: keep it closed until %(until)s, else water settles on it.")
        yield Ended(NOT_THAWED, words, {"until": _when(kept.thawed_at)})


def hours(span: timedelta) -> str:
    """A time in hours, to a tenth.

    Examples
    --------
    >>> hours(timedelta(hours=41, minutes=20)), hours(timedelta(hours=48))
    ('41.3 h', '48 h')
    """
    return f"{span / timedelta(hours=1):.1f} h".replace(".0 h", " h")


def _when(moment: datetime | None) -> str:
    return written_out(moment, works_zone()) if moment else ""
