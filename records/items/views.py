"""Pages of the stores: what is on the shelf, a delivery booked in, a lot accepted or rejected."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from plant.catalogue.models import Part
from plant.people.areas import in_area

from .actions import accept_lot, receive_lot, reject_lot
from .forms import DecideForm, ReceiveForm
from .queries import decision_on, find_item, stock_rows


@in_area("Stores")
def stock(request: HttpRequest) -> HttpResponse:
    """Lots with something left, nearest end first."""
    return render(request, "items/stock.html", {"rows": stock_rows()})


def lot_receive(request: HttpRequest) -> HttpResponse:
    """Book a delivery in, into quarantine."""
    form = ReceiveForm(request)
    if form.acted(lambda said: receive_lot(form.cleaned_data["code"], form.delivery(), said=said)):
        messages.success(request, f"{form.made.code} is in quarantine.")
        return redirect("items:lot_decide", code=form.made.code)
    return form.page("items/lot_receive.html")


def lot_decide(request: HttpRequest, code: str) -> HttpResponse:
    """Accept or reject a received lot."""
    lot = find_item(code)
    if lot is None or lot.kind != Part.Tracked.LOT:
        raise Http404(f"No lot {code} is on file.")
    form = DecideForm(request)
    decide = reject_lot if form.data.get("choice") == "reject" else accept_lot
    if form.acted(lambda said: decide(lot.code, words=form.cleaned_data["words"], said=said)):
        messages.success(request, f"{lot.code} is {form.made.get_decision_display()}.")
        return redirect("items:stock")
    return form.page("items/lot_decide.html", {"lot": lot, "decision": decision_on(lot)})
