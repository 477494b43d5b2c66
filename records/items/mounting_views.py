"""Pages of what is mounted at a machine's heads, and of what was wound there."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect

from plant.catalogue.models import Part
from plant.people.areas import shown_in
from records.ledger.acts import Said

from .actions import mount_lot, tell_wound, withdraw
from .falling_away import ask_second, barred_among, with_all_in
from .lot_views import lot_here, tell_marks
from .models import FeedEntry, FeedUse, Link
from .mounting_forms import MountForm, WoundForm
from .right_forms import UndoneBesideForm
from .right_views import thing_here


@shown_in("Stores")
def lot_mount(request: HttpRequest, code: str) -> HttpResponse:
    """A lot was mounted at a head, at a moment that nobody knows better than between two."""
    lot = lot_here(code)
    form = MountForm(request)
    if form.acted(lambda said: mount_lot(lot=lot.code, **form.told(), said=said)):
        messages.success(request, f"{lot.code} is mounted at {form.made.station}, {form.made.head}.")
        tell_marks(request, form)
        return redirect("items:lot", code=lot.code)
    lead = (
        "Where spools are changed while a machine runs, nobody knows the moment: what was wound there between the two "
        "may hold either. It counts for what is told as wound at that head."
    )
    told = {"lot": lot, "finding": "Mount it at a head", "press": "It is mounted", "lead": lead, "left": ""}
    return form.page("items/lot_form.html", told)


@shown_in("Trace")
def unit_wound(request: HttpRequest, code: str) -> HttpResponse:
    """A preform was wound from what was mounted at a head."""
    unit = thing_here(code)
    if unit.part.kind != Part.Kind.PREFORM:
        raise Http404(f"{code} is no preform.")
    form = WoundForm(request)
    if form.acted(lambda said: tell_wound(unit.code, **form.told(), said=said)):  # type: ignore[arg-type]
        messages.success(request, f"What was mounted there then is in {unit.code}.")
        tell_marks(request, form)
        return redirect("items:inputs", code=unit.code)
    lead = (
        "Every lot that was certainly mounted meanwhile is in it, and each that may have been counts as possible. What "
        "is told later of that head is worked out afresh."
    )
    told = {"thing": unit, "finding": "Wound from what was mounted", "press": "It was wound there", "lead": lead}
    return form.page("items/thing_form.html", told)


@shown_in("Stores")
def feed_withdraw(request: HttpRequest, of: UUID) -> HttpResponse:
    """A lot was not mounted, or a preform not wound there: what followed from it is worked out without it."""
    line = _line_of(of)
    at_stake = _at_stake(line)
    form = UndoneBesideForm(request, needs_second=bool(barred_among(at_stake)))

    def take_back(said: Said) -> object:
        ask_second(at_stake, form.act, said)
        return withdraw(of, words=form.cleaned_data["words"], said=said)

    if form.acted(take_back):
        messages.success(request, "Taken back. It stays readable, and every trace goes by what is left.")
        if isinstance(form.made, FeedEntry):
            return redirect("items:lot", code=form.made.item.code)
        return redirect("items:inputs", code=form.made.unit.code)
    if line is None:
        raise Http404("This entry told of nothing mounted or wound that still stands.")
    thing = line.item if isinstance(line, FeedEntry) else line.unit
    lead = "What followed from it falls away. Both stay readable, and a hold stays until it is lifted."
    told = {"thing": thing, "finding": "It was not so", "press": "Take it back", "lead": lead}
    return form.page("items/thing_form.html", told)


def _line_of(of: UUID) -> FeedEntry | FeedUse | None:
    """What an entry told as mounted or wound and still stands; a winding that made a unit ends with that alone."""
    mounted = FeedEntry.objects.standing().filter(entry__key=of).select_related("item__state").first()
    wound = FeedUse.objects.standing().filter(entry__key=of, entry__kind="use told late").select_related("unit__state")
    return mounted or wound.first()


def _at_stake(line: FeedEntry | FeedUse | None) -> set[int]:
    """Everything that may fall away with a line."""
    if line is None:
        return set()
    if isinstance(line, FeedEntry):
        return with_all_in(line.item)
    links = Link.objects.standing().filter(child=line.unit, feed__isnull=False).select_related("parent")
    return {number for link in links for number in with_all_in(link.parent)}
