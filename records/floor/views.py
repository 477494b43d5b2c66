"""Pages of the floor: a station, the unit in front of somebody, one question after the other. No script is needed."""

from __future__ import annotations

import json
from datetime import datetime
from urllib.parse import urlencode
from uuid import NAMESPACE_URL, UUID, uuid4, uuid5

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as noop

from plant.catalogue.cautions import EVERYWHERE, caution_words
from plant.catalogue.models import Part
from plant.equipment.models import Station
from plant.messages import SCANNER_TEST
from plant.people.areas import in_area
from plant.people.models import Person
from plant.scans import opened
from plant.speaking import languages, say
from records.items.models import Item
from records.items.queries import find_item, holds_on, item_by_code
from records.ledger.acts import was_taken
from records.ledger.clock import clock
from records.ledger.models import Entry
from records.ledger.refusals import Refused
from records.steps.filling import is_mould, unit_at
from records.trace.finding import copy_words

from .asking import Question, no_equipment
from .going_in import risk_words
from .handing import with_old_entries
from .holding import place_words, what_to_do, where_it_stands
from .labelling import GOOD, first_label, old_label
from .listed import for_person
from .locked import locked_words
from .many import many_offered
from .metering import told_beside
from .moulding import PotIn
from .notices import who_decides
from .on_paper import CARRIED, from_paper, shown_of_paper
from .opening import once_safe
from .own import not_own_words
from .pot_clock import NEAREST, clock_told, pots_at
from .queries import SHOWN, Here, held_of, made_here, unit_in_front, waiting_here
from .resting import once_rested
from .stations import due_words, station_here
from .taking import REFUSED, Answer, take_entry
from .tasks import Task, offered, task_named
from .waits import may_wait, wait_payload, waits_told
from .walking import is_last, left_out, walk_through

OF_THE_FORM = ("csrfmiddlewaretoken", "key", "made_at", "done", "photos")
BY_PAPER = ("send-out", "come-back")  # a consignment goes with a slip, nothing is labelled
OF_THE_ENTRY = ("unit", "operation", "part")  # what an address names before anything is asked
POTS = ("mix", "meter")  # kinds of entry that start the clock of a pot
OF_A_UNIT = ("step", "measure", "hold", "carrier")
SCANS_WELL = noop("This scanner types as it should: layout, capitals and separators.")


@in_area("Floor")
def station_list(request: HttpRequest) -> HttpResponse:
    """Stations to choose from."""
    answers = request.user.may("call answered")  # type: ignore[union-attr]  # nobody else is let in
    old = with_old_entries(clock.now()) if answers else []
    stations = Station.objects.order_by("kind", "code")
    told = {"stations": stations, "old_entries": old, "locked": locked_words(), "due": due_words()}
    told |= {"tongues": languages(), "not_own": not_own_words(request.user)}  # type: ignore[arg-type]
    return render(request, "floor/station_list.html", told)


@in_area("Floor")
def station_page(request: HttpRequest, station: str) -> HttpResponse:
    """Start of a station: scan a unit, or take one of those that wait here."""
    here = station_here(station)
    typed, problem = request.GET.get("code", "").strip(), ""
    if typed:
        if opened(typed) == SCANNER_TEST:
            messages.success(request, _(SCANS_WELL))
            return redirect("floor:station", station=here.code)
        try:
            item = item_at(typed, clock.now())
            if words := copy_words(typed):
                messages.warning(request, words)
            return redirect(way_to(item, here, request.user))  # type: ignore[arg-type]
        except Refused as refused:
            problem = str(refused)
    waiting, pots = waiting_here(here), pots_at(here)
    if "pots" in request.GET:
        return render(request, "floor/pots.html", {"station": here, "pots": pots})
    user = request.user
    context = {
        "station": here,
        "typed": typed,
        "problem": problem,
        "locked": locked_words([here.code]),
        "count": waiting.count(),
        "waiting": (shown := waiting[:SHOWN]),
        "held": held_of(shown),
        "parts": made_here(here) if user.may("unit made") else [],  # type: ignore[union-attr]
        "many": many_offered(user.may, waiting),  # type: ignore[union-attr]
        "tasks": offered(user.may, here.kind),  # type: ignore[union-attr]
        "due": due_words(here.code),
        "pots": pots[:NEAREST],
        "more_pots": len(pots[NEAREST:]),
    }
    return render(request, "floor/station.html", context)


def item_at(typed: str, at: datetime) -> Item:
    """What was scanned at a station; a mould stands for the unit in it."""
    code = opened(typed)
    return unit_at(code, at) if find_item(code) is None and is_mould(code) else no_equipment(typed, "unit")


def way_to(item: Item, station: Station, person: Person) -> str:
    """Where a scan leads: a mould that waits for its pot goes to the pot at once, all else to its own screen."""
    if item.kind == Part.Tracked.UNIT and person.may("step done"):
        here = unit_in_front(item)
        if here.operation and here.may_be_filled_at(station):
            told = urlencode({"unit": item.code, "operation": here.operation.name})
            return f"{reverse('floor:log', args=[station.code, 'step'])}?{told}"
    return reverse("floor:unit_here", args=[station.code, item.code])


@in_area("Floor")
def unit_here(request: HttpRequest, station: str, code: str) -> HttpResponse:
    """The unit in front of somebody: on to its next step, or held with what is safe to do."""
    here = station_here(station)
    try:
        item = item_by_code(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused
    if item.kind != Part.Tracked.UNIT:
        holds = holds_on([item.pk])
        if holds:
            stands = where_it_stands(item, (), ())
            context = {
                "station": here,
                "item": item,
                "holds": holds,
                "to_do": what_to_do(stands),
                "place": place_words(item, stands),
                **who_decides(holds, item),
            }
            return render(request, "floor/lot_held.html", context)
        messages.error(
            request,
            say("That is %(kind)s %(code)s. A step needs a unit.", kind=item.part.get_kind_display(), code=item.code),
        )
        if words := risk_words(item.code):
            messages.warning(request, words)
        return redirect("floor:station", station=here.code)
    front = unit_in_front(item)
    pot = clock_told({}) if front.waits_for_pot else None
    told = who_decides(front.holds, item) if front.holds else {}
    return render(request, "floor/unit_here.html", {"station": here, "here": front, "pot": pot, **told})


def told_of(request: HttpRequest) -> dict[str, str]:
    """Answers so far, from the address or the form."""
    sent = request.POST if request.method == "POST" else request.GET
    return {name: str(value).strip() for name, value in sent.items() if name not in OF_THE_FORM}


@in_area("Floor")
def log_page(request: HttpRequest, station: str, name: str) -> HttpResponse:
    """One question after the other, then the press that logs."""
    here, told = station_here(station), told_of(request)
    try:
        task = for_person(once_safe(once_rested(may_wait(task_named(name, told)))), request.user)  # type: ignore[arg-type]
    except Refused as refused:
        raise Http404(str(refused)) from refused
    if not request.user.may(task.act):  # type: ignore[union-attr]
        raise PermissionDenied(say("Your role may not do this: %(act)s. Ask your lead.", act=task.act))
    answered, question, problem = walk_through(task, told)
    screen = Screen(request, here, name, task, told, answered)
    if request.headers.get("Accept") == "application/json":
        return screen.entry_told(question)
    if request.method == "GET" and was_taken(screen.key):
        return screen.logged_before()
    if question is not None:
        return screen.ask(question, problem)
    return screen.log() if request.method == "POST" else screen.confirm()


def key_of(request: HttpRequest) -> UUID:
    """Key of the entry, made with its first question and carried on: going back and pressing again repeats."""
    sent = request.POST if request.method == "POST" else request.GET
    try:
        return UUID(str(sent.get("key", "")))
    except ValueError:
        return uuid4()


class Screen:
    """One floor screen of a task at a station."""

    def __init__(
        self,
        request: HttpRequest,
        station: Station,
        name: str,
        task: Task,
        told: dict[str, str],
        answered: list[Question],
    ) -> None:
        self.request, self.station, self.name, self.task = request, station, name, task
        self.told, self.answered = told, answered
        self.key = key_of(request)

    def context(self, keep: list[Question]) -> dict[str, object]:
        """What every screen of a task shows; ``keep`` are the questions whose answers go on."""
        if words := old_label(keep, told_of(self.request)):  # as it was scanned
            messages.warning(self.request, words)
        answers = [(q.word, q.shown(self.told[q.name])) for q in keep if q.is_told(self.told[q.name])]
        return {
            "station": self.station,
            "task": self.task,
            "name": self.name,
            "done": [*shown_of_paper(self.told), *answers],
            "hidden": self.carried(keep),
            "back": self.back(keep),
            "here": unit_in_front(item_by_code(self.task.unit)) if self.task.unit else None,
            "caution": caution_words(self.task.caution),
            "everywhere": gettext(EVERYWHERE),
            **self.beside_the_scale(),
            "pot": clock_told(self.told) if any(isinstance(piece, PotIn) for piece in self.task.pieces) else None,
        }

    def beside_the_scale(self) -> dict[str, object]:
        """What is told where a pot is weighed: moulds that wait for it, shots that it serves, that it heats itself."""
        return told_beside(self.told) if self.task.kind in POTS else {}

    def carried(self, keep: list[Question]) -> list[tuple[str, str]]:
        """Answers as they travel with the form, and the key under which they are to be logged."""
        names = [name for name in OF_THE_ENTRY if name != "unit" or self.name in OF_A_UNIT]
        names += [name for q in keep for name in (q.name, f"{q.name}-part", f"{q.name}-more")]
        names += [name for name in self.told if name.endswith("-own")]
        names += CARRIED
        told = [(name, self.told[name]) for name in dict.fromkeys(names) if self.told.get(name) is not None]
        return [*told, ("key", str(self.key))]

    def at(self, keep: list[Question]) -> str:
        """Address of the screen that comes after these answers."""
        return f"{reverse('floor:log', args=[self.station.code, self.name])}?{urlencode(self.carried(keep))}"

    def back(self, keep: list[Question]) -> str:
        """Address of the question before; the station where there is none."""
        return self.at(keep[:-1]) if keep else reverse("floor:station", args=[self.station.code])

    def ask(self, question: Question, problem: Refused | None) -> HttpResponse:
        """The next question."""
        keep = self.answered
        if question.offers("again") and self.told.get(question.name) == "again":
            if question.again_at:
                return redirect(f"{reverse('floor:station', args=[self.station.code])}log/{question.again_at}")
            # Nothing was kept of the answer: it is asked afresh.
            return redirect(self.at(keep[: -question.drops]))
        context = self.context(keep) | {
            "question": question,
            "problem": str(problem or ""),
            "value": self.told.get(question.name, question.given),
            "state_part": bool(question.parts and problem is not None and problem.code == "unknown"),
            "reading": self.told.get(question.name.removesuffix("-outside"), "") if question.band else "",
        }
        context["own"] = self.own(question.instead)
        if is_last(self.task, self.told, question):
            context |= self.press() | {"is_last": True, "own": self.own(left_out(self.task, self.told))}
            if question.ends:
                self.told[question.name] = ""
                context["entry"] = json.dumps(self.entry())
        return render(self.request, "floor/ask.html", context)

    def press(self) -> dict[str, object]:
        """What the press that logs needs: key, time and address."""
        return {
            "key": str(self.key),
            "made_at": self.told.get("paper_at") or self.request.POST.get("made_at") or clock.now().isoformat(),
            "is_done": self.is_done,
            "address": self.at(self.answered),
        }

    def own(self, key: tuple[str, str] | None) -> tuple[str, str] | None:
        """Address and word of a key that asks what is not asked as a rule; nothing where there is none."""
        return (f"{self.at(self.answered)}&{urlencode({key[0]: 'yes'})}", key[1]) if key else None

    def entry_told(self, question: Question | None) -> JsonResponse:
        """The entry of the last press, for the outbox; nothing where more is asked, or where it stands already."""
        more = question is not None or was_taken(self.key)
        return JsonResponse({"entry": None if more else self.entry()})

    def confirm(self, answer: Answer | None = None) -> HttpResponse:
        """Everything told, and the press that logs it; after a refusal the two ways on."""
        context = self.context(self.answered) | self.press()
        context |= {"answer": answer, "own": self.own(left_out(self.task, self.told))}
        context["entry"] = json.dumps(self.entry())
        waits = waits_told(self.answered, self.told)
        front = context["here"]
        context["next"] = front.after(self.task.operation) if isinstance(front, Here) and not waits else ""
        context["waits"] = waits[1].wait_min if waits else 0
        return render(self.request, "floor/confirm.html", context)

    def entry(self) -> dict[str, object]:
        """What is to be logged, as the outbox of the tablet takes it."""
        told = {**self.kind_and_payload(), "label": self.task.word, "done": self.is_done}
        told |= {
            "holds": self.holds_besides,
            "keeps": self.keeps,
            "seen": {**self.task.seen, "holds_at": clock.now().isoformat()},
        }
        second = self.task.needs_second(self.told)
        return told | from_paper(self.told) | ({"needs_second": second} if second else {})

    def kind_and_payload(self) -> dict[str, object]:
        """The entry of the task, or that it waits to be measured again."""
        waits = waits_told(self.answered, self.told)
        if waits:
            return {"kind": "wait", "payload": wait_payload(self.task.unit, self.task.operation, waits, self.told)}
        return {"kind": self.task.kind, "payload": self.task.tells(self.told, self.station.code)}

    @property
    def is_done(self) -> bool:
        """Whether the person told at a question that it has been done already."""
        return any(name.endswith("-stop") and value == "done" for name, value in self.told.items())

    @property
    def keeps(self) -> bool:
        """Whether a number outside was kept: its unit is held."""
        kept = any(name.endswith("-outside") and value == "keep" for name, value in self.told.items())
        return kept and waits_told(self.answered, self.told) is None

    @property
    def holds_besides(self) -> bool:
        """Whether a hold goes beside the entry. A sheet of measurements holds by its own rule."""
        return self.keeps and self.task.kind != "measure"

    def logged_before(self) -> HttpResponse:
        """Somebody came back to what stands already: what it made, and how another one is begun."""
        entry = Entry.objects.select_related("by__name_words").get(key=self.key)
        made = Item.objects.filter(entry=entry).select_related("state").first()
        begin = urlencode([(name, told) for name, told in self.carried([]) if name != "key"])
        context = self.context([]) | {"entry": entry, "made": made, "begin": f"?{begin}"}
        return render(self.request, "floor/logged.html", context)

    def log(self) -> HttpResponse:
        """Send the entry down the same way as a tablet's."""
        sent = self.request.POST
        entry = {
            "key": sent.get("key", ""),  # as sent: one that is damaged is told, not replaced
            **self.kind_and_payload(),
            "made_at": sent.get("made_at", ""),
            "done": sent.get("done") == "yes" or self.is_done,
            **(paper := from_paper(self.told)),
            "photos": [*paper.get("photos", ()), *sent.getlist("photos")],  # type: ignore[misc]  # hashes
        }
        answer = take_entry(entry, self.request.user)  # type: ignore[arg-type]
        if not answer.is_kept:
            return self.confirm(answer)
        self.tell(answer)
        self.hold_where_asked(answer)
        return redirect("floor:station", station=self.station.code)

    def tell(self, answer: Answer) -> None:
        """Say what became of the entry."""
        what = say("%(code)s is on file.", code=answer.made) if answer.made else _("Logged.")
        if answer.made and self.task.kind not in BY_PAPER:
            what += " " + _("Stick its label on and scan it back.")
        messages.success(self.request, f"{_('Logged before: nothing changed.')} {what}" if answer.repeat else what)
        if answer.words:
            messages.warning(self.request, answer.words)
        if answer.made and self.task.kind in POTS and not answer.repeat:
            tone, words = first_label(answer.made, self.station, self.request.user)  # type: ignore[arg-type]
            (messages.success if tone == GOOD else messages.warning)(self.request, words)

    def hold_where_asked(self, answer: Answer) -> None:
        """Hold the unit whose reading outside was kept, under a key that follows from the entry's."""
        if not self.holds_besides:
            return
        hold = {
            "key": str(uuid5(NAMESPACE_URL, f"hold of {answer.key}")),
            "kind": "hold",
            "made_at": self.request.POST["made_at"],
            "done": True,
            "payload": {"item": self.task.unit or answer.made, "reason": "reading-outside"},
        }
        held = take_entry(hold, self.request.user)  # type: ignore[arg-type]
        if held.outcome == REFUSED:
            messages.error(self.request, held.words)
        else:
            words = say("%(code)s is held. Put it on the red shelf.", code=self.task.unit or answer.made)
            messages.warning(self.request, words)
