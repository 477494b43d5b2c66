"""Pages on which it is put right what went into what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from plant.catalogue.models import Part
from plant.codes import fold
from plant.people.areas import shown_in
from plant.people.queries import works_zone
from records.ledger.acts import Said
from records.ledger.refusals import Refused

from .actions import correct_link, correct_receipt, tell_use_late, withdraw
from .actions.correcting import entry_of, standing_line, standing_links
from .falling_away import ask_second, barred_among, with_all_in
from .lot_views import lot_here, tell_marks
from .lots import tank_page
from .models import FeedUse, Item, LifeEntry, Link, Receipt, TankEntry
from .queries import HERE, find_item, item_by_code
from .right_forms import LateForm, ReceiptRightForm, RightForm, UndoneForm
from .telling import WAS


def thing_here(code: str) -> Item:
    """The lot or unit of an address, or 404."""
    try:
        return item_by_code(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused


def inputs(request: HttpRequest, code: str) -> HttpResponse:
    """What went into a thing by what was scanned, each to be put right, and the way to tell of more."""
    thing = thing_here(code)
    links = (
        Link.objects.newest()
        .filter(child=thing, status=Link.Status.STANDS)
        .select_related("first__entry", "entry__by__name_words", "parent__state", "parent__revision__part", "words")
    )
    told = list(links.order_by("at", "pk"))
    context = {
        "thing": thing,
        "scanned": [(link, (link.first or link).entry.key) for link in told if not (link.draw_id or link.feed_id)],
        "worked_out": [link for link in told if link.draw_id or link.feed_id],
        "takes_more": thing.part.kind != Part.Kind.BLADDER,
        "wound": FeedUse.objects.standing()
        .filter(unit=thing, entry__kind="use told late")
        .select_related("station", "entry"),
        "is_here": thing.kind == Part.Tracked.UNIT and thing.state.where == HERE,
    }
    return render(request, "items/inputs.html", context)


def input_correct(request: HttpRequest, of: UUID, was: str) -> HttpResponse:
    """Something that was scanned did not go in: something else did, or nothing."""
    barred = barred_among(_all_in(was))
    form = RightForm(request, needs_second=bool(barred))

    def put_right(said: Said) -> Link | TankEntry:
        right = find_item(form.cleaned_data["right"]) if form.is_other else None
        ask_second(_all_in(was) - (with_all_in(right) if right else set()), form.act, said)
        if form.is_other:
            made = correct_link(of, form.correction(was), words=form.cleaned_data["words"], said=said)
        else:
            made = withdraw(of, was=was, words=form.cleaned_data["words"], said=said)  # type: ignore[assignment]
        return made[0] if isinstance(made, Sequence) else made

    if not form.acted(put_right):
        return form.page("items/input_correct.html", {"about": _scanned(of, was), "was": fold(was), "barred": barred})
    found: Link | TankEntry = form.made
    told = "Put right. " if form.is_other else "Taken back. "
    messages.success(request, f"{told}{fold(was)} stays readable beside it, and a hold stays until it is lifted.")
    tell_marks(request, form)
    if isinstance(found, TankEntry):
        made = Link.objects.filter(parent=found.item).order_by("pk").last() if found.kind == found.Kind.DRAW else None
        return redirect("items:inputs", code=made.child.code) if made else redirect("items:tank", code=found.tank.code)
    return redirect("items:inputs", code=found.child.code)


def _all_in(was: str) -> set[int]:
    """What was scanned with everything in it, by number."""
    item = find_item(was)
    return with_all_in(item) if item is not None else set()


@dataclass(frozen=True)
class Scanned:
    """What was scanned into a thing or charged into a tank, and where it is by that. [steps]"""

    taken: Item
    amount: int | None
    at: datetime
    where: str
    is_charge: bool


def _scanned(of: UUID, was: str) -> Scanned:
    """What an address names, or 404 where it no longer stands."""
    try:
        entry = entry_of(of)
        line = standing_line(entry, was)
        charge = line if line is not None and line.kind == TankEntry.Kind.CHARGE else None
        links = [] if charge is not None else standing_links(entry, was)
    except Refused as refused:
        raise Http404(str(refused)) from refused
    if charge is not None and charge.item is not None:
        return Scanned(charge.item, charge.amount, charge.at, charge.tank.code, is_charge=True)
    if not links:
        raise Http404(f"This entry made no link to {was} that still stands.")
    return Scanned(links[0].parent, links[0].amount, links[0].at, links[0].child.code, is_charge=False)


def input_late(request: HttpRequest, code: str) -> HttpResponse:
    """Something went in and nobody logged it."""
    thing = thing_here(code)
    form = LateForm(request)
    if form.acted(
        lambda said: tell_use_late(thing.code, lot=form.input(), words=form.cleaned_data["words"], said=said)
    ):
        messages.success(request, f"{form.made.parent.code} is in {thing.code} now, as of when it went in.")
        tell_marks(request, form)
        return redirect("items:inputs", code=thing.code)
    return form.page("items/input_late.html", {"thing": thing})


def _cleaning(of: UUID) -> TankEntry:
    """The cleaning that an entry told of, or 404 where it no longer stands."""
    try:
        line = standing_line(entry_of(of))
    except Refused as refused:
        raise Http404(str(refused)) from refused
    if line is None or line.kind != TankEntry.Kind.CLEAN:
        raise Http404("This entry told of no cleaning that still stands.")
    return line


def clean_withdraw(request: HttpRequest, of: UUID) -> HttpResponse:
    """A cleaning that was told of was not done: the lots before it count again."""
    form = UndoneForm(request)
    if form.acted(lambda said: withdraw(of, words=form.cleaned_data["words"], said=said)):
        tank = form.made.tank
        messages.success(request, f"{tank.code} was not cleaned: what was drawn since may hold every lot before, too.")
        return redirect("items:tank", code=tank.code)
    tank = _cleaning(of).tank
    told = {
        "page": tank_page(tank),
        "finding": "Take a cleaning back:",
        "press": "It was not cleaned",
        "lead": "What was drawn since may then hold every lot from before, and stands in its traces again.",
    }
    return form.page("items/tank_form.html", told)


@shown_in("Stores")
def receipt_correct(request: HttpRequest, code: str) -> HttpResponse:
    """What was written of a delivery is put right."""
    lot = lot_here(code)
    receipt = Receipt.objects.standing().filter(item=lot).order_by("-pk").first()
    if receipt is None:
        raise Http404(f"No delivery of {code} is on file.")
    form = ReceiptRightForm(request, receipt)
    if form.acted(lambda said: correct_receipt(lot.code, form.right(), words=form.cleaned_data["words"], said=said)):
        is_day = form.made.expires_on != receipt.expires_on
        again = " Print its label again: the day on it is wrong." if is_day else ""
        messages.success(request, f"Put right. What was booked in stays readable.{again}")
        tell_marks(request, form)
        return redirect("items:lot", code=lot.code)
    lead = "Both stay readable. What was set apart or split off it ends with it. Another person makes its life longer."
    told = {"lot": lot, "finding": "Put its delivery right", "press": "Put it right", "lead": lead, "left": ""}
    return form.page("items/lot_form.html", told)


def keeping_withdraw(request: HttpRequest, of: UUID) -> HttpResponse:
    """A line of how a lot was kept was told by mistake: its times are worked out without it."""
    form = UndoneForm(request)
    if form.acted(lambda said: withdraw(of, words=form.cleaned_data["words"], said=said)):
        messages.success(request, "Taken back. It stays readable, and the lot’s times are worked out without it.")
        return redirect("items:lot", code=form.made.item.code)
    line = LifeEntry.objects.standing().filter(entry__key=of).select_related("item__state").first()
    if line is None:
        raise Http404("This entry told nothing of how a lot was kept that still stands.")
    lead = f"By the records it was {WAS[line.what]}, {line.at.astimezone(works_zone()):%-d %b %H:%M}."
    told = {"lot": line.item, "finding": "This was not done", "press": "Take it back", "lead": lead, "left": ""}
    return form.page("items/lot_form.html", told)
