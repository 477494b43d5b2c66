"""Pages of the stores: what is on the shelf, consignments, counts."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from plant.lists import list_page
from plant.people.areas import in_area, shown_in
from plant.quantities import print_amount

from .actions import count_stock, explain_count, swap_consigned
from .balance_bar import balance_bar
from .balancing import balanced
from .clearing import at_risk
from .counting import count_rows, lots_at, places_with_lots
from .forms import CountForm, ExplainForm, SwapConsignedForm
from .lots import consignment_page, consignment_rows, tanks
from .models import Consignment, CountReason, Loss, StockCount
from .shelf import stock_rows
from .tables import ConsignmentFilter, ConsignmentTable, CountFilter, CountTable, StockFilter, StockTable


@in_area("Stores")
def stock(request: HttpRequest) -> HttpResponse:
    """Lots with something left, nearest end first; as a page or a file."""
    rows = stock_rows()
    asked = StockFilter(request.GET, rows)
    good, past = ([row for row in rows if row.is_past is ended] for ended in (False, True))
    page = list_page(request, StockTable(asked.kept([*good, *past])), name="shelf", filtered=asked, total=len(rows))
    waits = len({row.decide_on for row in good if row.decide_on})
    context = {"list": page, "good": good, "past": past, "waits": waits, "at_risk": [] if page.file else at_risk()}
    return page.file or render(request, "items/stock.html", context)


@in_area("Stores")
def consignment(request: HttpRequest, code: str) -> HttpResponse:
    """A consignment: what went, where to, and what is missing."""
    found = get_object_or_404(Consignment.objects.select_related("place__party", "place__station"), code=code)
    return render(request, "items/consignment.html", {"page": consignment_page(found)})


@shown_in("Stores")
def consignment_swap(request: HttpRequest, code: str) -> HttpResponse:
    """Two units that lie in each other's consignment: both are put right in one act."""
    found = get_object_or_404(Consignment.objects.select_related("place__party", "place__station"), code=code)
    page = consignment_page(found)
    form = SwapConsignedForm(request, page.units)
    if form.acted(lambda said: swap_consigned(**form.told(), said=said)):
        swap = form.made
        messages.success(request, f"{swap.other.code} is listed here now, and {swap.one.code} where it lies.")
        return redirect("items:consignment", code=found.code)
    return form.page("items/consignment_swap.html", {"page": page})


@in_area("Stores")
def out_and_back(request: HttpRequest) -> HttpResponse:
    """Consignments, and tanks and bins."""
    rows, asked = consignment_rows(), ConsignmentFilter(request.GET)
    page = list_page(request, ConsignmentTable(asked.kept(rows)), name="consignments", filtered=asked, total=len(rows))
    return page.file or render(request, "items/out_and_back.html", {"list": page, "tanks": tanks()})


@shown_in("Stores")
def count(request: HttpRequest) -> HttpResponse:
    """Count what lies at a place, without being told what should."""
    places = places_with_lots()
    asked = request.GET.get("place", "")
    place = asked if asked in places else next(iter(places), "")
    form = CountForm(request, lots_at(place) if place else [])
    if form.acted(lambda said: count_stock(form.told(), scale=form.scale_code, said=said)):
        off = sum(bool(one.difference) for one in form.made)
        words = f"{off} of {len(form.made)} differ from the records: say why." if off else "All is as the records say."
        messages.add_message(request, messages.WARNING if off else messages.SUCCESS, f"Counted. {words}")
        return redirect("items:counts")
    return form.page("items/count.html", {"places": places, "at": place, "place": places.get(place, "")})


@in_area("Stores")
def counts(request: HttpRequest) -> HttpResponse:
    """What was counted, beside what the records said; as a page or a file."""
    rows, asked = count_rows(), CountFilter(request.GET)
    page = list_page(request, CountTable(asked.kept(rows)), name="counts", filtered=asked, total=len(rows))
    context = {"list": page, "waits": sum(row.waits for row in rows), "any": bool(rows)}
    return page.file or render(request, "items/counts.html", context)


def _explained(reason: CountReason) -> str:
    """What became of a difference by its reason, and what is still to be done about it."""
    loss = Loss.objects.filter(entry=reason.entry).first()
    if loss is not None:
        part = reason.count.item.part
        return f"Kept. {print_amount(loss.amount or 0, part.unit, part.unit_kind)} are written off by it."
    is_unlogged = reason.why == CountReason.Why.UNLOGGED
    return (
        f"Kept. {'Log the draw now, with the time at which it was made: that closes the gap.' if is_unlogged else ''}"
    )


@shown_in("Stores")
def count_explain(request: HttpRequest, number: int) -> HttpResponse:
    """Say why a count differs from the records."""
    found = get_object_or_404(StockCount.objects.select_related("item__state", "item__revision__part"), pk=number)
    form = ExplainForm(request)
    if form.acted(lambda said: explain_count(found, **{n: form.cleaned_data[n] for n in ("why", "words")}, said=said)):
        messages.success(request, _explained(form.made))
        return redirect("items:counts")
    balance = balanced(found.item)
    is_last = balance is not None and balance.count == found
    return form.page(
        "items/count_explain.html", {"count": found, "balance": balance_bar(balance) if balance and is_last else None}
    )
