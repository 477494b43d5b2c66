"""From what somebody types or scans to the code that they mean, and from a code to its page."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote, urlencode

from django.db.models import Max
from django.urls import reverse

from plant.catalogue.carriers import Carrier
from plant.catalogue.models import Part, RecipeRevision, Tank
from plant.codes import KINDS, read_typed
from plant.equipment.models import Gauge, Recorder, Station, Tool
from plant.misreads import Doubt
from plant.people.models import Person
from plant.scans import Scan, layout_hint, read_scan
from plant.speaking import say
from records.items.models import Consignment, Item, ItemCode, Receipt
from records.items.queries import deliveries_called, find_item, item_by_code
from records.ledger.refusals import Refused
from records.quality.models import Nonconformance
from records.runs.models import Run
from records.steps.carrying import carriers_of

RUN_TOGETHER = "run-together"
# What has a code beside items: its table with the column of the code, and the page that shows it.
_PAGES: tuple[tuple[Any, str, str], ...] = (
    (Nonconformance, "code", "quality:departure"),
    (Run, "code", "runs:run"),
    (Station, "code", "floor:station"),
    (Consignment, "code", "items:consignment"),
    (Tank, "code", "items:tank"),
    (Gauge, "code", "inspection:gauge_page"),
)
# What has no page of its own stands in a list, at its code.
_LISTS: tuple[tuple[Any, str, str], ...] = (
    (Tool, "code", "equipment:equipment_list"),
    (Recorder, "code", "equipment:equipment_list"),
    (Person, "badge", "staff:person_list"),
)


def code_of(typed: str) -> str:
    """The code that was typed or scanned, put right where dashes or leading zeros were left out.

    Refuses ``scan`` for a symbol that can't be read for certain, and for a code that is not on file and looks misread.
    One whose fields may have run together is left whole: ``item_named`` says so.
    """
    scan = read_scan(typed)
    if scan.doubt and scan.doubt.how != RUN_TOGETHER and find_item(scan.code) is None:
        raise doubted(scan.doubt)
    return _put_right(scan.code)


def item_named(typed: str) -> Item:
    """The item whose code was typed or scanned. Refuses ``unknown``, and ``scan`` for what looks misread."""
    scan = read_scan(typed)
    if scan.doubt and find_item(scan.code) is None:
        raise doubted(scan.doubt)
    return item_by_code(_put_right(scan.code))


def doubted(doubt: Doubt) -> Refused:
    """The refusal of a code that may be another one than was meant."""
    return Refused("scan", doubt.words, how=doubt.how, **doubt.facts)


def _put_right(code: str) -> str:
    return code if find_item(code) is not None else _read(code)


def page_of(typed: str) -> str:
    """Address of the page of any code of the house. Refuses ``unknown``."""
    code = _put_right(read_scan(typed).code)
    item = find_item(code)
    if item is not None:
        return reverse("trace:unit", args=[item.code])
    for model, column, name in _PAGES:
        if on_file := _on_file(model, column, code):
            return reverse(name, args=[on_file])
    recipe = RecipeRevision.objects.filter(recipe__iexact=code.strip()).order_by("-pk").first()
    if recipe is not None:
        return reverse("runs:recipe", args=[recipe.pk])
    for model, column, name in _LISTS:
        if on_file := _on_file(model, column, code):
            return f"{reverse(name)}?{urlencode({'code': on_file})}#{quote(on_file)}"
    if typed.strip().upper() != code:
        raise Refused("unknown", "No such code here: %(code)s, read from %(typed)s.", code=code, typed=typed.strip())
    raise Refused("unknown", "No such code here: %(code)s.", code=typed.strip())


def deliveries_of(typed: str) -> list[Receipt]:
    """Deliveries whose supplier calls them what was typed or scanned: a recall names the supplier's number alone."""
    try:
        read = read_scan(typed).code
    except Refused:
        read = ""
    found = {receipt.pk: receipt for text in (typed, read) for receipt in deliveries_called(text)}
    return [found[number] for number in sorted(found, reverse=True)]


def copy_words(typed: str) -> str:
    """What is wrong with the label or carrier that was scanned, as the floor says it: it is old, or was never printed.

    A tablet without a link says the same of what it knows (``copies.js``).
    """
    scan = read_scan(typed)
    if scan.copy is None:
        return _ended_words(scan)
    newest = ItemCode.objects.filter(code=scan.code).aggregate(newest=Max("prints__copy"))["newest"] or 0
    facts = {"copy": scan.copy, "code": scan.code, "newest": newest}
    if scan.copy < newest:
        return say(
            "That is label %(copy)s of %(code)s; label %(newest)s was printed after it. Take the old one off.", **facts
        )
    if scan.copy > newest:
        return say("Label %(copy)s of %(code)s was never printed here. Find out where it came from.", **facts)
    return _ended_words(scan)


def _ended_words(scan: Scan) -> str:
    """That what was scanned no longer carries the unit that it names: something else took its place.

    A code without a number tells the old carrier only where it is a symbol, or another code than the unit has now:
    typed by hand it names the unit.
    """
    item = find_item(scan.code)
    if item is None or item.kind != Part.Tracked.UNIT or (scan.form == "plain" and scan.code == item.code):
        return ""
    rows, read = carriers_of([item.pk]), (scan.code, scan.copy)
    present = next((row for row in rows if row.is_on), None)
    ended = [row for row in rows if (row.code, row.copy) == read and not row.is_on and row.kind != Carrier.TOOL]
    if not ended or (present is not None and (present.code, present.copy) == read):
        return ""
    facts = {"copy": scan.copy, "code": scan.code, "was": ended[-1].get_kind_display()}
    if present is None:
        if scan.copy:
            return say(
                "That is label %(copy)s of %(code)s, which it is no longer known by. Take the old one off.", **facts
            )
        return say(
            "That is the old %(was)s of %(code)s, which it is no longer known by. Take the old one off.", **facts
        )
    facts["now"] = present.get_kind_display()
    if scan.copy:
        return say(
            "That is label %(copy)s of %(code)s, which it is no longer known by: by its %(now)s. Take the old one off.",
            **facts,
        )
    return say(
        "That is the old %(was)s of %(code)s, which it is no longer known by: by its %(now)s. Take the old one off.",
        **facts,
    )


def why_unknown(typed: str) -> str:
    """What is wrong with a code that is not on file, as far as the code itself tells."""
    if hint := layout_hint(typed):
        return hint
    try:
        read = read_typed(typed)
    except Refused:
        return "The check digit does not fit: look again, or scan it."
    kind = KINDS.get(read[:2]) if read[2:3] == "-" else None
    if kind is None:
        return "Look again, or scan it."
    return f"Codes that begin with {read[:2]} are for: {kind}. None with this number is on file."


def _on_file(model: Any, column: str, code: str) -> str | None:
    """The code as it stands on file, in whatever case it was typed."""
    return model._default_manager.filter(**{f"{column}__iexact": code.strip()}).values_list(column, flat=True).first()


def _read(typed: str) -> str:
    try:
        return read_typed(typed)
    except Refused:
        return typed  # the look-up says so, and names look-alikes
