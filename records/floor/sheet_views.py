"""Review on bad days: emergency sheets printed, typed in line by line, and given back."""

from __future__ import annotations

from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from plant.equipment.models import Station
from plant.people.acting import ActForm, PhotoField, one_of, speak_plainly
from plant.people.areas import in_area
from plant.people.models import Person
from plant.people.queries import works_zone
from plant.people.rights import not_yours
from plant.times import read_time
from records.items.queries import find_item
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.trace.handing_over import as_download

from .actions import print_sheet, return_sheet
from .models import EmergencySheet, SheetReturn
from .on_paper import NO_PHOTO
from .sheet_paper import facts_of, sheet_pdf
from .sheets import LineHere, entered_counts, lines_of, sheet_by_code, sheets_out

LATEST = 12


def sheet_here(code: str) -> EmergencySheet:
    """The sheet of an address, or 404."""
    try:
        return sheet_by_code(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused


class PrintForm(ActForm):
    """A sheet for one station."""

    act = "sheet printed"

    station = forms.ModelChoiceField(Station.objects.order_by("kind", "code"), to_field_name="code")


class ReturnForm(ActForm):
    """A sheet is back."""

    act = "sheet returned"

    lines = forms.IntegerField(label="Lines that are filled in", help_text="0 where it came back empty.", min_value=0)
    words = forms.CharField(label="What is to be said of it", required=False, max_length=200)


@in_area("Review")
def bad_days(request: HttpRequest) -> HttpResponse:
    """What helps on a bad day, and the sheets that are out."""
    out = list(sheets_out())
    entered = entered_counts(out)
    back = SheetReturn.objects.select_related("sheet__station", "entry__by__name_words", "words").order_by("-pk")
    context = {
        "out": [(sheet, entered.get(sheet.code, 0)) for sheet in out],
        "back": back[:LATEST],
    }
    return render(request, "floor/bad_days.html", context)


@in_area("Review")
def sheet_print(request: HttpRequest) -> HttpResponse:
    """Print a sheet for a station."""
    form = PrintForm(request)
    if form.acted(lambda said: print_sheet(form.cleaned_data["station"].code, said=said)):
        messages.success(request, f"{form.made.code} is made. Print it; it counts as out from now on.")
        return redirect("days:sheet", code=form.made.code)
    return form.page("floor/sheet_print.html")


@in_area("Review")
def sheet(request: HttpRequest, code: str) -> HttpResponse:
    """One sheet: its lines and what was typed in from them."""
    found = sheet_here(code)
    lines = lines_of(found)
    typed = sum(bool(line.entries) for line in lines)
    back = SheetReturn.objects.filter(sheet=found).select_related("entry__by__name_words", "words").first()
    return render(request, "floor/sheet.html", {"sheet": found, "lines": lines, "typed": typed, "back": back})


@in_area("Review")
def sheet_file(_: HttpRequest, code: str) -> HttpResponse:
    """The sheet as a file; it stays as it was printed."""
    found = sheet_here(code)
    return as_download(sheet_pdf(facts_of(found)), "sheet", found.code)


@in_area("Review")
def sheet_return(request: HttpRequest, code: str) -> HttpResponse:
    """Take a sheet back."""
    found = sheet_here(code)
    form = ReturnForm(request)
    wanted = ("lines", "words")
    if form.acted(lambda said: return_sheet(found, **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        messages.success(request, f"{found.code} is back.")
        return redirect("days:sheet", code=found.code)
    return form.page("floor/sheet_return.html", {"sheet": found})


class LineForm(forms.Form):
    """What stands on one line of the paper; the step's own questions follow on the floor's screens."""

    unit = forms.CharField(label="Code of the unit", help_text="As it is written or stuck on the line.")
    at = forms.CharField(
        label="Day and time on the paper",
        help_text="By the works' clock.",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
    )
    by = forms.ModelChoiceField(
        Person.objects.filter(login=True).select_related("name_words").order_by("badge"),
        label="Whose initials stand there",
        to_field_name="badge",
        empty_label="Choose",
    )

    photo = PhotoField("Photo of the paper", help_text="The whole sheet, so that the line can be read.")
    no_photo = one_of(NO_PHOTO.items(), "Or no photo of it can be made, because", required=False)

    def __init__(self, here: LineHere, data: object = None, files: object = None) -> None:
        super().__init__(data, files)  # type: ignore[arg-type]
        self.here = here
        for field in self.fields.values():
            speak_plainly(field)
        for name in ("photo", "no_photo"):
            self.fields[name].one_of = True  # type: ignore[attr-defined]  # the template tells no field that may stay empty
        if here.makes or here.line.unit is not None:
            del self.fields["unit"]

    def clean_at(self) -> str:
        """The moment on the paper, with its offset."""
        try:
            moment = read_time(self.cleaned_data["at"], works_zone())
        except Refused as refused:
            raise ValidationError(str(refused)) from refused
        if moment > clock.now():
            raise ValidationError("This is still to come. Read the day and the time on the paper again.")
        return moment.isoformat()

    def clean(self) -> dict[str, object]:
        """The paper is shown, or it is said why not."""
        told = super().clean() or {}
        if not self.errors.get("photo") and not told.get("photo") and not told.get("no_photo"):
            self.add_error("photo", "Take a photo of the paper, or say below why none can be made.")
        return told

    def clean_unit(self) -> str:
        """The unit that the paper names."""
        found = find_item(self.cleaned_data["unit"])
        if found is None:
            raise ValidationError("No such code here. Look at the paper again.")
        return found.code


@in_area("Review")
def line_enter(request: HttpRequest, code: str, n: int) -> HttpResponse:
    """Type one line in: whose it is and when, then the step's own questions at the station."""
    if not request.user.may("step done"):  # type: ignore[union-attr]  # nobody else is let in
        raise PermissionDenied(not_yours("step done"))
    found = sheet_here(code)
    here = next((one for one in lines_of(found) if one.line.n == n), None)
    if here is None:
        raise Http404(f"{found.code} has no line {n}.")
    form = LineForm(here, *((request.POST, request.FILES) if request.method == "POST" else ()))
    if form.is_bound and form.is_valid():
        return redirect(_walk_from(found, here, form))
    return render(request, "floor/line_enter.html", {"sheet": found, "here": here, "form": form})


def _walk_from(found: EmergencySheet, here: LineHere, form: LineForm) -> str:
    """Address of the step's first question, with what the paper says."""
    told, line = form.cleaned_data, here.line
    paper = {"sheet": found.code, "line": line.n, "paper_at": told["at"], "paper_by": told["by"].badge}
    paper |= {"paper_photo": told["photo"]} if told["photo"] else {"paper_no_photo": told["no_photo"]}
    if here.makes:
        return _log(found, "make", {"part": line.operation.route_revision.part.number, **paper})
    unit = line.unit.code if line.unit else told["unit"]
    return _log(found, "step", {"unit": unit, "operation": line.operation.name, **paper})


def _log(found: EmergencySheet, name: str, told: dict[str, object]) -> str:
    return f"{reverse('floor:log', args=[found.station.code, name])}?{urlencode(told)}"
