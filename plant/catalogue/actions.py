"""What can happen to the set-up: a works is opened once; afterwards changes are proposed and approved."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from plant.equipment.writing import write_gauge, write_recorder, write_station, write_tool
from plant.people.models import Works
from plant.people.writing import write_person
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Conflict, Refused
from records.ledger.words import keep_words

from . import specs
from .models import (
    Approval,
    CharacteristicRevision,
    MixRevision,
    PartRevision,
    Proposal,
    RecipeRevision,
    RouteRevision,
    RulebookRevision,
)
from .writing import WRITERS, write_tank


def open_works(opening: specs.Opening, said: Said) -> Works:
    """Open an empty works: everything it starts with, in one act by the row "set-up".

    Refuses ``works-open`` where a works is open already, and ``unknown`` for a zone that doesn't exist.
    """
    with act("works opened", said, opening=_stated(opening)) as a:
        if a.made:
            return Works.objects.get(entry=a.entry)
        if Works.objects.exists():
            raise Refused("works-open", "A works is open in this database already. Use an empty one.")
        try:
            ZoneInfo(opening.zone)
        except (ZoneInfoNotFoundError, ValueError) as wrong:
            raise Refused(
                "unknown", "%(zone)s is no time zone. Write one such as Europe/Berlin.", zone=opening.zone
            ) from wrong
        initials = "".join(word[0] for word in opening.name.split() if word[0].isalnum()).upper()
        works = a.write(Works(code=opening.code or initials[:20] or "W", name=opening.name, zone=opening.zone))
        for person in opening.people:
            write_person(a, person.badge, person.name, person.roles, person.password, person.pin)
        _open_equipment(a, opening)
        proposal = a.write(Proposal(what="opening of the works"))
        a.write(Approval(proposal=proposal, in_force_from=a.at, proposer=said.by))
        _open_catalogue(a, proposal, opening)
        return works


def _open_equipment(a: Act, opening: specs.Opening) -> None:
    for station in opening.stations:
        write_station(a, station.code, station.name, station.kind)
    for tool in opening.tools:
        write_tool(a, tool.code, tool.kind, tool.cycles_allowed)
    for recorder in opening.recorders:
        write_recorder(a, recorder.code, recorder.kind, recorder.zone)
    for gauge in opening.gauges:
        write_gauge(a, gauge.code, gauge.kind, gauge.unit_kind, gauge.due_on)


def _open_catalogue(a: Act, proposal: Proposal, opening: specs.Opening) -> None:
    stated: list[specs.Proposable] = [*opening.parts, *opening.mixes, *opening.characteristics, *opening.routes]
    for spec in [*stated, *opening.recipes, opening.rulebook]:
        WRITERS[type(spec)](a, proposal, spec, "1")  # type: ignore[operator]
    for tank in opening.tanks:
        write_tank(a, tank)


def propose_change(spec: specs.Proposable, *, reason: str, said: Said) -> Proposal:
    """Put a change of the set-up forward: the next revision of one thing, with the reason.

    It is in force once another person approves it. Refuses ``no-reason`` and whatever the content is refused for.
    """
    with act("change proposed", said, spec=_stated(spec), what=type(spec).__name__, reason=Free(reason)) as a:
        if a.made:
            return Proposal.objects.get(entry=a.entry)
        if not reason.strip():
            raise Refused("no-reason", "Write why this changes. The auditor will read it.")
        proposal = a.write(Proposal(what=_title(spec), reason=keep_words(reason)))
        WRITERS[type(spec)](a, proposal, spec, next_revision(spec))  # type: ignore[operator]
        return proposal


def approve_change(proposal: Proposal, *, in_force_from: datetime | None = None, said: Said) -> Approval:
    """Approve a proposed change, from now or a later moment on.

    Refuses ``second-person`` when the proposer approves, and ``approved`` when it was approved before.
    """
    with act("change approved", said, proposal=proposal.pk, in_force_from=in_force_from) as a:
        if a.made:
            return Approval.objects.get(entry=a.entry)
        if proposal.entry.by_id == said.by.pk:
            raise Refused("second-person", "You proposed this. Somebody else must approve it.")
        start = max(in_force_from or a.at, a.at)
        row = Approval(proposal=proposal, in_force_from=start, proposer=proposal.entry.by, approver=said.by)
        return a.write_only(row, Conflict("approved", "This change was approved already."))


def next_revision(spec: specs.Proposable) -> str:
    """Number of the next revision of what is proposed, counting those that wait."""
    match spec:
        case specs.PartSpec():
            count = PartRevision.objects.filter(part__number=spec.number.upper()).count()
        case specs.MixSpec():
            count = MixRevision.objects.filter(mix=spec.mix).count()
        case specs.CharacteristicSpec():
            same = CharacteristicRevision.objects.filter(characteristic__name=spec.name)
            count = same.filter(characteristic__part__number=spec.part.upper()).count()
        case specs.RouteSpec():
            count = RouteRevision.objects.filter(part__number=spec.part.upper()).count()
        case specs.RecipeSpec():
            count = RecipeRevision.objects.filter(recipe=spec.recipe.upper()).count()
        case specs.RulebookSpec():
            count = RulebookRevision.objects.count()
    return str(count + 1)


def _title(spec: specs.Proposable) -> str:
    match spec:
        case specs.PartSpec():
            return f"part {spec.number}"
        case specs.MixSpec():
            return f"mix {spec.mix}"
        case specs.CharacteristicSpec():
            return f"band of {spec.name} on {spec.part}"
        case specs.RouteSpec():
            return f"route of {spec.part}"
        case specs.RecipeSpec():
            return f"recipe {spec.recipe}"
        case specs.RulebookSpec():
            return "settings of the works"


def _stated(spec: Any) -> dict[str, Any]:
    """What was stated, as the entry's arguments; passwords and names of people stay out."""
    stated = asdict(spec)
    for person in stated.get("people", ()):
        for private in ("name", "badge", "password", "pin"):
            person.pop(private)
    return stated
