"""Pages of charts: the wall, one characteristic, a signal answered, limits frozen, a chart begun anew."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from plant.catalogue.in_force import bands
from plant.catalogue.models import Characteristic
from plant.lists import list_page
from plant.people.areas import in_area
from records.inspection.queries import series_of
from records.ledger.clock import clock
from records.ledger.refusals import Refused

from .actions import answer_signal, break_chart, freeze_limits
from .forms import AnswerForm, BreakForm, ChosenSpan, SpanForm
from .freezing import try_limits
from .meanwhile import lane_values
from .queries import value_in_chart
from .showing import capability_words, finding_of, page_of, picks_of, picture_of, strip_of, wall
from .standing import standing_of_chart, standing_of_charts
from .tables import ValuesTable


def characteristic_here(part: str, name: str) -> Characteristic:
    """The characteristic of an address, or 404."""
    return get_object_or_404(Characteristic.objects.select_related("part"), part__number=part, name=name)


@in_area("Charts")
def chart_list(request: HttpRequest) -> HttpResponse:
    """Every measure as a small chart, unanswered signals first."""
    rows = wall()
    context = {"rows": rows, "open": sum(len(row.standing.unanswered) for row in rows)}
    return render(request, "spc/chart_list.html", context)


@in_area("Charts")
def chart(request: HttpRequest, part: str, name: str) -> HttpResponse:
    """One measure: each value, moving range, signals, how the band is used; as a page or a file of the values."""
    characteristic = characteristic_here(part, name)
    beside = list(Characteristic.objects.filter(part=characteristic.part).select_related("part").order_by("name"))
    standings = standing_of_charts(beside, bands(clock.now()))
    standing = next((s for s in standings if s.characteristic == characteristic), None)
    if standing is None:
        raise Http404(f"{name} of {part} has no band in force.")
    rows = page_of(standing)
    values = list_page(request, ValuesTable(rows), name=f"{part}-{name}")
    context = {
        "list": values,
        "standing": standing,
        "band": standing.band,
        "finding": finding_of(standing),
        "picture": picture_of(standing, lane_values(standing)),
        "strip": strip_of(standing),
        "capability": capability_words(standing),
        "picks": picks_of(standings, standing),
        "rows": rows,
    }
    return values.file or render(request, "spc/chart.html", context)


def signal_answer(request: HttpRequest, part: str, name: str, measurement: int, rule: str) -> HttpResponse:
    """Answer a signal: whether its cause was found and removed."""
    characteristic = characteristic_here(part, name)
    signals = standing_of_chart(characteristic).signals
    told = next((t for t in signals if t.at.pk == measurement and t.signal.rule == rule), None)
    if told is None:
        raise Http404("This signal does not stand on the chart.")
    form = AnswerForm(request)
    if form.acted(lambda said: answer_signal(told.at, rule=rule, **form.told(), said=said)):
        messages.success(request, f"Signal {told.letter} is answered.")
        return redirect("spc:chart", part=part, name=name)
    return form.page("spc/signal_answer.html", {"characteristic": characteristic, "told": told})


def limits_freeze(request: HttpRequest, part: str, name: str) -> HttpResponse:
    """Choose a span, see the limits it gives beside those in force, and freeze them."""
    characteristic = characteristic_here(part, name)
    times = [m.at for m in series_of(characteristic) if value_in_chart(m) is not None]
    span = ChosenSpan((request.POST if request.method == "POST" else request.GET).dict(), times)
    form = SpanForm(request, initial=span.data)
    if form.acted(lambda said: freeze_limits(characteristic, **form.told(), said=said)):
        messages.success(request, f"Limits are frozen from {form.made.n} values. Later readings never move them.")
        return redirect("spc:chart", part=part, name=name)
    trial, problem = None, ""
    try:
        trial = try_limits(characteristic, **span.cleaned_data) if span.is_valid() else None
    except Refused as refused:
        problem = str(refused)
    context = {
        "characteristic": characteristic,
        "span": span,
        "trial": trial,
        "problem": problem,
        "picture": trial and picture_of(trial.then, edges=trial.edges),
    }
    return form.page("spc/limits_freeze.html", context)


def chart_break(request: HttpRequest, part: str, name: str) -> HttpResponse:
    """Begin a new piece of a chart."""
    characteristic = characteristic_here(part, name)
    form = BreakForm(request)
    if form.acted(lambda said: break_chart(characteristic, words=form.cleaned_data["words"], said=said)):
        messages.success(request, "The chart begins a new piece from here on.")
        return redirect("spc:chart", part=part, name=name)
    lead = "For a change made on purpose: a rebuilt mould, another cutter, another method. Signals need no break."
    context = {"characteristic": characteristic, "finding": "Begin a new piece", "press": "Begin it", "lead": lead}
    return form.page("spc/chart_form.html", context)
