"""Pages of inspection: a unit's sheet, a value corrected or taken back, what a gauge found out has passed."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from plant.catalogue.models import Part
from plant.equipment.models import Calibration
from plant.equipment.queries import calibrations_of, gauge_by_code
from plant.lists import list_page
from plant.people.areas import in_area
from records.items.models import Item
from records.items.queries import find_item, holds_on
from records.items.telling import kept_words
from records.ledger.clock import clock
from records.ledger.refusals import Refused

from .actions import correct_measurement, measurement_of, record_sheet, withdraw_measurement
from .forms import CorrectForm, SheetForm, WithdrawForm
from .models import Measurement
from .queries import bands_of, gauge_finding, gauge_rows, measured_on_unit, verdict_of
from .tables import GaugeFilter, GaugeTable


def unit_to_measure(code: str) -> Item:
    """The unit with a code, or 404."""
    unit = find_item(code)
    if unit is None or unit.kind != Part.Tracked.UNIT:
        raise Http404(f"No unit {code} is on file.")
    return unit


def sheet(request: HttpRequest, code: str) -> HttpResponse:
    """The inspection sheet of a unit: a line for each characteristic of its part."""
    unit = unit_to_measure(code)
    form = SheetForm(request, bands_of(unit.part, clock.now()))
    if form.acted(lambda said: record_sheet(unit.code, form.lines(), station=form.station_code(), said=said)):
        tell_verdicts(request, unit, form.made, form.cleaned_data["key"])
        return redirect("inspection:sheet", code=unit.code)
    return form.page(
        "inspection/sheet.html", {"unit": unit, "lines": form.lines_shown(), "on_file": measured_on_unit(unit)}
    )


def tell_verdicts(request: HttpRequest, unit: Item, measured: list[Measurement], key: UUID) -> None:
    """Say what was logged, what lies outside, and what else was marked."""
    messages.success(request, f"{len(measured)} logged on {unit.code}.")
    outside = [row.characteristic_revision.characteristic.name for row in measured if verdict_of(row).is_outside]
    if outside:
        held = " The unit is held: put it on the red shelf." if holds_on([unit.pk]) else ""
        messages.warning(request, f"Outside the band: {', '.join(outside)}.{held}")
    elif words := kept_words(key):
        messages.warning(request, words)


def measurement_here(of: UUID, characteristic: str) -> Measurement:
    """The measurement that an address names, or 404 where it no longer stands."""
    try:
        return measurement_of(of, characteristic)
    except Refused as refused:
        raise Http404(str(refused)) from refused


def measurement_correct(request: HttpRequest, of: UUID, characteristic: str) -> HttpResponse:
    """Correct a value or its gauge; both stay readable."""
    form = CorrectForm(request)
    if form.acted(
        lambda said: correct_measurement(of, form.right(characteristic), words=form.cleaned_data["words"], said=said)
    ):
        messages.success(request, "Corrected. The old value stays readable beside it.")
        return redirect("inspection:sheet", code=form.made.unit.code)
    return form.page("inspection/measurement_correct.html", {"measurement": measurement_here(of, characteristic)})


def measurement_withdraw(request: HttpRequest, of: UUID, characteristic: str) -> HttpResponse:
    """Take a measurement back; its place in a chart stays empty."""
    form = WithdrawForm(request)
    words = form.data.get("words", "")
    if form.acted(lambda said: withdraw_measurement(of, characteristic=characteristic, words=words, said=said)):
        messages.success(request, "Taken back. It stays readable.")
        return redirect("inspection:sheet", code=form.made.unit.code)
    return form.page("inspection/measurement_withdraw.html", {"measurement": measurement_here(of, characteristic)})


@in_area("Charts")
def gauge_list(request: HttpRequest) -> HttpResponse:
    """Gauges and scales: how they were found, and until when they are good."""
    rows, asked = gauge_rows(clock.now()), GaugeFilter(request.GET)
    page = list_page(request, GaugeTable(asked.kept(rows)), name="gauges", filtered=asked, total=len(rows))
    out = [row for row in rows if row.found == Calibration.Result.OUT]
    overdue = [row for row in rows if row.is_overdue]
    context = {"list": page, "out": out, "overdue": overdue}
    return page.file or render(request, "inspection/gauge_list.html", context)


@in_area("Charts")
def gauge_page(request: HttpRequest, code: str) -> HttpResponse:
    """A gauge: its calibrations, and which units it has passed since it was last found good."""
    try:
        gauge = gauge_by_code(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused
    finding = gauge_finding(gauge)
    turned = {turn.measurement.pk: turn for turn in finding.turned}
    measured = [(row, verdict_of(row), turned.get(row.pk)) for row in finding.measured]
    measured.sort(key=lambda row: row[2] is None)
    context = {"gauge": gauge, "finding": finding, "measured": measured, "calibrations": calibrations_of(gauge)[::-1]}
    return render(request, "inspection/gauge_page.html", context)
