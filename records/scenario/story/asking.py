"""Each question of a story answered from the records."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from plant.catalogue.models import Characteristic
from plant.catalogue.queries import tank_by_code
from plant.codes import fold
from plant.equipment.queries import gauge_by_code, tool_by_code
from plant.people.queries import works_zone
from plant.quantities import UNITS, print_share, print_steps
from plant.times import read_time
from records.inspection.queries import gauge_finding, latest_of
from records.items.clearing import is_cleared
from records.items.deriving import worked_out
from records.items.models import Link, Place, TankEntry
from records.items.queries import (
    balances,
    find_item,
    holds_on,
    is_booked_in,
    item_by_code,
    look_alikes,
    names_of,
    whereabouts,
)
from records.ledger.marks import Mark, mark_at
from records.ledger.refusals import Refused
from records.spc.queries import chart_of, readings_in_pieces
from records.steps.queries import units_of_tool, way_of
from records.trace.comparing import suspects_of
from records.trace.queries import Asked, Found, made_from, place_words, where_used
from records.trace.walking import loops

from .naming import characteristic_named

Question = Mapping[str, Any]
Answer = dict[str, Any]


def ask(question: Question) -> Answer:
    """Answer one question; as known at a moment where it says so."""
    known = question.get("known")
    try:
        mark = mark_at(read_time(known, works_zone())) if known else None
        return ANSWERS[question["question"]](question, mark)
    except Refused as refused:
        return {"none": refused.code}


def _found(found: Found) -> Answer:
    row: Answer = {"code": found.code}
    if found.ended:
        row["ended"] = True
    else:
        row["sure"] = found.sure
        if found.share_ppb is not None:
            row["share"] = print_share(found.share_ppb)
    if found.names.once:
        row["once"] = list(found.names.once)
    return row


def _trace(question: Question, mark: Mark | None) -> Answer:
    asked = Asked(mark, bool(question.get("ended")), tuple(question.get("only") or ()))
    answer = (where_used if question["question"] == "where-used" else made_from)(question["of"], asked)
    return {"items": [_found(f) for f in answer.listed], "below": [_found(f) for f in answer.below]}


def _loops(_question: Question, mark: Mark | None) -> Answer:
    return {"loops": [_codes(group, mark) for group in loops(mark)]}


def _codes(items: Any, mark: Mark | None) -> list[str]:
    return sorted(names.code for names in names_of(items, mark).values())


def _balance(question: Question, mark: Mark | None) -> Answer:
    item = item_by_code(question["of"], mark)
    balance, part = balances([item.pk], mark)[item.pk], item.part

    def text(steps: int) -> str:
        return print_steps(steps, part.unit, part.unit_kind)

    return {
        "in": text(balance.received),
        "drawn": text(balance.drawn),
        "waste": text(balance.waste),
        "left": text(balance.left),
        "unit": part.unit,
        "over_drawn": balance.left < 0,
    }


def _tank(question: Question, mark: Mark | None) -> Answer:
    tank = tank_by_code(question["of"])
    contents = worked_out(tank, mark).contents
    names = names_of(contents, mark)
    unit, kind = tank.part.unit, tank.part.unit_kind
    return {
        "total": print_steps(sum(contents.values()), unit, kind),
        "contents": [
            {"code": names[lot].code, "amount": print_steps(amount, unit, kind)} for lot, amount in contents.items()
        ],
    }


def _place(question: Question, mark: Mark | None) -> Answer:
    items = {item.pk for item in (item_by_code(code, mark) for code in question["of"])}
    where, names = whereabouts(items, mark), names_of(items, mark)
    held = {hold.item_id for hold in holds_on(items, mark)}
    places = {place.pk: str(place) for place in Place.objects.select_related("party", "station")}
    around = names_of({w.inside for w in where.values() if w.inside}, mark)
    rows = [
        {
            "code": names[pk].code,
            "state": where[pk].state,
            "at": place_words(where[pk], places, around),
            "held": pk in held,
        }
        for pk in sorted(items)
    ]
    return {"items": rows}


def _status(question: Question, mark: Mark | None) -> Answer:
    item = find_item(question["of"], mark)
    if item is None:
        return {"known": False}
    return {
        "known": True,
        "booked_in": is_booked_in(item, mark),
        "cleared": is_cleared(item, mark),
        "held": bool(holds_on([item.pk], mark)),
    }


def _gauge(question: Question, mark: Mark | None) -> Answer:
    finding = gauge_finding(gauge_by_code(question["of"]), mark)
    names = names_of({m.unit_id for m in finding.measured}, mark)
    found = finding.found_out
    error = None
    if found is not None:
        unit = finding.measured[0].unit_text if finding.measured else next(iter(UNITS[found.unit_kind]))
        if found.error is not None:
            error = print_steps(found.error, unit, found.unit_kind, difference=True)
    turned = []
    for one in finding.turned:
        band, unit = one.measurement.characteristic_revision, one.measurement.unit_text
        turned.append(
            {
                "code": names[one.measurement.unit_id].code,
                "characteristic": band.characteristic.name,
                "read": print_steps(one.measurement.value or 0, unit, band.unit_kind),
                "true": print_steps(one.true, unit, band.unit_kind),
                "verdict": one.verdict.value,
            }
        )
    return {
        "since": _instant(finding.since),
        "until": _instant(found.done_at if found else None),
        "error": error,
        "measured": sorted({names[m.unit_id].code for m in finding.measured}),
        "turned": turned,
    }


def _instant(moment: datetime | None) -> str | None:
    return moment.isoformat() if moment else None


def _tool(question: Question, mark: Mark | None) -> Answer:
    zone = works_zone()
    start, stop = read_time(question["from"], zone), read_time(question["to"], zone)
    return {"units": _codes(units_of_tool(tool_by_code(question["of"]), start, stop, mark), mark)}


def _recorded(question: Question, mark: Mark | None) -> Answer:
    item = item_by_code(question["of"], mark)
    rows = []
    gone = Link.objects.newest(mark).exclude(status=Link.Status.STANDS).filter(draw=None, feed=None)
    for link in (gone.filter(child=item) | gone.filter(parent=item)).select_related("entry", "first__entry"):
        first = link.first or link
        names = names_of([link.child_id, link.parent_id], mark)
        how = "ended" if link.status == Link.Status.ENDED else "withdrawn"
        rows.append((names[link.child_id].code, names[link.parent_id].code, first.entry, link.entry, how))
    rows += _charges_gone(item.pk, mark)
    return {
        "items": [
            {
                "code": code,
                "from_lot": lot,
                "since": _instant(since.taken_at),
                "until": _instant(until.taken_at),
                "how": how,
            }
            for code, lot, since, until, how in rows
        ]
    }


def _charges_gone(item: int, mark: Mark | None) -> list[tuple[str, str, Any, Any, str]]:
    """Charges of a lot that were corrected to another lot or taken back."""
    rows = []
    for line in TankEntry.objects.known(mark).filter(item=item, kind=TankEntry.Kind.CHARGE, status=0):
        later = TankEntry.objects.known(mark).filter(first_id=line.line, version__gt=line.version)
        over = later.exclude(item=item, status=0).order_by("version").select_related("entry").first()
        if over is not None:
            code = names_of([item], mark)[item].code
            rows.append((line.tank.code, code, line.entry, over.entry, "withdrawn"))
    return rows


def _look_alikes(question: Question, mark: Mark | None) -> Answer:
    item = find_item(question["of"], mark)
    found = names_of([item.pk], mark)[item.pk].code if item else None
    return {"found": found, "alike": look_alikes(question["of"], mark)}


def _suspects(question: Question, mark: Mark | None) -> Answer:
    tied = suspects_of(question["bad"], question["among"], mark)
    if not tied:
        return {"first": None, "tied": [], "p": None, "counts": None}
    first = tied[0]
    return {
        "first": first.trait[1],
        "tied": sorted(one.trait[1] for one in tied),
        "p": first.p,
        "counts": list(first.counts),
    }


def _limits(question: Question, mark: Mark | None) -> Answer:
    characteristic = Characteristic.objects.filter(name=characteristic_named(question["of"])).first()
    if characteristic is None:
        return {"none": "unknown"}
    chart = chart_of(characteristic, mark)
    band = characteristic.revisions.order_by("-pk")[0]
    step = UNITS[band.unit_kind][band.unit]

    def text(steps: float) -> str:
        return f"{steps / step:.9f}"

    if chart is None:  # no two readings stand side by side: each piece has its centre, and no limits
        pieces = [[value for value in piece if value is not None] for piece in readings_in_pieces(characteristic, mark)]
        rows = [{"n": len(p), "centre": text(sum(p) / len(p)), "lower": None, "upper": None} for p in pieces if p]
        return {"mean_moving_range": None, "ranges": 0, "pieces": rows}
    return {
        "mean_moving_range": text(chart.mean_moving_range),
        "ranges": chart.ranges,
        "pieces": [
            {
                "n": piece.n,
                "centre": text(piece.limits.centre),
                "lower": text(piece.limits.lower),
                "upper": text(piece.limits.upper),
            }
            for piece in chart.pieces
        ],
    }


def _verdict(question: Question, mark: Mark | None) -> Answer:
    name = characteristic_named(question["characteristic"])
    judged = latest_of(item_by_code(question["of"], mark), name, mark)
    measurement = judged.measurement
    value = None
    if measurement is not None and measurement.value is not None:
        value = print_steps(measurement.value, measurement.unit_text, measurement.unit_kind)
    return {"value": value, "verdict": judged.verdict.value}


def _hours(question: Question, mark: Mark | None) -> Answer:
    way = way_of(item_by_code(question["of"], mark), mark)
    starts = [at for at, name in way if fold(name) == fold(question["from"])]
    stops = [at for at, name in way if fold(name) == fold(question["to"])]
    if not starts or not stops:
        return {"hours": None}
    return {"hours": f"{(stops[-1] - starts[0]).total_seconds() / 3600:.9f}"}


def _way(question: Question, mark: Mark | None) -> Answer:
    return {"way": [name for _, name in way_of(item_by_code(question["of"], mark), mark)]}


ANSWERS: dict[str, Callable[[Question, Mark | None], Answer]] = {
    "where-used": _trace,
    "made-from": _trace,
    "loops": _loops,
    "balance": _balance,
    "tank": _tank,
    "place": _place,
    "status": _status,
    "gauge": _gauge,
    "tool": _tool,
    "recorded": _recorded,
    "look-alikes": _look_alikes,
    "suspects": _suspects,
    "limits": _limits,
    "verdict": _verdict,
    "hours": _hours,
    "way": _way,
}
