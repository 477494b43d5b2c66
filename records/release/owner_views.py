"""The page of a unit for whoever has it, as the works sees to it: opened, replaced, closed; its label."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from plant.papers.label import DENSITIES
from plant.people.areas import in_area
from records.ledger.refusals import Refused

from .actions import close_passport, open_passport
from .forms import PassportCloseForm, PassportForm
from .label_views import thing_of
from .labels import Labelled, label_of, prints_of
from .models import LabelPrint
from .passports import page_of, passports_of


def _unit_of(code: str) -> Labelled:
    thing = thing_of(code)
    if thing.item is None or not thing.is_unit:
        raise Http404(f"{thing.code} is no unit: only what is shipped by its serial has a page for its owner.")
    return thing


@in_area("Stores")
def passport(request: HttpRequest, code: str) -> HttpResponse:
    """Passports of a unit so far, where the one that stands leads, its label, and another one in its place."""
    thing = _unit_of(code)
    unit = thing.item
    assert unit is not None  # asked above
    rows = passports_of(unit)
    form = PassportForm(request, is_again=bool(rows))
    if form.acted(lambda said: open_passport(thing.code, reason=form.cleaned_data.get("reason", ""), said=said)):
        again = " Its old code opens no page any more: put the new label on." if rows else ""
        messages.success(request, f"{thing.code} has a page for its owner.{again}")
        return redirect("labels:passport", code=thing.code)
    printed = prints_of(unit)
    standing = next((row for row in rows if row.stands), None)  # type: ignore[attr-defined]  # asked along
    context = {
        "thing": thing,
        "rows": rows,
        "standing": standing,
        "page": page_of(unit) if standing else None,
        "printed": printed[-1] if printed else None,
        "why_none": _why_no_label(printed[-1]) if printed else "",
        "densities": DENSITIES,
    }
    if request.method == "GET" and not request.user.may(form.act):  # type: ignore[union-attr]  # nobody else is let in
        return render(request, "release/passport.html", context)
    return form.page("release/passport.html", context)


def _why_no_label(printed: LabelPrint) -> str:
    try:
        label_of(printed, for_owner=True)
    except Refused as refused:
        return str(refused)
    return ""


@in_area("Stores")
def passport_close(request: HttpRequest, code: str) -> HttpResponse:
    """Close the page of a unit, with nothing in its place."""
    thing = _unit_of(code)
    form = PassportCloseForm(request)
    if form.acted(lambda said: close_passport(thing.code, reason=form.cleaned_data["reason"], said=said)):
        messages.success(request, f"The page of {thing.code} is closed: its code tells nothing of the frame any more.")
        return redirect("labels:passport", code=thing.code)
    return form.page("release/passport_close.html", {"thing": thing})
