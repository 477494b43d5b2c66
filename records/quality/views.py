"""Review: what waits for a decision, and the pages on which it is decided."""

from __future__ import annotations

from urllib.parse import urlencode
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from plant.catalogue.models import Part
from plant.catalogue.queries import route_of
from plant.lists import list_page
from plant.people.areas import areas_of, in_area
from plant.people.models import Person
from plant.scans import opened
from records.items.actions import confirm_swap
from records.items.models import LabelSwap
from records.items.queries import find_item
from records.ledger.actions import erase_words, settle_unplaced
from records.ledger.clock import clock
from records.ledger.models import Flag, Unplaced
from records.ledger.photos import photos_of
from records.steps.actions import put_aside, send_to_rework
from records.steps.due import due_now

from .actions import answer_flag, countersign_departure, decide_departure, note_departure, swap_labels
from .bench import looked_at, marked, matters, to_look_at
from .forms import (
    AsideForm,
    ConfirmForm,
    CountersignForm,
    DecideForm,
    DepartureForm,
    EraseForm,
    FlagForm,
    ReworkForm,
    SettleForm,
    SwapForm,
)
from .models import BECAME, Disposition, Nonconformance, OwnerReport
from .past import decided
from .queries import entries_near
from .tables import DecidedFilter, DecidedTable


@in_area("Review")
def bench(request: HttpRequest) -> HttpResponse:
    """Everything that waits for a decision, the oldest first."""
    now = clock.now()
    context = {"matters": matters(), "flags": to_look_at(), "answered": looked_at()}
    context["due"] = [one.words(now) for one in due_now(now)]
    return render(request, "quality/bench.html", context)


def _find(request: HttpRequest, code: str) -> HttpResponse:
    """What is not on file just so is read where every scan of a desk is: it leads on, or says what is wrong with it."""
    if request.method != "GET" or not any(area.word == "Trace" for area in areas_of(request.user)):  # type: ignore[arg-type]
        raise Http404(f"No such code here: {code}.")
    return redirect(f"{reverse('trace:find')}?{urlencode({'code': code})}")


@in_area("Review")
def past(request: HttpRequest) -> HttpResponse:
    """What was decided, the latest first; as a page or a file."""
    rows, asked = decided(), DecidedFilter(request.GET)
    page = list_page(request, DecidedTable(asked.kept(rows)), name="decided", filtered=asked, total=len(rows))
    return page.file or render(request, "quality/past.html", {"list": page, "last": next(iter(rows), None)})


def departure_note(request: HttpRequest, code: str) -> HttpResponse:
    """Note a departure on an item."""
    item = find_item(opened(code))
    if item is None:
        return _find(request, code)
    form = DepartureForm(request)
    wanted = ("defect", "words")
    if form.acted(lambda said: note_departure(item.code, **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        messages.success(request, f"{form.made.code} is noted on {item.code}.")
        sees_review = any(area.word == "Review" for area in areas_of(request.user))  # type: ignore[arg-type]
        return redirect("quality:departure", code=form.made.code) if sees_review else redirect("home")
    return form.page("quality/departure_note.html", {"item": item})


def unit_aside(request: HttpRequest, code: str) -> HttpResponse:
    """Put something on the red shelf until Review decides."""
    item = find_item(opened(code))
    if item is None:
        return _find(request, code)
    form = AsideForm(request)
    if form.acted(lambda said: put_aside(item.code, words=form.cleaned_data["words"], said=said)):
        messages.success(request, f"{item.code} is held on the red shelf. Review decides.")
        return redirect("trace:unit", code=item.code)
    effect = (
        "It counts as lying on the red shelf and is held: no use, step, send-out or shipping. Review alone lifts that."
    )
    return form.page(
        "quality/unit_act.html",
        {"item": item, "finding": f"Put {item.code} aside", "effect": effect, "press": "Put it aside"},
    )


def unit_rework(request: HttpRequest, code: str) -> HttpResponse:
    """Send a unit back to a step of its route."""
    item = find_item(opened(code))
    if item is None or item.kind != Part.Tracked.UNIT:
        return _find(request, code)
    form = ReworkForm(request, [step.name for step in route_of(item.part, item.born_at)[1:]])
    wanted = ("step", "words")
    if form.acted(lambda said: send_to_rework(item.code, **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        messages.success(request, f"{item.code} goes back to {form.cleaned_data['step']}.")
        return redirect("trace:unit", code=item.code)
    effect = "That step and those after it are done once more. What is on file of them stays, and no hold is lifted."
    return form.page(
        "quality/unit_act.html",
        {"item": item, "finding": f"Send {item.code} to rework", "effect": effect, "press": "Send it back"},
    )


@in_area("Review")
def departure(request: HttpRequest, code: str) -> HttpResponse:
    """A departure, and what was decided on it."""
    found = (
        Nonconformance.objects.newest().filter(code=code).select_related("item__state", "words", "entry__by").first()
    )
    if found is None:
        return _find(request, code)
    decision = getattr(found, "disposition", None)
    countersign = getattr(decision, "countersign", None)
    as_is = decision is not None and decision.choice == Disposition.Choice.AS_IS
    context = {
        "departure": found,
        "decision": decision,
        "became": BECAME.get(decision.choice, "done") if decision else "",
        "countersign": countersign,
        "waits_for_second": as_is and countersign is None,
        "photos": photos_of([found.entry_id])[found.entry_id],
        "report": OwnerReport.objects.filter(departure=found).select_related("contact").first(),
    }
    return render(request, "quality/departure.html", context)


@in_area("Review")
def contact_erase(request: HttpRequest, code: str) -> HttpResponse:
    """Erase whom to answer about a report, for good."""
    contact = get_object_or_404(OwnerReport.objects.select_related("contact"), departure__code=code).contact
    if contact is None:
        raise Http404("Nobody told whom to answer.")
    form = EraseForm(request)
    if form.acted(lambda said: erase_words(contact, reason=form.cleaned_data["reason"], said=said)):
        messages.success(request, f"Whom to answer about {code} is erased.")
        return redirect("quality:departure", code=code)
    return form.page("quality/contact_erase.html", {"code": code})


@in_area("Review")
def departure_decide(request: HttpRequest, code: str) -> HttpResponse:
    """Decide what becomes of a departure."""
    found = get_object_or_404(Nonconformance.objects.newest(), code=code)
    form = DecideForm(request)
    wanted = ("choice", "words")
    if form.acted(lambda said: decide_departure(code, **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        messages.success(request, f"{code} is decided.")
        return redirect("quality:departure", code=code)
    return form.page("quality/departure_decide.html", {"departure": found})


@in_area("Review")
def departure_countersign(request: HttpRequest, code: str) -> HttpResponse:
    """Agree as a second person."""
    found = get_object_or_404(Nonconformance.objects.newest(), code=code)
    form = CountersignForm(request)
    if form.acted(lambda said: countersign_departure(code, said=said)):
        messages.success(request, f"{code} is countersigned.")
        return redirect("quality:departure", code=code)
    context = {"departure": found, "decision": getattr(found, "disposition", None)}
    return form.page("quality/departure_countersign.html", context)


@in_area("Review")
def unplaced_settle(request: HttpRequest, entry: UUID) -> HttpResponse:
    """Settle an entry that could not be placed."""
    found = get_object_or_404(Unplaced.objects.select_related("entry"), entry__key=entry)
    form = SettleForm(request, entries_near(found))
    wanted = ("placed_by", "reason")
    if form.acted(lambda said: settle_unplaced(found, **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        messages.success(request, "The entry is settled.")
        return redirect("quality:bench")
    by = Person.objects.filter(pk=found.said_by).select_related("name_words").first()
    return form.page("quality/unplaced_settle.html", {"unplaced": found, "by": by})


@in_area("Review")
def flag_answer(request: HttpRequest, flag: int) -> HttpResponse:
    """Say what was found behind an entry that was kept and marked."""
    found = get_object_or_404(Flag.objects.select_related("entry__by__name_words"), pk=flag)
    form = FlagForm(request)
    wanted = ("found", "words")
    if form.acted(lambda said: answer_flag(found, **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        messages.success(request, "Your answer is kept beside the entry.")
        return redirect("quality:bench")
    return form.page("quality/flag_answer.html", {"flag": marked(found)})


@in_area("Review")
def labels_swap(request: HttpRequest) -> HttpResponse:
    """Put two swapped labels right."""
    form = SwapForm(request)
    wanted = ("since", "words")

    if form.acted(
        lambda said: swap_labels(
            form.cleaned_data["one"],
            form.cleaned_data["other"],
            **{n: form.cleaned_data[n] for n in wanted},
            said=said,
        )
    ):
        messages.success(request, "Links, steps and readings have gone over. Both are held until two people confirm.")
        return redirect("quality:bench")
    return form.page("quality/labels_swap.html")


def swap_confirm(request: HttpRequest, swap: UUID) -> HttpResponse:
    """Say how one knows which of two swapped units is which."""
    found = get_object_or_404(LabelSwap.objects.select_related("one__state", "other__state"), entry__key=swap)
    form = ConfirmForm(request)
    if form.acted(lambda said: confirm_swap(found, words=form.cleaned_data["words"], said=said)):
        messages.success(request, "Your confirmation is kept. Two people's free both units.")
        return redirect("home")
    return form.page("quality/swap_confirm.html", {"swap": found})
