"""Review of what tablets kept: entries that could not be taken, and those judged by other rules than shown."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from plant.people.acting import ActForm, one_of
from plant.people.areas import in_area
from records.ledger.models import Unplaced
from records.quality.forms import reason

from .actions import answer_difference
from .differing import compared, sentence, to_compare, units_of
from .kept import not_taken
from .models import Difference, DifferenceAnswer


@in_area("Review")
def kept_list(request: HttpRequest) -> HttpResponse:
    """Entries to be looked at, the oldest first."""
    differences = list(to_compare())
    units = units_of(differences)
    rows = [(row, sentence(row), units.get(row.about_id, "")) for row in differences]
    return render(request, "floor/kept_list.html", {"not_taken": not_taken(), "differences": rows})


@in_area("Review")
def kept_entry(request: HttpRequest, entry: UUID) -> HttpResponse:
    """One entry that could not be taken: what was sent, field by field."""
    found = get_object_or_404(Unplaced.objects.select_related("entry"), entry__key=entry)
    (told,) = not_taken([found])
    return render(request, "floor/kept_entry.html", {"told": told, "settled": getattr(found, "settled", None)})


class DifferenceForm(ActForm):
    """What was found by comparing the two rules."""

    act = "difference answered"

    found = one_of(DifferenceAnswer.Found.choices, "What you found")
    words = reason("In words")


@in_area("Review")
def difference(request: HttpRequest, number: int) -> HttpResponse:
    """One entry under both rules, and what is said of it."""
    row = get_object_or_404(
        Difference.objects.select_related(
            "about__by__name_words", "measurement__characteristic_revision__characteristic"
        ),
        pk=number,
    )
    form = DifferenceForm(request)
    wanted = ("found", "words")
    if form.acted(lambda said: answer_difference(row, **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        messages.success(request, "Your answer is kept beside the entry.")
        return redirect("days:kept_list")
    answers = DifferenceAnswer.objects.filter(difference=row).select_related("words", "entry__by__name_words")
    may = request.user.may(form.act)  # type: ignore[union-attr]  # nobody else is let in
    if request.method == "POST":
        form.ask_right()
    context = {
        "row": row,
        "finding": sentence(row),
        "unit": units_of([row]).get(row.about_id, ""),
        "compared": compared(row),
        "answer": answers.first(),
        "form": form,
        "may": may,
    }
    return render(request, "floor/difference.html", context)
