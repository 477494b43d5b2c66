"""From what somebody types or scans to the code that they mean, and from a code to its page."""

from __future__ import annotations

from django.urls import NoReverseMatch, reverse

from plant.catalogue.models import Tank
from plant.codes import KINDS, read_typed, with_right_check
from plant.equipment.models import Gauge, Recorder, Station, Tool
from plant.people.models import Person
from records.items.models import Consignment
from records.items.queries import find_item, look_alikes
from records.ledger.refusals import Refused
from records.quality.models import Nonconformance
from records.runs.models import Run

# What has a code beside items: the word for it, its table with the column of the code, and the page that shows it.
_OTHERS = (
    ("departure", Nonconformance, "code", "quality:departure"),
    ("run", Run, "code", "runs:run"),
    ("station", Station, "code", "floor:station"),
    ("consignment", Consignment, "code", "items:consignment"),
    ("tank or bin", Tank, "code", "items:tank"),
    ("tool", Tool, "code", "catalogue:tool"),
    ("gauge or scale", Gauge, "code", "catalogue:gauge"),
    ("recorder", Recorder, "code", "catalogue:recorder"),
    ("badge", Person, "badge", "people:person"),
)


def code_of(typed: str) -> str:
    """A code on file as it is typed, else put right where dashes or leading zeros were left out."""
    return typed if find_item(typed) is not None else _read(typed)


def page_of(typed: str) -> str:
    """Address of the page of any code of the house. Refuses ``unknown``, or ``no-page`` for what has none."""
    code = code_of(typed)
    item = find_item(code)
    if item is not None:
        return reverse("trace:unit", args=[item.code])
    for word, model, column, name in _OTHERS:
        found = model._default_manager.filter(**{f"{column}__iexact": code.strip()}).values_list(column, flat=True)
        on_file = found.first()
        if on_file is not None:
            return _address(word, on_file, name)
    if typed.strip().upper() != code:
        raise Refused("unknown", "No such code here: %(code)s, read from %(typed)s.", code=code, typed=typed.strip())
    raise Refused("unknown", "No such code here: %(code)s.", code=typed.strip())


def near_to(typed: str) -> list[str]:
    """Codes on file that may have been meant: look-alikes, and the same number with its right check digit."""
    right = with_right_check(typed)
    repaired = [right] if right and find_item(right) is not None else []
    return list(dict.fromkeys([*repaired, *look_alikes(typed)]))


def why_unknown(typed: str) -> str:
    """What is wrong with a code that is not on file, as far as the code itself tells."""
    try:
        read = read_typed(typed)
    except Refused:
        return "The check digit does not fit: look again, or scan it."
    kind = KINDS.get(read[:2]) if read[2:3] == "-" else None
    return f"A code like this belongs to a {kind}; none with it is on file." if kind else "Look again, or scan it."


def _address(word: str, code: str, name: str) -> str:
    try:
        return reverse(name, args=[code])
    except NoReverseMatch as missing:
        words = "%(code)s is a %(word)s. It has no page of its own."
        raise Refused("no-page", words, code=code, word=word) from missing


def _read(typed: str) -> str:
    try:
        return read_typed(typed)
    except Refused:
        return typed  # the look-up says so, and names look-alikes
