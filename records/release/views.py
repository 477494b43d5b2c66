"""Letting a unit go: its gate line by line, release and shipping."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from plant.catalogue.models import Part
from plant.lists import list_page
from plant.papers.page import Made
from plant.people.areas import in_area
from records.items.models import Item
from records.items.queries import find_item
from records.ledger.marks import Mark
from records.ledger.refusals import Refused
from records.trace.handing_over import as_download, mark_asked

from .actions import release_units, ship, standing_release
from .forms import ReleaseForm, ShipForm, ShipManyForm
from .gate import gate_of
from .papers.dossier import dossier_pdf
from .papers.dossier_facts import dossier_of
from .papers.traveller import traveller_of, traveller_pdf
from .queries import frames_at_the_door, lines_shipped, parties
from .tables import GoneFilter, GoneTable, WaitingTable


def unit_for_release(code: str) -> Item:
    """The unit with a code, or 404."""
    item = find_item(code)
    if item is None or item.kind != Part.Tracked.UNIT:
        raise Http404(f"No unit has the code {code}.")
    return item


@in_area("Review")
def going(request: HttpRequest) -> HttpResponse:
    """What can go: frames whose route is done, to be released one by one; released ones, to be shipped together."""
    finished = frames_at_the_door()
    ready = [door for door in finished if door.release is not None]
    form = ShipManyForm(request, ready)
    if form.is_bound:
        form.ask_right()
    if form.acted(lambda said: ship(form.cleaned_data["codes"], to=form.cleaned_data["to"], said=said)):
        messages.success(request, f"{form.made.lines.count()} shipped to {form.made.place} with {form.made.code}.")
        return redirect("items:consignment", code=form.made.code)
    waiting = [door for door in finished if door.release is None]
    may = request.user.may("unit released")  # type: ignore[union-attr]  # nobody else is let in
    page = list_page(request, WaitingTable(waiting, exclude=() if may else ("gate",)), name="to-be-released")
    context = {"form": form, "ready": ready, "list": page, "parties": parties()}
    return page.file or render(request, "release/going.html", context)


@in_area("Review")
def gone(request: HttpRequest) -> HttpResponse:
    """What was shipped, the latest first; as a page or a file."""
    shipped = lines_shipped()
    asked = GoneFilter(request.GET, shipped)
    page = list_page(request, GoneTable(asked.qs), name="shipped", filtered=asked)
    last = shipped.values_list("consignment__at", flat=True).first()
    return page.file or render(request, "release/gone.html", {"list": page, "last": last})


@in_area("Review")
def unit_release(request: HttpRequest, code: str) -> HttpResponse:
    """The gate of a unit, and its release by a named person."""
    unit = unit_for_release(code)
    form = ReleaseForm(request)
    if form.acted(lambda said: release_units([unit.code], said=said)):
        messages.success(request, f"{unit.code} is released.")
        return redirect("release:unit_ship", code=unit.code)
    lines = gate_of(unit)
    is_open = [line for line in lines if line.is_open]
    may_release = request.user.may(form.act)  # type: ignore[union-attr]  # nobody else is let in
    context = {
        "unit": unit,
        "lines": lines,
        "open": len(is_open),
        "shut": bool(is_open) and not form.is_bound,
        "release": standing_release(unit),
        "may_release": may_release,
    }
    if request.method == "GET" and not may_release:
        return render(request, "release/unit_release.html", context)  # the gate may be read by all of the desk
    return form.page("release/unit_release.html", context)


@in_area("Review")
def unit_ship(request: HttpRequest, code: str) -> HttpResponse:
    """Ship a released unit for good."""
    unit = unit_for_release(code)
    form = ShipForm(request)
    if form.acted(lambda said: ship([unit.code], to=form.cleaned_data["to"], said=said)):
        messages.success(request, f"{unit.code} is shipped with {form.made.code}.")
        return redirect("trace:unit", code=unit.code)
    context = {"unit": unit, "release": standing_release(unit), "parties": parties()}
    return form.page("release/unit_ship.html", context)


@in_area("Trace")
def unit_dossier(request: HttpRequest, code: str) -> HttpResponse:
    """Everything on file about a unit, as a PDF."""
    return _paper(request, code, "dossier", lambda code, mark: dossier_pdf(dossier_of(code, mark)))


@in_area("Trace")
def unit_traveller(request: HttpRequest, code: str) -> HttpResponse:
    """The sheet that goes round with a unit, as a PDF."""
    return _paper(request, code, "traveller", lambda code, mark: traveller_pdf(traveller_of(code, mark)))


def _paper(request: HttpRequest, code: str, name: str, make: Callable[[str, Mark], Made]) -> HttpResponse:
    """A paper to take away; where none can be made the page of the unit says why."""
    unit = unit_for_release(code)
    try:
        return as_download(make(unit.code, mark_asked(request.GET.get("as_of"))), name, unit.code)
    except Refused as refused:
        messages.error(request, str(refused))
        return redirect("trace:unit", code=unit.code)
