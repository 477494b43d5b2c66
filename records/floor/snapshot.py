"""What a tablet takes along for the time without a link: the rules in force, who may log, and what stands where.

All of it is data of one moment and says which. The tablet walks the pieces of ``tasks`` with it; the server judges
again whatever is logged by it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime
from functools import partial
from hashlib import sha256
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext

from plant.catalogue.cautions import EVERYWHERE, caution_words
from plant.catalogue.models import Operation, OperationAsk, OperationReading, Part, RouteRevision
from plant.catalogue.queries import carrier_from, good_for_ms, rest_ms, route_of
from plant.equipment.models import Gauge, Station, Tool
from plant.people.deputies import deciders_on
from plant.people.models import Person, PersonRole, Works
from plant.people.queries import works_day, works_zone
from plant.people.rights import RIGHTS
from plant.quantities import print_steps
from plant.speaking import in_each_language, word
from plant.templatetags.showing import initials
from records.items.actions.pots import step_of_scale
from records.items.models import Hold
from records.items.pots import Pot, standing_pots
from records.items.queries import HERE, holds_on
from records.items.reasons import CHOSEN, reason_words
from records.items.risks import Risk, risks_here
from records.items.shelf import stock_rows, their_numbers
from records.ledger.canonical import time_text
from records.ledger.clock import clock
from records.ledger.models import Entry
from records.release.labels import labels_to_check
from records.steps.due import RESTED, due_ahead
from records.steps.models import MeasureAgain, Waiting
from records.steps.queries import done_operations, to_measure_again
from records.steps.resting import rests_of

from .ahead import ahead_of
from .by_voice import answers_data, calls_to_tell, says_data
from .closed import moulded_here
from .handing import handing_data
from .holding import filling_of, stands_after
from .known_by import known_by, reprinted
from .listed import needs_list, not_listed
from .many import MANY, many_data
from .metering import tanks_data
from .moulding import takes_pot
from .notices import telling
from .opening import not_safe
from .pieces import choices_data, keys_data
from .resting import not_rested
from .sheets import sheets_by_station
from .sitting import sitting_of
from .tablets import about, pin_revisions, qualifications
from .tasks import TASKS, Task, carrier_of, hold_of, make_task, measure_of, step_of
from .voice import voice_words

Data = dict[str, Any]
# Acts of the floor that no task of the list is for.
OTHER_ACTS = {
    "step done",
    "unit made",
    "measured",
    "hold placed",
    "label checked",
    "carrier put on",
    "shift handed over",
    "told by voice",
    "call answered",
    "link corrected",
}

OUTSIDE = ("reading-outside", "measured-outside")  # why a tablet holds a unit by itself


def snapshot_for(person: Person, device: str, sat: datetime | None = None) -> Data:
    """Everything that a tablet needs of one moment; ``revision`` changes whenever any of it does.

    ``sat`` is since when this person sits at the tablet.
    """
    units = _units_here()
    told: Data = {
        "works": str(Works.current() or ""),
        "zone": str(works_zone()),
        "people": _people(),
        "decides": deciders_on(works_day(clock.now())).get("hold lifted", ""),
        "stations": [
            {"code": s.code, "name": s.name, "kind": s.kind} for s in Station.objects.order_by("kind", "code")
        ],
        **_worded(units, settings.LANGUAGE_CODE),
        "spoken": {language: _worded(units, language) for language in _other_languages()},
        "units": units,
        "lots": _lots(),
        "lots_held": _lots_held(),
        "many": many_data(),
        "due": _due(),
        "calls": calls_to_tell(clock.now()),
        "labels": labels_to_check(),
        "reprinted": reprinted(),
        "parts": _parts(),
        "tools": list(Tool.objects.order_by("code").values("code", "kind")),
        "gauges": _gauges(),
        "sheets_out": sheets_by_station(),
        "reasons": {**CHOSEN, **{why: reason_words(why) for why in OUTSIDE}},
        "tanks": tanks_data(),
    }
    revision = sha256(repr(told).encode()).hexdigest()[:16]
    you = {"badge": person.badge, "name": person.name, "initials": initials(person.name)}
    you["sat"] = time_text(sat or clock.now())
    line = sitting_of(person, device, sat) if device else ""
    return {
        "taken_at": time_text(clock.now()),
        "revision": revision,
        "you": you,
        "sitting": line,
        **about(device),
        **handing_data(clock.now()),
        **told,
    }


def _worded(units: Sequence[Data], language: str) -> Data:
    """What holds words that are shown, in a language: its pieces are walked alike in each."""
    with translation.override(language):
        return {
            "routes": _routes(units),
            "sheets": _sheets(),
            "makes": _makes(),
            "tasks": {name: task_data(task) for name, task in TASKS.items()},
            "hold": task_data(hold_of("")),
            "carrier": task_data(carrier_of()),
            "choices": {
                **choices_data(),
                "listed": keys_data(not_listed()),
                "rested": keys_data(not_rested()),
                "safe": keys_data(not_safe()),
                "voice": says_data(),
                "answers": answers_data(),
            },
            "pot_clock": render_to_string("floor/_pot.html", {}).strip(),
            "everywhere": gettext(EVERYWHERE),
        }


def _other_languages() -> list[str]:
    """Languages, besides the works' own, of those who may sign: whoever takes up a tablet is spoken to in theirs."""
    people = Person.objects.filter(login=True, is_active=True).exclude(language=settings.LANGUAGE_CODE)
    return sorted(set(people.values_list("language", flat=True)))


def task_data(task: Task) -> Data:
    """A task as the tablet walks it."""
    told: Data = {"kind": task.kind, "act": task.act, "word": word(task.word), "fixed": task.fixed, "seen": task.seen}
    if task.operation is not None:
        told |= {"operation": task.operation.name}
    if needs_list(task):
        told["needs_list"] = True
    caution = caution_words(task.caution)
    pieces = [piece.data() for piece in task.pieces]
    told |= {"press": task.press, "headline": word(task.headline), "bar": bool(task.bar)}
    return told | {"caution": caution, "at_station": task.at_station, "pieces": pieces}


def _people() -> list[Data]:
    """Whose badge is open, and which acts of the floor each may do."""
    held: dict[int, dict[str, bool]] = defaultdict(dict)
    for person, role, given in PersonRole.objects.order_by("entry_id", "pk").values_list("person_id", "role", "given"):
        held[person][role] = given
    pins, lists = pin_revisions(), qualifications()
    acts = sorted({task.act for task in TASKS.values()} | {many.act for many in MANY.values()} | OTHER_ACTS)
    people = Person.objects.filter(login=True, is_active=True).select_related("name_words").order_by("badge")
    return [
        {
            "badge": person.badge,
            "name": person.name,
            "initials": initials(person.name),
            "language": person.language,
            "pin": pins.get(person.pk, 1) if person.pin else 0,
            "qualified": lists[person.pk],
            "acts": [act for act in acts if any(held[person.pk].get(str(role)) for role in RIGHTS[act])],
        }
        for person in people
    ]


def _units_here() -> list[Data]:
    """Units in the house with their next operation, what is done and what holds them."""
    rows = list(
        Waiting.objects.filter(unit__state__where=HERE)
        .select_related("unit__state__place__station", "unit__state__place__party", "unit__revision__part", "operation")
        .order_by("since", "pk")
    )
    pks = [row.unit_id for row in rows]
    done, holds, now = done_operations(pks), _holds_of(pks), clock.now()
    waits = to_measure_again(pks, now)
    ahead, moulded, rests, carried = ahead_of(rows, done, now), moulded_here(rows), rests_of(rows), known_by(pks)
    return [
        {
            "code": row.unit.code,
            "part": row.unit.part.number,
            "name": row.unit.part.name or row.unit.part.number,
            "kind": row.unit.part.kind,
            "station": row.unit.state.place.station.code
            if row.unit.state.place and row.unit.state.place.station
            else "",
            "place": str(row.unit.state.place or ""),
            "since": time_text(row.since),
            "next": row.operation.name if row.operation else "",
            "route": row.operation.route_revision_id if row.operation else None,
            "done": sorted(done[row.unit_id]),
            "holds": holds[row.unit_id],
            "wait": _wait_data(waits.get(row.unit_id)),
            "rests": {rest.after: time_text(rest.until)} if (rest := rests.get(row.unit_id)) else {},
            **ahead[row.unit_id],
            **moulded.get(row.unit_id, {}),
            **carried.get(row.unit_id, {}),
        }
        for row in rows
    ]


def _wait_data(wait: MeasureAgain | None) -> Data | None:
    if wait is None:
        return None
    read = {"name": wait.name, "value": wait.written, "unit": wait.unit_text}
    return read | {"until": time_text(wait.until), "operation": wait.operation.name if wait.operation else ""}


def _holds_of(items: Iterable[int]) -> dict[int, list[Data]]:
    found: dict[int, list[Data]] = defaultdict(list)
    holds = holds_on(items)
    how = telling(holds, clock.now()) if holds else None
    keys = {
        pk: str(key)
        for pk, key in Entry.objects.filter(pk__in={hold.entry_id for hold in holds}).values_list("pk", "key")
    }
    for hold in holds:
        so_far = how.told(hold, HERE) if how else []
        scope = Hold.Scope(hold.scope)
        after = hold.operation.n if hold.operation else None
        operation = hold.operation.name if hold.operation else ""
        told = {
            "key": keys[hold.entry_id],
            "reason": reason_words(hold.reason),
            "at": time_text(hold.at),
            "stops": str(scope.label),
            "scope": scope.value,
            "told": [[row.person.name, time_text(row.seen_at) if row.seen_at else ""] for row in so_far],
        }
        if voice := how.voices.get(hold.entry_id) if how else None:
            told["voice"] = in_each_language(partial(voice_words, voice))
        found[hold.item_id].append(told | {"after": after, "operation": operation})
    return found


def _routes(units: Sequence[Data]) -> dict[str, list[Data]]:
    """Each route that a unit here follows, and each in force, as the tasks of its operations."""
    wanted = {unit["route"] for unit in units if unit["route"]}
    for part in Part.objects.filter(tracked=Part.Tracked.UNIT).order_by("number"):
        route = route_of(part, clock.now())
        if route:
            wanted.add(route[0].route_revision_id)
    operations = Operation.objects.filter(route_revision__in=wanted).select_related(
        "route_revision__part", "lapse", "rest", "carrier"
    )
    operations = operations.prefetch_related("inputs__part", "asks")
    readings: dict[int, list[OperationReading]] = defaultdict(list)
    for row in OperationReading.objects.filter(operation__route_revision__in=wanted).order_by("pk"):
        readings[row.operation_id].append(row)
    along: dict[int, list[Operation]] = defaultdict(list)
    for operation in operations.order_by("route_revision", "n"):
        along[operation.route_revision_id].append(operation)
    filling = filling_of(operations)
    routes = {}
    for number, route in along.items():
        stands = stands_after(route, filling & {operation.pk for operation in route})
        routes[str(number)] = [_along(o, readings[o.pk]) | {"stands": stands[o.name].value} for o in route]
    return routes


def _along(operation: Operation, readings: Sequence[OperationReading]) -> Data:
    """An operation of a route, with its task."""
    told = {"n": operation.n, "station_kind": operation.station_kind, "makes_safe": operation.makes_safe}
    told |= {"good_for_ms": good_for_ms(operation), "rest_ms": rest_ms(operation), "takes_pot": takes_pot(operation)}
    told |= {"carrier": kind} if (kind := carrier_from(operation)) else {}
    if asks := [one.name for one in operation.asks.all() if one.what == OperationAsk.What.MEASURE]:
        told["measures"] = asks
    return task_data(step_of(operation, readings)) | told


def _makes() -> dict[str, Data]:
    """What can be made, by part: the first operation of its route."""
    made = {}
    in_force = Part.objects.filter(pk__in=RouteRevision.objects.in_force(clock.now()).values("part"))
    for part in in_force.filter(kind__in=[Part.Kind.PREFORM, Part.Kind.FRONT, Part.Kind.REAR, Part.Kind.FRAME]):
        route = route_of(part, clock.now())
        if route:
            told = {
                "name": part.name or part.number,
                "part_kind": part.get_kind_display(),
                "route": route[0].route_revision_id,
            }
            made[part.number] = task_data(make_task(part.number)) | told | {"station_kind": route[0].station_kind}
    return made


def _sheets() -> dict[str, Data]:
    """What is measured on each part that is tracked by unit."""
    parts = Part.objects.filter(kind__in=Part.UNIT_KINDS).order_by("number")
    sheets = {part.number: measure_of(part) for part in parts}
    return {number: task_data(task) for number, task in sheets.items() if task.seen["bands"]}


def _lots() -> list[Data]:
    """Lots with something left, and whether they may be used; a pot with its span."""
    spans = {pot.code: pot for pot in standing_pots(clock.now())}
    risks = {risk.lot.code: _risk(risk) for risk in risks_here()}
    theirs = their_numbers()
    return [
        {
            "code": row.code,
            "part": row.part.number,
            "kind": row.part.kind,
            "left": f"{print_steps(row.left, row.part.unit, row.part.unit_kind)} {row.part.unit}",
            "state": "over" if row.is_over else row.state,
            "last_day": row.last_day.isoformat() if row.last_day else "",
            "end": row.end.isoformat(),
            "past": row.is_past,
            "held": row.held,
            "place": row.place,
            **({"theirs": theirs[row.code]} if row.code in theirs else {}),
            **({"risk": risks[row.code]} if row.code in risks else {}),
            **(_span(spans[row.code]) if row.code in spans else {}),
        }
        for row in stock_rows()
    ]


def _risk(risk: Risk) -> Data:
    """Until when and how much more a lot is used at risk: as people write it, and in the unit of its part."""
    part, told = risk.lot.part, {"until": time_text(risk.until), "left": risk.left}
    return told if risk.free is None else told | {"free": print_steps(max(risk.free, 0), part.unit, part.unit_kind)}


def _gauges() -> list[Data]:
    """Gauges; a scale with the step that it reads in, where its calibration tells one. [g]"""
    found = []
    for gauge in Gauge.objects.order_by("code"):
        step = step_of_scale(gauge) if "scale" in gauge.kind else 0
        told = {"code": gauge.code, "kind": gauge.kind}
        found.append(told | ({"step": float(print_steps(step, "g", "mass"))} if step else {}))
    return found


def _span(pot: Pot) -> Data:
    return {"began": time_text(pot.began_at), "ends": time_text(pot.ends_at)}


def _due() -> list[Data]:
    """What comes due within a day: the tablet tells it by its own clock, put right.

    Rests travel with their units, since what is logged without a link begins and ends them.
    """
    moments = ("at", "ends")
    rows = [vars(one) for one in due_ahead(clock.now()) if one.what != RESTED]
    return [row | {name: time_text(row[name]) for name in moments} for row in rows]


def _lots_held() -> dict[str, list[Data]]:
    """What holds lots that have something left, by code."""
    held = Hold.objects.filter(item__kind=Part.Tracked.LOT, item__state__remaining__gt=0)
    codes = dict(held.values_list("item_id", "item__state__code"))
    return {codes[pk]: holds for pk, holds in _holds_of(codes).items()}


def _parts() -> list[Data]:
    return [dict(row) for row in Part.objects.order_by("number").values("number", "name", "kind", "unit", "prefix")]
