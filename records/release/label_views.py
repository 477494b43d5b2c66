"""Labels: those printed, one more that goes to a printer, one scanned back, and those that nobody scanned."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import urlencode
from uuid import uuid5

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from plant.equipment.models import PrinterSetting
from plant.equipment.queries import printer_named, printers
from plant.lists import list_page
from plant.messages import SCANNER_TEST
from plant.papers.label import DENSITIES, label_pdf, labels_pdf
from plant.papers.page import Made
from plant.people.areas import in_area, shown_in
from plant.people.models import Person
from plant.people.rights import not_yours
from plant.printing import send_pdf
from records.items.models import Item
from records.ledger.acts import Said, watched
from records.ledger.refusals import Refused
from records.trace.handing_over import as_download

from .actions import check_label, print_label
from .forms import LabelCheckForm, LabelForm
from .labels import (
    Labelled,
    label_of,
    labelled,
    newest_prints,
    not_scanned_back,
    packages_of,
    prints_of,
    scanner_test_label,
)
from .models import LabelPrint
from .tables import LabelFilter, LabelTable


def thing_of(code: str) -> Labelled:
    """What carries a code, or 404."""
    try:
        return labelled(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused


@shown_in("Stores")
def label(request: HttpRequest, code: str) -> HttpResponse:
    """Labels printed so far, and one more: sent to a printer, or as a file."""
    thing = thing_of(code)
    printed, there = prints_of(thing), printers()
    before = [one for one in printed if str(one.entry.key) != request.POST.get("key")]
    form = LabelForm(request, there, is_again=bool(before))

    def printed_by(said: Said) -> LabelPrint:
        return print_label(thing.code, reason=form.cleaned_data.get("reason", ""), said=said)

    with watched() as acts:
        is_done = form.acted(printed_by)
    if is_done:
        return _handed_over(request, form, form.made, is_again=acts[-1].made)
    return form.page("release/label.html", {"thing": thing, "printed": printed, "densities": DENSITIES})


def _handed_over(request: HttpRequest, form: LabelForm, printed: LabelPrint, *, is_again: bool) -> HttpResponse:
    """The label goes to its printer, or comes as a file; one that no printer took is on file all the same.

    ``is_again``: a second touch of the same press; the label comes out once.
    """
    words = f"Label {printed.copy} of {printed.code} is made. Stick it on and scan it back."
    if not form.printer_chosen:
        messages.success(request, words)
        address = reverse("labels:file", args=[printed.pk])
        return redirect(f"{address}?{urlencode({'dots': form.dots_chosen})}")
    if is_again:
        return redirect("labels:label", code=printed.code)
    try:
        setting = printer_named(form.printer_chosen)
        send_label(printed, setting, by=request.user.badge)  # type: ignore[union-attr]  # nobody else is let in
        messages.success(request, f"{words} {setting} has it.")
    except Refused as refused:
        old = " Leave the old label on until the new one is in your hand." if printed.copy > 1 else ""
        words = f"{refused} Label {printed.copy} is on file all the same: its file stands on this page.{old}"
        messages.warning(request, words)
    return redirect("labels:label", code=printed.code)


def send_label(printed: LabelPrint, setting: PrinterSetting, *, by: str) -> None:
    """Send a label to a printer. Refuses ``printer``."""
    file = label_pdf(label_of(printed), setting.dots_an_inch)
    job = f"label {printed.copy} of {printed.code}"
    send_pdf(file, address=setting.address, printer=str(setting), job=job, by=by)


@shown_in("Stores")
def package_labels(request: HttpRequest, code: str) -> HttpResponse:
    """The first label of every package of a delivery that has none yet, by one press."""
    delivery, packages = _packages_here(code)
    printed = newest_prints(packages)
    without = [package for package in packages if package.pk not in printed]
    form = LabelForm(request, printers(), is_again=False)

    def printed_by(said: Said) -> list[LabelPrint]:
        return [print_label(one.code, said=replace(said, key=uuid5(said.key, one.code))) for one in without]

    if form.acted(printed_by):
        made = form.made
        words = f"{len(made)} label{'' if len(made) == 1 else 's'} made. Stick each on and scan it back."
        messages.success(request, words if made else "Each package has its label: print one again on its own page.")
        if not form.printer_chosen:
            address = reverse("labels:package_file", args=[delivery.code])
            return redirect(f"{address}?{urlencode({'dots': form.dots_chosen})}")
        try:
            setting = printer_named(form.printer_chosen)
            for one in made:
                send_label(one, setting, by=request.user.badge)  # type: ignore[union-attr]  # nobody else is let in
        except Refused as refused:
            messages.warning(request, str(refused))
        return redirect("labels:package_labels", code=delivery.code)
    rows = [(package, printed.get(package.pk)) for package in packages]
    context = {"delivery": delivery, "rows": rows, "without": len(without), "densities": DENSITIES}
    return form.page("release/package_labels.html", context)


@shown_in("Stores")
def package_file(request: HttpRequest, code: str) -> HttpResponse:
    """The newest label of every package of a delivery as one file, a page each."""
    delivery, packages = _packages_here(code)
    printed = newest_prints(packages)
    labels = [label_of(printed[package.pk]) for package in packages if package.pk in printed]
    if not labels:
        raise Http404(f"No package of {code} has a label yet.")
    return as_download(Made(labels_pdf(labels, _dots_asked(request)), len(labels), ()), "package-labels", delivery.code)


def _packages_here(code: str) -> tuple[Labelled, list[Item]]:
    """A delivery and its packages, or 404 where it has none."""
    delivery = thing_of(code)
    packages = packages_of(delivery.item) if delivery.item else []
    if not packages:
        raise Http404(f"{code} came without packages that have a label of their own.")
    return delivery, packages


@shown_in("Stores")
def label_check(request: HttpRequest, code: str) -> HttpResponse:
    """A label scanned back from the thing that it is stuck on."""
    thing = thing_of(code)
    form = LabelCheckForm(request)
    if form.acted(lambda said: check_label(form.cleaned_data["symbol"], of=thing.code, said=said)):
        messages.success(request, f"Label {form.made.printed.copy} of {thing.code} reads back.")
        return redirect("labels:label", code=thing.code)
    return form.page("release/label_check.html", {"thing": thing})


@in_area("Stores")
def label_list(request: HttpRequest) -> HttpResponse:
    """Labels that were printed and that nobody has scanned back."""
    asked = LabelFilter(request.GET, not_scanned_back())
    page = list_page(request, LabelTable(asked.qs), name="labels-not-scanned-back", filtered=asked)
    return page.file or render(request, "release/label_list.html", {"list": page, "densities": DENSITIES})


@in_area("Stores")
def scanner_test(request: HttpRequest) -> HttpResponse:
    """The set-up test label of scanners as a file, for a printer of so many dots an inch."""
    made = Made(label_pdf(scanner_test_label(), _dots_asked(request)), 1, ())
    return as_download(made, "label", SCANNER_TEST)


def _dots_asked(request: HttpRequest) -> int:
    dots = request.GET.get("dots", str(DENSITIES[0]))
    if dots not in map(str, DENSITIES):
        raise Http404(f"No label is made for {dots} dots an inch.")
    return int(dots)


@shown_in("Stores")
def label_file(request: HttpRequest, number: int) -> HttpResponse:
    """One label as a file at its exact size, for a printer of so many dots an inch; or the one for its owner."""
    printed = get_object_or_404(LabelPrint, pk=number)
    is_badge = Person.objects.filter(badge=printed.thing).exists()
    if is_badge and not request.user.may("label printed"):  # type: ignore[union-attr]  # nobody else is let in
        raise PermissionDenied(not_yours("label printed"))  # a badge's symbol is half of what opens a tablet
    dots, for_owner = _dots_asked(request), request.GET.get("for") == "owner"
    try:
        facts = label_of(printed, for_owner=for_owner)
    except Refused as refused:
        raise Http404(str(refused)) from refused
    name = f"owner-label-{printed.copy}" if for_owner else f"label-{printed.copy}"
    return as_download(Made(label_pdf(facts, dots), 1, ()), name, printed.code)
