"""Pages of the stores: what is on the shelf, a delivery booked in, a lot accepted or rejected."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from plant.catalogue.models import Part
from plant.catalogue.queries import tank_by_code
from plant.lists import list_page
from plant.people.acting import ActForm
from plant.people.areas import in_area, shown_in
from plant.quantities import print_amount
from records.ledger.acts import Said
from records.ledger.refusals import Refused

from .actions import count_stock, explain_count, receive_lot, scrap, split_lot
from .counting import count_rows, lots_at, places_with_lots
from .forms import CountForm, DecideForm, ExplainForm, ReceiveForm, ScrapForm, SplitForm
from .lots import consignment_page, consignment_rows, lot_page, tank_page, tanks
from .making import Input
from .models import Consignment, Item, StockCount
from .queries import decision_on, find_item, stock_rows
from .tables import ConsignmentFilter, ConsignmentTable, CountFilter, CountTable, StockFilter, StockTable
from .telling import kept_words


@in_area("Stores")
def stock(request: HttpRequest) -> HttpResponse:
    """Lots with something left, nearest end first; as a page or a file."""
    rows = stock_rows()
    asked = StockFilter(request.GET, rows)
    good, past = ([row for row in rows if row.is_past is ended] for ended in (False, True))
    page = list_page(request, StockTable(asked.kept([*good, *past])), name="shelf", filtered=asked, total=len(rows))
    waits = sum(row.state == "quarantine" for row in good)
    return page.file or render(request, "items/stock.html", {"list": page, "good": good, "past": past, "waits": waits})


@shown_in("Stores")
def lot_receive(request: HttpRequest) -> HttpResponse:
    """Book a delivery in, into quarantine."""
    form = ReceiveForm(request)
    if form.acted(lambda said: receive_lot(form.cleaned_data["code"], form.delivery(), said=said)):
        messages.success(request, f"{form.made.code} is in quarantine. Stick its label on.")
        tell_marks(request, form)
        return redirect("items:lot_decide", code=form.made.code)
    return form.page("items/lot_receive.html")


def left_words(lot: Item) -> str:
    """What a lot should still hold, by the records."""
    left = print_amount(lot.state.remaining or 0, lot.part.unit, lot.part.unit_kind)
    return f"By the records {left} are left."


def tell_marks(request: HttpRequest, form: ActForm) -> None:
    """Say what was marked or held by what was just kept."""
    words = kept_words(form.cleaned_data["key"])
    if words:
        messages.warning(request, words)


def lot_here(code: str) -> Item:
    """The lot of an address, or 404."""
    lot = find_item(code)
    if lot is None or lot.kind != Part.Tracked.LOT:
        raise Http404(f"No lot {code} is on file.")
    return lot


@in_area("Stores")
def lot(request: HttpRequest, code: str) -> HttpResponse:
    """One lot: what it is, its certificate, what was split off it, what holds it."""
    return render(request, "items/lot.html", {"page": lot_page(lot_here(code))})


@shown_in("Stores")
def lot_split(request: HttpRequest, code: str) -> HttpResponse:
    """Split an amount off a lot."""
    found = lot_here(code)
    form = SplitForm(request)

    def split(said: Said) -> Item:
        return split_lot(found.code, [Input(form.cleaned_data["code"], form.cleaned_data["amount"])], said=said)[0]

    if form.acted(split):
        messages.success(request, f"{form.made.code} is split off. Stick its label on.")
        tell_marks(request, form)
        return redirect("items:lot", code=form.made.code)
    lead = "It keeps the last good day of the lot that it comes from."
    return form.page(
        "items/lot_form.html",
        {
            "lot": found,
            "finding": "Split an amount off",
            "press": "Split it off",
            "lead": lead,
            "left": left_words(found),
        },
    )


@shown_in("Stores")
def lot_scrap(request: HttpRequest, code: str) -> HttpResponse:
    """Write a lot off, the whole or an amount."""
    found = lot_here(code)
    form = ScrapForm(request)
    if form.acted(
        lambda said: scrap(
            found.code, words=form.cleaned_data["words"], quantity=form.cleaned_data["amount"], said=said
        )
    ):
        messages.success(request, f"Written off from {found.code}.")
        tell_marks(request, form)
        return redirect("items:lot", code=found.code)
    lead = "Old resin and mixed adhesive may heat up by themselves: the marked place, by data sheet and local rules."
    context = {"lot": found, "finding": "Write it off", "press": "Write it off", "lead": lead, "hold": True}
    context["left"] = left_words(found)
    return form.page("items/lot_form.html", context)


@in_area("Stores")
def tank(request: HttpRequest, code: str) -> HttpResponse:
    """A tank or bin: what is in it, and its log."""
    try:
        found = tank_by_code(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused
    return render(request, "items/tank.html", {"page": tank_page(found)})


@in_area("Stores")
def consignment(request: HttpRequest, code: str) -> HttpResponse:
    """A consignment: what went, where to, and what is missing."""
    found = get_object_or_404(Consignment.objects.select_related("place__party", "place__station"), code=code)
    return render(request, "items/consignment.html", {"page": consignment_page(found)})


@in_area("Stores")
def out_and_back(request: HttpRequest) -> HttpResponse:
    """Consignments, and tanks and bins."""
    rows, asked = consignment_rows(), ConsignmentFilter(request.GET)
    page = list_page(request, ConsignmentTable(asked.kept(rows)), name="consignments", filtered=asked, total=len(rows))
    return page.file or render(request, "items/out_and_back.html", {"list": page, "tanks": tanks()})


@shown_in("Stores")
def lot_decide(request: HttpRequest, code: str) -> HttpResponse:
    """Accept or reject a received lot."""
    lot = lot_here(code)
    form = DecideForm(request)
    if form.acted(lambda said: form.decide(lot.code, said)):
        messages.success(request, f"{lot.code} is {form.made.get_decision_display()}.")
        return redirect("items:lot", code=lot.code)
    return form.page("items/lot_decide.html", {"lot": lot, "decision": decision_on(lot), "page": lot_page(lot)})


@shown_in("Stores")
def count(request: HttpRequest) -> HttpResponse:
    """Count what lies at a place, without being told what should."""
    places = places_with_lots()
    asked = request.GET.get("place", "")
    place = asked if asked in places else next(iter(places), "")
    form = CountForm(request, lots_at(place) if place else [])
    if form.acted(lambda said: count_stock(form.told(), said=said)):
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


@shown_in("Stores")
def count_explain(request: HttpRequest, number: int) -> HttpResponse:
    """Say why a count differs from the records."""
    found = get_object_or_404(StockCount.objects.select_related("item__state", "item__revision__part"), pk=number)
    form = ExplainForm(request)
    if form.acted(lambda said: explain_count(found, **{n: form.cleaned_data[n] for n in ("why", "words")}, said=said)):
        messages.success(request, "Kept. What is lost is written off on the lot's page, what was not logged is logged.")
        return redirect("items:counts")
    return form.page("items/count_explain.html", {"count": found})
