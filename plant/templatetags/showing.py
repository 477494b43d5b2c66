"""How times, amounts, shares and states are printed, the same on every page."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from typing import Any

from django import template
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from plant.catalogue.models import Part
from plant.people.areas import Area, areas_of
from plant.people.areas import opens as page_opens
from plant.people.models import Person, Works
from plant.people.queries import works_zone
from plant.people.rights import Role
from plant.pictures.states import STATES
from plant.quantities import print_amount, print_share
from plant.speaking import day_words
from plant.speaking import spoken as spoken_numbers
from plant.speaking import word as spoken_word
from records.ledger.clock import clock
from records.ledger.models import Entry

register = template.Library()
CODE = re.compile(r"\b[A-Z]{2}-\d{2}-\d{6}-\d\b")


@register.filter
def when(moment: datetime | date | None) -> str:
    """A time by the works' clock, "24 Nov 14:31"; a day alone as "24 Nov"; the year where it is not this one."""
    if moment is None:
        return ""
    is_time = isinstance(moment, datetime)
    local = moment.astimezone(works_zone()) if isinstance(moment, datetime) else moment
    year = "" if local.year == clock.now().astimezone(works_zone()).year else f" {local.year}"
    return f"{day_words(local)}{year}" + (f" {local:%H:%M}" if is_time else "")


@register.filter
def spoken(words: object) -> str:
    """A trade word or a number in the language of the page; what is on no list as it stands."""
    return spoken_numbers(spoken_word(str(words))) if words else ""


@register.filter
def age(moment: datetime | None) -> str:
    """How long ago a moment is: minutes, then hours, then days."""
    return lasting(clock.now() - moment) if moment else ""


@register.filter
def lasting(length: timedelta | None) -> str:
    """A length of time in minutes, then hours, then days."""
    if length is None:
        return ""
    minutes = int(length.total_seconds() // 60)
    if minutes < 60:
        return f"{max(minutes, 0)} min"
    return f"{minutes // 60} h" if minutes < 48 * 60 else f"{minutes // (24 * 60)} d"


@register.filter
def percent(ppb: int | None) -> str:
    """A share in percent as it is read; the exact one stands in files. "24.6 %", "under 0.1 %"."""
    if ppb is None:
        return ""
    return "under 0.1 %" if 0 < ppb < 10**6 else f"{ppb / 10**7:.1f} %"


@register.filter
def unbroken(words: str) -> SafeString:
    """Words in which no line ends inside a code of the house."""
    return mark_safe(CODE.sub(r'<span class="nb">\g<0></span>', escape(words)))


@register.filter
def stamp(moment: datetime | None) -> str:
    """A time for machines, with its offset."""
    return moment.astimezone(works_zone()).isoformat(timespec="seconds") if moment else ""


@register.filter
def amount(steps: int | None, part: Part) -> str:
    """An amount of a part in the part's unit, "310 g"; from a thousand grams on in kilograms."""
    return "" if steps is None else print_amount(steps, part.unit, part.unit_kind)


@register.filter
def share(ppb: int | None) -> str:
    """A share between 0 and 1 from parts per billion."""
    return "" if ppb is None else print_share(ppb)


@register.filter
def may(person: Person, act: str) -> bool:
    """Whether a person's roles let them do an act."""
    return person.is_authenticated and person.may(act)


@register.filter
def sees(person: Person, word: str) -> bool:
    """Whether a person sees an area."""
    return person.is_authenticated and any(area.word == word for area in areas_of(person))


@register.filter
def opens(person: Person, address: str) -> bool:
    """Whether a link would open for a person, as far as its area goes."""
    return page_opens(person, address)


@register.filter
def areas(person: Person) -> list[Area]:
    """Areas of a person that have a page."""
    return areas_of(person) if person.is_authenticated else []


@register.filter
def initials(name: str) -> str:
    """First letters of a name, two at most: "MB" for Marta B."""
    return "".join(word[0] for word in name.split())[:2].upper()


@register.filter
def reads_only(person: Person) -> bool:
    """Whether a person may read and do nothing else."""
    return person.is_authenticated and person.roles == {Role.AUDITOR}


@register.simple_block_tag
def told(content: SafeString) -> SafeString:
    """What stands between its tags, drawn and escaped by then, to be kept by ``as`` and said once more."""
    return mark_safe(content.strip())


@register.simple_tag
def drawn_at() -> str:
    """This moment by the works' clock, for the head of a paper copy."""
    return clock.now().astimezone(works_zone()).strftime("%Y-%m-%d %H:%M")


@register.simple_tag
def records_known() -> str:
    """The last entry that this page can know of, for the head of a paper copy."""
    last = Entry.objects.order_by("-pk").values_list("pk", "taken_at").first()
    if last is None:
        return "No entry is on file"
    return f"Records up to entry {last[0]}, taken {last[1].astimezone(works_zone()):%Y-%m-%d %H:%M}"


@register.simple_tag
def works_name() -> str:
    """Name of the works."""
    works = Works.current()
    return works.name if works else "Framethread"


@register.inclusion_tag("parts/state.html")
def state(code: Any, word: str = "") -> dict[str, str]:
    """Shape, word and colour of a state. An unknown one is told in its own words, as something to look at."""
    shape, colour, own = STATES.get(str(code), ("signal", "ask", str(code).replace("-", " ").capitalize()))
    return {"shape": shape, "colour": colour, "word": word or own}
