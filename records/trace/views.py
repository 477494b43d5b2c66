"""Pages of the trace: find a code, one item, where it went, hold it and lift the hold."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import datetime
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from plant.catalogue.models import Part
from plant.lists import FILES, as_file, list_page
from plant.people.areas import areas_of, in_area, shown_in
from plant.people.queries import works_zone
from plant.times import read_time
from records.items.actions import lift_hold, lift_holds, place_hold, place_holds
from records.items.balance_bar import BalanceBar, balance_bar
from records.items.balancing import balanced
from records.items.models import Hold, Item
from records.items.queries import find_item, holds_on, near_to, standing_of
from records.ledger.clock import clock
from records.ledger.marks import mark_at
from records.ledger.refusals import Refused
from records.quality.queries import entries_to_place
from records.steps.carrying import carriers_of

from . import facts, history
from .comparing import failed_frames
from .content import content_of
from .finding import copy_words, deliveries_of, page_of, why_unknown
from .forms import HoldAllForm, HoldForm, LiftForm, LiftSeveralForm, SharedForm
from .handing_over import as_download, mark_asked
from .labelling import POSSIBLE
from .listing import in_reach, lists_of, out_of_reach, shipped_of
from .living import life_of
from .lost import tablets_behind
from .paper import frame_list_of, frame_list_pdf
from .places import bunches, not_yet_frames
from .queries import Answer, Asked, where_used
from .sharing import compare
from .tables import ItemFilter, ItemTable
from .telling import finding, told_answer
from .way import way_of_item

FILE_COLUMNS = ("code", "kind", "part", "sure", "share", "state", "at", "held", "path")


def item_for(code: str) -> Item:
    """The item with a code, or 404."""
    item = find_item(code)
    if item is None:
        raise Http404(f"No such code here: {code}.")
    return item


@in_area("Trace")
def find(request: HttpRequest) -> HttpResponse:
    """A code to its page, what can't be found told with its look-alikes; and everything with a code as a list."""
    typed = request.GET.get("code", "").strip()
    context: dict[str, object] = {"typed": typed}
    if typed:
        try:
            address = page_of(typed)
            if words := copy_words(typed):
                messages.warning(request, words)
            return redirect(address)
        except Refused as refused:
            context["refused"] = str(refused).rstrip(".")
            deliveries = deliveries_of(typed)
            context |= {"why": why_unknown(typed), "alike": near_to(typed), "deliveries": deliveries}
    related = ("revision__part", "state__place__party", "state__place__station", "state__inside__state")
    asked = ItemFilter(request.GET, Item.objects.select_related(*related).order_by("-pk"))
    page = list_page(request, ItemTable(asked.qs), name="everything", filtered=asked)
    return page.file or render(request, "trace/find.html", context | {"list": page})


@in_area("Trace")
def unit(request: HttpRequest, code: str) -> HttpResponse:
    """Everything on file about one item; an old number leads to the newest."""
    item = item_for(code)
    if item.code != code:
        return redirect("trace:unit", code=item.code)
    standing, content = standing_of(item), content_of(item)
    is_unit = item.kind == Part.Tracked.UNIT
    way = way_of_item(item)
    triangles = [row.found.item for row in content if row.is_near and row.found.kind in Part.UNIT_KINDS]
    context = {
        "item": item,
        "standing": standing,
        "is_unit": is_unit,
        "state": facts.state_of(item, standing),
        "where": facts.whereabouts_words(standing),
        "next_step": facts.next_step(item, standing),
        "lot_facts": [] if is_unit else facts.lot_facts(item),
        "holds": open_holds(standing.holds),
        "way": way,
        "life": life_of(item, standing, way) if is_unit else None,
        "near": [row for row in content if row.is_near],
        "far": [row for row in content if not row.is_near],
        "at_risk": [row.found.code for row in content if is_unit and row.is_at_risk],
        "rejected": [row.found.code for row in content if is_unit and row.is_rejected],
        "undecided": [row.found.code for row in content if is_unit and row.is_undecided],
        "measured": history.measured_on([item.pk, *triangles]) if is_unit else [],
        "decisions": history.decisions_on([item.pk]),
        "corrections": history.links_corrected([item.pk]),
        "flags": history.flags_on([item.pk]),
        "photos": history.photos_on([item.pk]),
        "to_do": facts.still_to_do(item, standing) if is_unit else [],
        "since": facts.since(standing),
        "lost": tablets_behind([item.pk]),
        "carriers": carriers_of([item.pk]) if is_unit else [],
    }
    return render(request, "trace/unit.html", context)


def open_holds(holds: list[Hold]) -> list[Hold]:
    """Holds with what a page says of them."""
    rows = Hold.objects.filter(pk__in=[hold.pk for hold in holds])
    return list(rows.select_related("entry__by__name_words", "words", "operation").order_by("pk"))


@in_area("Trace")
def lot_to_frames(request: HttpRequest, code: str) -> HttpResponse:
    """Where a thing went: frames, what is not yet a frame, and what lies below the cut-off; on a page or as CSV."""
    item, typed, problem, mark = item_for(code), request.GET.get("as_of", "").strip(), "", None
    as_of = typed
    try:
        mark = mark_at(moment_passed(as_of)) if as_of else None
        answer = where_used(item.code, Asked(mark))
    except Refused as refused:
        problem, as_of = str(refused), ""
        answer = where_used(item.code)
    told = told_answer("whereused", answer, as_of or None)
    form = request.GET.get("form", "")
    if form in FILES and not problem:
        return as_file(_rows_of(told), form, f"where-used-{re.sub(r'[^A-Za-z0-9-]+', '-', item.code)}")
    context = {
        "item": item,
        "answer": answer,
        "finding": finding(told).rstrip("."),
        "as_of": as_of,
        "typed": typed,
        "problem": problem,
        "paper": urlencode({"as_of": as_of}) if as_of else "",
        "csv": urlencode({"form": "csv", **({"as_of": as_of} if as_of else {})}),
        "unplaced": entries_to_place().count(),
        "balance": None if as_of else _balance(item),
        "lost": tablets_behind([item.pk, *(found.item for found in (*answer.frames, *answer.others))], mark),
        **_pictures(answer, request.GET.get("bundle", "")),
    }
    return render(request, "trace/lot_to_frames.html", context, status=400 if problem else 200)


def _balance(item: Item) -> BalanceBar | None:
    found = balanced(item)
    return balance_bar(found) if found else None


@in_area("Trace")
def frame_list(request: HttpRequest, code: str) -> HttpResponse:
    """Where a thing went, as a PDF; where none can be made its page says why."""
    item = item_for(code)
    try:
        facts = frame_list_of(item.code, mark_asked(request.GET.get("as_of")))
    except Refused as refused:
        messages.error(request, str(refused))
        return redirect("trace:lot_to_frames", code=item.code)
    return as_download(frame_list_pdf(facts), "lot-to-frames", item.code)


def moment_passed(typed: str) -> datetime:
    """A moment by the works' clock that has been. Refuses one that is to come: nothing is known of it."""
    moment = read_time(typed, works_zone())
    if moment > clock.now():
        raise Refused("not-yet", "%(typed)s has not come yet. Ask as known on a moment that has been.", typed=typed)
    return moment


def _pictures(answer: Answer, bundle: str) -> dict[str, object]:
    """Lists and pictures of an answer, and what else counts in words; the frames of a chosen bundle alone."""
    lists = lists_of(answer)
    chosen = lists.shown(bundle)
    doubts, beyond = answer.count(POSSIBLE), len(out_of_reach(lists))
    return {
        "lists": lists,
        "chosen": chosen,
        "frames": lists.frames if chosen is None else chosen.rows,
        "reach": 0 if answer.mark else len(in_reach(answer, lists)),
        "bunches": bunches(lists.frames),
        "loose": not_yet_frames(lists.loose),
        "doubts": f"{doubts} can’t be ruled out" if doubts else "",
        "beyond": f"{beyond} frame{'' if beyond == 1 else 's'} left the works" if beyond else "",
        "beyond_word": "it" if beyond == 1 else "them",
        "below": f"{len(answer.below)} below the cut-off",
    }


def _rows_of(told: dict) -> Iterator[Iterable[object]]:
    """An answer as the rows of a file, its heads first."""
    yield "list", *FILE_COLUMNS
    for name in ("frames", "others", "below"):
        for row in told[name]:
            flat = {**row, **row["place"], "path": " > ".join(row["path"])}
            yield name, *(flat[column] for column in FILE_COLUMNS)


@in_area("Trace")
def shared(request: HttpRequest) -> HttpResponse:
    """What frames that failed have in common; those on file as failed stand there to begin with."""
    failed = failed_frames()
    told = request.GET if "codes" in request.GET else None
    form = SharedForm(told, initial={"codes": " ".join(frame.code for frame in failed)})
    found = compare(*form.asked()) if form.is_valid() else None
    return render(request, "trace/shared.html", {"form": form, "found": found, "failed": failed})


def hold_place(request: HttpRequest, code: str) -> HttpResponse:
    """Hold an item, with a reason."""
    item = item_for(code)
    form = HoldForm(request, item)
    if form.acted(lambda said: place_hold(item.code, **form.stated(), said=said)):
        messages.success(request, f"{item.code} is held.")
        return redirect(_page_after(request, item))
    context = {"item": item, "binding": holds_on([item.pk]), "back": _page_after(request, item)}
    return form.page("trace/hold_place.html", context)


def _page_after(request: HttpRequest, item: Item) -> str:
    """The item's page, or the start for those who don't see the trace."""
    sees_trace = any(area.word == "Trace" for area in areas_of(request.user))  # type: ignore[arg-type]
    return reverse("trace:unit", args=[item.code]) if sees_trace else reverse("home")


@shown_in("Trace")
def hold_all(request: HttpRequest, code: str) -> HttpResponse:
    """Hold everything in the works, or out at a painter, that holds a thing, and the thing itself."""
    item = item_for(code)
    answer = where_used(item.code)
    lists = lists_of(answer)
    reach = in_reach(answer, lists)
    beyond = out_of_reach(lists)
    form = HoldAllForm(request, reach, shipped_of(beyond))
    wanted = ("reason", "words")
    if form.acted(lambda said: place_holds(form.chosen(), **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        messages.success(request, f"{len(form.made)} are held: they stay where they are until Review decides.")
        return redirect("trace:lot_to_frames", code=item.code)
    return form.page("trace/hold_all.html", {"item": item, "reach": reach, "beyond": beyond})


def hold_lift(request: HttpRequest, hold: int) -> HttpResponse:
    """Lift a hold, with a reason."""
    found = get_object_or_404(Hold.objects.select_related("item__state", "words", "entry__by__name_words"), pk=hold)
    form = LiftForm(request)
    one = {"item": found.item.code, "reason": found.reason}
    if form.acted(lambda said: lift_hold(found.entry.key, **one, words=form.cleaned_data["words"], said=said)):
        messages.success(request, f"The hold on {found.item.code} is lifted.")
        return redirect("trace:unit", code=found.item.code)
    return form.page("trace/hold_lift.html", {"hold": found, "others": len(held_alike(found)) - 1})


def hold_lift_several(request: HttpRequest, hold: int) -> HttpResponse:
    """Lift several of the holds that one entry placed, for one reason."""
    found = get_object_or_404(Hold.objects.select_related("item__state", "words", "entry__by__name_words"), pk=hold)
    alike = held_alike(found)
    form = LiftSeveralForm(request, alike)
    if form.acted(lambda said: lift_holds(found.entry.key, form.chosen(), words=form.cleaned_data["words"], said=said)):
        messages.success(request, f"{len(form.made)} hold{'' if len(form.made) == 1 else 's'} lifted.")
        return redirect("quality:bench")
    return form.page("trace/hold_lift_several.html", {"hold": found, "several": len(alike)})


def held_alike(hold: Hold) -> list[str]:
    """Codes of everything that a hold of the same entry, for the same reason, still binds."""
    alike = Hold.objects.filter(entry=hold.entry_id, reason=hold.reason, lift=None).order_by("pk")
    return list(alike.values_list("item__state__code", flat=True))
