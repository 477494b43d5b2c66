"""Pages of what is done to a unit outside a step of its route, and of coupons: each act with its reason."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect

from plant.catalogue.models import Part
from plant.people.acting import ActForm
from plant.people.areas import shown_in
from records.ledger.acts import Said

from .actions import cut_coupon, put_in, renumber, return_frame, take_out
from .falling_away import ask_second, barred_among, with_all_in
from .gates import ask_amount, ask_here
from .lot_views import tell_label, tell_marks
from .models import Item, Link
from .queries import find_item, item_by_code
from .rework_forms import CouponForm, PutInForm, RenumberForm, ReturnForm, TakeOutForm
from .right_views import thing_here

# What can be taken out as it is. Fibre, resin and adhesive can't: what was made with them holds them for good.
COMES_OUT = (*Part.UNIT_KINDS, Part.Kind.INSERT)


def _unit_here(code: str) -> Item:
    """The unit of an address, or 404."""
    unit = thing_here(code)
    if unit.kind != Part.Tracked.UNIT:
        raise Http404(f"No unit is called {code} here.")
    return unit


def _about(thing: Item, form: ActForm, finding: str, press: str, lead: str) -> HttpResponse:
    """The page of one form about a unit or a lot."""
    told: dict[str, Any] = {"thing": thing, "finding": finding, "press": press, "lead": lead}
    return form.page("items/thing_form.html", told)


def inside_of(unit: Item) -> list[Item]:
    """What stands in a unit and can be taken out of it."""
    links = Link.objects.newest().filter(child=unit, status=Link.Status.STANDS, certainty=Link.Certainty.CONFIRMED)
    links = links.filter(parent__revision__part__kind__in=COMES_OUT)
    found = {link.parent.pk: link.parent for link in links.select_related("parent__state", "parent__revision__part")}
    return list(found.values())


@shown_in("Trace")
def unit_take_out(request: HttpRequest, code: str) -> HttpResponse:
    """Something comes out of a unit in rework."""
    unit = _unit_here(code)
    inside = inside_of(unit)
    lots = {item.code: with_all_in(item) for item in inside if item.kind == Part.Tracked.LOT}
    form = TakeOutForm(request, inside, needs_second=bool(barred_among(set().union(*lots.values()))))

    def take(said: Said) -> Link:
        told = form.cleaned_data
        ask_here(unit, said)
        ask_second(lots.get(told["item"], ()), form.act, said)
        return take_out(unit.code, item=told["item"], words=told["words"], station=form.station_code, said=said)

    if form.acted(take):
        messages.success(request, f"{form.made.parent.code} is out of {unit.code}. That it was in stays readable.")
        tell_marks(request, form)
        return redirect("items:inputs", code=unit.code)
    lead = (
        "What comes out is free for use again unless it is held; material is not given back to its lot. A hold stays."
        if inside
        else "By the records nothing is in it that can be taken out."
    )
    return _about(unit, form, "Take something out", "It is out", lead)


@shown_in("Trace")
def unit_put_in(request: HttpRequest, code: str) -> HttpResponse:
    """A unit, or an amount of a lot, goes into a unit in rework."""
    unit = _unit_here(code)
    form = PutInForm(request)

    def put(said: Said) -> Link:
        goes = form.goes_in()
        if "lot" in goes and (lot := find_item(goes["lot"].code)) is not None:
            ask_amount(lot, goes["lot"].quantity, said)
        return put_in(unit.code, **goes, words=form.cleaned_data["words"], station=form.station_code, said=said)

    if form.acted(put):
        messages.success(request, f"{form.made.parent.code} is in {unit.code} now.")
        tell_marks(request, form)
        return redirect("items:inputs", code=unit.code)
    lead = (
        "In rework, beside the steps of its route. It is asked about as at any use; a hold on the unit does not stop "
        "it, and stays."
    )
    return _about(unit, form, "Put something in", "It is in", lead)


@shown_in("Trace")
def coupon_cut(request: HttpRequest, code: str) -> HttpResponse:
    """A coupon is cut from a unit."""
    unit = _unit_here(code)
    form = CouponForm(request)

    def cut(said: Said) -> Item:
        told = form.cleaned_data
        return cut_coupon(told["code"], unit=unit.code, part=told["part"].number, station=form.station_code, said=said)

    if form.acted(cut):
        tell_label(request, f"{form.made.code} is cut from {unit.code}. Stick its label on.", form.made.code)
        tell_marks(request, form)
        return redirect("items:inputs", code=form.made.code)
    lead = (
        "It gets a code of its own and is traced to all that the unit is made of. No hold stops it, and it lifts none. "
        "Cut by local rules for dust and edges."
    )
    return _about(unit, form, "Cut a coupon", "It is cut", lead)


@shown_in("Trace")
def unit_renumber(request: HttpRequest, code: str) -> HttpResponse:
    """A unit gets another number."""
    unit = _unit_here(code)
    form = RenumberForm(request)
    wanted = ("to", "words")
    if form.acted(lambda said: renumber(unit.code, **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        now = item_by_code(form.cleaned_data["to"]).code
        tell_label(request, f"{unit.code} is {now} from now on. Its old number still finds it.", now)
        return redirect("trace:unit", code=now)
    lead = "Every number that it had still finds it, on each list, paper and label. None is given to anything else."
    return _about(unit, form, "Give it another number", "It has this number now", lead)


@shown_in("Trace")
def frame_return(request: HttpRequest, code: str) -> HttpResponse:
    """A frame that was shipped comes back from whoever has it."""
    unit = _unit_here(code)
    form = ReturnForm(request)

    def back(said: Said) -> Any:
        return return_frame(
            unit.code, station=form.cleaned_data["station"].code, words=form.cleaned_data["words"], said=said
        )

    if form.acted(back):
        messages.success(request, f"{unit.code} is here again. Hold it, or note a departure, before it is worked on.")
        tell_marks(request, form)
        return redirect("trace:unit", code=unit.code)
    lead = (
        "It counts as here from now on, with what they say of it. Its release is not undone by that: where there is "
        "any doubt about it, hold it."
    )
    return _about(unit, form, "It comes back from a customer", "It is here", lead)
