"""The label of a lot or unit: which were printed, one more printed, its file for a printer."""

from __future__ import annotations

from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from plant.papers.label import DENSITIES, label_pdf
from plant.papers.page import Made
from plant.people.areas import shown_in
from records.items.queries import find_item
from records.trace.handing_over import as_download

from .actions import print_label
from .forms import LabelForm
from .labels import label_of, prints_of
from .models import LabelPrint


@shown_in("Stores")
def label(request: HttpRequest, code: str) -> HttpResponse:
    """Labels printed so far, and one more."""
    item = find_item(code)
    if item is None:
        raise Http404(f"No such code here: {code}.")
    printed = prints_of(item)
    form = LabelForm(request, is_again=bool(printed))
    if form.acted(lambda said: print_label(item.code, reason=form.cleaned_data.get("reason", ""), said=said)):
        address = reverse("labels:file", args=[form.made.pk])
        messages.success(request, f"Label {form.made.copy} of {item.code} is made. Stick it on and scan it back.")
        return redirect(f"{address}?{urlencode({'dots': form.cleaned_data['dots']})}")
    return form.page("release/label.html", {"item": item, "printed": printed, "densities": DENSITIES})


@shown_in("Stores")
def label_file(request: HttpRequest, number: int) -> HttpResponse:
    """One label as a file at its exact size, for a printer of so many dots an inch."""
    printed = get_object_or_404(LabelPrint, pk=number)
    dots = request.GET.get("dots", str(DENSITIES[0]))
    if dots not in map(str, DENSITIES):
        raise Http404(f"No label is made for {dots} dots an inch.")
    made = Made(label_pdf(label_of(printed), int(dots)), 1, ())
    return as_download(made, f"label-{printed.copy}", printed.item_code.code)
