"""Pages of equipment, below Rulebook: what there is, something added, a gauge calibrated."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from plant.lists import list_page
from plant.people.areas import in_area
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.refusals import Refused

from .actions import Equipment, add_equipment, calibrate_gauge, set_printer
from .forms import AddForm, CalibrateForm, PrinterForm
from .queries import equipment_here, gauge_by_code, printer_named, printers
from .tables import EquipmentFilter, EquipmentTable


@in_area("Rulebook")
def equipment_list(request: HttpRequest) -> HttpResponse:
    """Stations, tools, recorders and gauges; as a page or a file."""
    rows, asked = equipment_here(clock.now()), EquipmentFilter(request.GET)
    may = request.user.may("gauge calibrated")  # type: ignore[union-attr]  # nobody else is let in
    table = EquipmentTable(asked.kept(rows), exclude=() if may else ("change",))
    page = list_page(request, table, name="equipment", filtered=asked, total=len(rows))
    overdue, gauges = sum(row.is_overdue for row in rows), sum(row.what == "gauge" for row in rows)
    context = {"list": page, "overdue": overdue, "gauges": gauges}
    return page.file or render(request, "equipment/equipment_list.html", context)


def equipment_add(request: HttpRequest) -> HttpResponse:
    """Add a station, tool, recorder or gauge."""
    form = AddForm(request)

    def add(said: Said) -> Equipment:
        told = form.cleaned_data
        names = {name: told[name] for name in ("kind", "name", "unit_kind", "zone")}
        return add_equipment(told["what"], told["code"], **names, said=said)

    if form.acted(add):
        messages.success(request, f"{form.made.code} is on the list.")
        return redirect("equipment:equipment_list")
    return form.page("equipment/equipment_add.html")


def gauge_calibrate(request: HttpRequest, code: str) -> HttpResponse:
    """Record a check of a gauge or scale."""
    try:
        gauge = gauge_by_code(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused
    form = CalibrateForm(request, gauge.unit_kind)
    if form.acted(lambda said: calibrate_gauge(gauge.code, form.found(), said=said)):
        messages.success(request, f"The check of {gauge.code} is on file.")
        return redirect("equipment:equipment_list")
    return form.page("equipment/gauge_calibrate.html", {"gauge": gauge})


@in_area("Rulebook")
def printer_list(request: HttpRequest) -> HttpResponse:
    """Printers of labels that are in use."""
    return render(request, "equipment/printer_list.html", {"printers": printers()})


def printer_set(request: HttpRequest, code: str = "") -> HttpResponse:
    """Set a printer up, or set it up anew."""
    try:
        now = printer_named(code) if code else None
    except Refused as refused:
        raise Http404(str(refused)) from refused
    form = PrinterForm(request, now)
    if form.acted(lambda said: set_printer(form.cleaned_data["code"], form.wanted(), said=said)):
        messages.success(request, f"{form.made.printer.code} is set up.")
        return redirect("equipment:printer_list")
    return form.page("equipment/printer_set.html", {"printer": now})
