"""Labels printed where the thing is: the first label of a pot by itself, any other with one press at a station.

The printer is the one that is named for the station. Where there is none, or it does not answer, that is said, and
nothing waits for it: the work goes on, and the label is printed once more with the reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from uuid import NAMESPACE_URL, UUID, uuid4, uuid5

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as noop
from django.views.decorators.http import require_POST

from plant.equipment.models import PrinterSetting, Station
from plant.equipment.queries import printer_named, printers, station_by_code
from plant.messages import SCANNER_TEST
from plant.papers.label import label_pdf
from plant.people.areas import in_area
from plant.people.models import Person
from plant.people.queries import works_zone
from plant.printing import send_pdf
from plant.scans import opened, read_scan
from plant.speaking import say
from records.ledger.acts import Said, was_taken
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.release.actions import print_label
from records.release.label_views import send_label
from records.release.labels import Labelled, labelled, prints_of, scanner_test_label
from records.trace.finding import code_of, copy_words

from .asking import SCANNED, Question, Told
from .fields import Fields, strict_json
from .stations import station_here

# Why a label is printed again, as it is kept; each is a key of its own.
REASONS = (noop("torn or dirty"), noop("can’t be read"), noop("came off or was lost"), noop("the printer failed"))
GOOD, WATCH = "good", "watch"


def own_printer(station: Station) -> PrinterSetting | None:
    """The printer that is named for a station."""
    first = next(iter(printers(station)), None)
    named = first is not None and any(row.station_id == station.pk for row in first.stations.all())
    return first if named else None


def old_label(answered: Sequence[Question], told: Told) -> str:
    """What is wrong with the label whose symbol was the last answer: an old one is named for whatever it is."""
    if not answered or answered[-1].kind not in SCANNED:
        return ""
    typed = told.get(answered[-1].name, "")
    try:
        return copy_words(typed) if read_scan(typed).form != "plain" else ""
    except Refused:
        return ""


def first_label(code: str, station: Station, by: Person) -> tuple[str, str]:
    """Print the first label of what was just made. How it went, in a tone and a sentence; empty where one stands.

    None of a pot that has ended meanwhile: a fresh label would say that it may be used.
    """
    thing = labelled(code)
    if prints_of(thing):
        return GOOD, ""
    if thing.item is not None and thing.item.good_until is not None and thing.item.good_until < clock.now():
        return WATCH, say("Pot %(code)s has ended. Do not use it.", code=code)
    setting = own_printer(station)
    if setting is None:
        return WATCH, say(
            "No printer is named for this station. Write %(code)s on it until it has its label.", code=code
        )
    key = uuid5(NAMESPACE_URL, f"first label of {thing.code}")  # sent twice it is one
    try:
        return _printed(thing, "", setting, Said(by, key, clock.now()))
    except Refused as refused:  # what was logged stands: its label is no reason to say otherwise
        return WATCH, str(refused)


def _printed(thing: Labelled, reason: str, setting: PrinterSetting, said: Said) -> tuple[str, str]:
    """The label is noted, then sent; one that no printer took is on file all the same, and the next one says why."""
    printed = print_label(thing.code, reason=reason, said=said)
    told = {"n": printed.copy, "code": printed.code, "printer": str(setting)}
    try:
        send_label(printed, setting, by=said.by.badge)
    except Refused as refused:
        return WATCH, f"{refused} {say('Write %(code)s on it until it has its label.', **told)}"
    return GOOD, say("Label %(n)s of %(code)s comes out of %(printer)s. Stick it on and scan it back.", **told)


@in_area("Floor")
@require_POST
def label_first(request: HttpRequest) -> JsonResponse:
    """The first label of a pot whose clock has started, for the tablet that started it."""
    user = _who_may_print(request)
    try:
        told = Fields(strict_json(request.body), works_zone())
        code, station = told.text("code", needed=True), told.text("station", needed=True)
        tone, words = first_label(code, station_by_code(station), user)
    except Refused as refused:
        return JsonResponse({"tone": WATCH, "words": str(refused)})
    return JsonResponse({"tone": tone, "words": words})


@in_area("Floor")
def label_here(request: HttpRequest, station: str, code: str = "") -> HttpResponse:
    """A label of whatever is in front of somebody: one press prints it, a later one says why."""
    here = station_here(station)
    _who_may_print(request)
    typed, problem = request.GET.get("code", "").strip(), ""
    if typed and not code:
        try:
            return redirect("floor:label_here", station=here.code, code=labelled(code_of(opened(typed))).code)
        except Refused as refused:
            problem = str(refused)
    if request.method == "POST" and not code:
        return _press_test(request, here)
    thing = _thing(code) if code else None
    there = printers(here)
    own = own_printer(here)
    if thing is not None and request.method == "POST":
        return _press(request, here, thing)
    context = {
        "station": here,
        "thing": thing,
        "printed": prints_of(thing) if thing else [],
        "own": own,
        "printers": there,
        "reasons": REASONS,
        "typed": typed,
        "problem": problem,
        "key": uuid4(),
    }
    return render(request, "floor/label_here.html", context)


def _who_may_print(request: HttpRequest) -> Person:
    user: Person = request.user  # type: ignore[assignment]  # nobody else is let in
    if not user.may("label printed"):
        raise PermissionDenied(say("Your role may not do this: %(act)s. Ask your lead.", act="label printed"))
    return user


def _thing(code: str) -> Labelled:
    try:
        return labelled(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused


def _press_test(request: HttpRequest, here: Station) -> HttpResponse:
    """The set-up test label of scanners comes out; it bears no number, so nothing is kept of it."""
    try:
        setting = printer_named(request.POST.get("printer", ""))
        file = label_pdf(scanner_test_label(), setting.dots_an_inch)
        by = request.user.badge  # type: ignore[union-attr]  # nobody else is let in
        send_pdf(file, address=setting.address, printer=str(setting), job=SCANNER_TEST, by=by)
        words = say(
            "It comes out of %(printer)s. Scan it at any screen: that says how this scanner types.",
            printer=str(setting),
        )
        messages.success(request, words)
    except Refused as refused:
        messages.warning(request, str(refused))
    return redirect("floor:label_scan", station=here.code)


def _press(request: HttpRequest, here: Station, thing: Labelled) -> HttpResponse:
    sent = request.POST
    user: Person = request.user  # type: ignore[assignment]  # nobody else is let in
    try:
        setting = printer_named(sent.get("printer", ""))
        said = Said(user, UUID(sent.get("key", "")), clock.now())
        if was_taken(said.key):  # a second touch of the same press: the label comes out once
            tone, words = GOOD, _("Logged before: nothing changed.")
        else:
            tone, words = _printed(thing, sent.get("reason", ""), setting, said)
    except ValueError:
        tone, words = WATCH, _("Nothing was printed. Press once more.")
    except Refused as refused:
        tone, words = WATCH, str(refused)
    (messages.success if tone == GOOD else messages.warning)(request, words)
    return redirect("floor:label_here", station=here.code, code=thing.code)
