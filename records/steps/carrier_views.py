"""Pages of carriers: units that are not known as their stage asks, one put on, one that is gone, one taken back."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from plant.catalogue.models import Part
from plant.people.areas import in_area, shown_in
from records.items.models import Item
from records.items.queries import find_item
from records.ledger.acts import Said

from .actions import put_carrier, take_carrier_off, withdraw_carrier
from .actions.carriers import told_of_carriers
from .astray import astray
from .carrying import carriers_of, expected, on_now
from .forms import CarrierBackForm, CarrierForm, CarrierOffForm
from .models import UnitCarrier


@in_area("Stores")
def carrier_list(request: HttpRequest) -> HttpResponse:
    """Units here whose carrier is not what their stage asks for, or that have none."""
    rows = astray()
    return render(request, "steps/carrier_list.html", {"rows": rows, "mixed": sum(row.is_mixed_up for row in rows)})


@shown_in("Stores")
def carrier_put(request: HttpRequest, code: str) -> HttpResponse:
    """A carrier is put on a unit, and read back from it."""
    unit, form = unit_known(code), CarrierForm(request)
    if form.acted(lambda said: put_carrier(unit.code, **form.told(), said=said)):
        messages.success(request, f"{unit.code} is known by its {form.made.get_kind_display()} from now on.")
        return redirect("trace:unit", code=unit.code)
    carriers, asked = carriers_of([unit.pk]), expected([unit.pk]).get(unit.pk, "")
    return form.page("steps/carrier_put.html", {"unit": unit, "carriers": carriers, "asked": asked})


@shown_in("Stores")
def carrier_off(request: HttpRequest, code: str) -> HttpResponse:
    """What carried a unit's code is gone, or can't be read."""
    unit, form = unit_known(code), CarrierOffForm(request)
    if form.acted(lambda said: take_carrier_off(unit.code, reason=form.cleaned_data["reason"], said=said)):
        messages.warning(request, f"Nothing carries the code of {unit.code} now. Keep it apart until one is put on.")
        return redirect("trace:unit", code=unit.code)
    return form.page("steps/carrier_off.html", {"unit": unit, "carriers": carriers_of([unit.pk])})


@shown_in("Stores")
def carrier_back(request: HttpRequest, code: str) -> HttpResponse:
    """A carrier was told as put on, or as gone, by mistake: it is taken back, with the reason."""
    unit = unit_known(code)
    told = told_of_carriers(unit)
    form = CarrierBackForm(request, told)

    def take_back(said: Said) -> UnitCarrier:
        return withdraw_carrier(UUID(form.cleaned_data["which"]), words=form.cleaned_data["words"], said=said)

    if form.acted(take_back):
        now = on_now([unit.pk]).get(unit.pk)
        known = f"is known by its {now.get_kind_display()}" if now else "has nothing on file that carries its code"
        messages.success(request, f"Taken back. {unit.code} {known}.")
        return redirect("trace:unit", code=unit.code)
    context = {"unit": unit, "carriers": carriers_of([unit.pk]), "told": told}
    return form.page("steps/carrier_back.html", context)


def unit_known(code: str) -> Item:
    """The unit with a code, or 404."""
    item = find_item(code)
    if item is None or item.kind != Part.Tracked.UNIT:
        raise Http404(f"No unit is called {code} here.")
    return item
