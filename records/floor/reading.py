"""An entry of the floor understood: each kind has one reader, which names its fields and calls one action.

The tablet's batch and the plain forms go through here alike, so that both mean the same.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from uuid import UUID
from zoneinfo import ZoneInfo

from plant.quantities import read_decimal, read_quantity
from plant.scans import LONGEST
from records.inspection.actions import Line, record_sheet
from records.items import actions as items
from records.items.making import Input
from records.items.models import Hold, Item
from records.ledger.acts import Said
from records.ledger.refusals import Refused
from records.steps import actions as steps
from records.steps.recording import Read

from . import coming_and_going
from .actions import Seen, answer_call, call_lead, hand_over, note_by_voice
from .by_voice import call_of, entry_under
from .envelopes import Envelope, read_key
from .fields import MALFORMED, Fields
from .shown import COUNTS_FOR, WITHOUT_LINK, read_shown
from .undoing import undo

LONGEST_SHOWN = 200_000  # a page of some hundred lines, pressed together
OUTCOMES = ("done", "failed", "interrupted")


def read_entry(envelope: Envelope, zone: ZoneInfo) -> Callable[[], object]:
    """The act that an entry asks for, ready to be called. Refuses ``malformed`` and what a field refuses."""
    reader = READERS.get(envelope.kind)
    if reader is None:
        raise Refused(
            MALFORMED, "%(kind)s is no kind of entry. One of: %(kinds)s.", kind=envelope.kind, kinds=", ".join(READERS)
        )
    fields = Fields(envelope.payload if envelope.payload is not None else {}, zone, "payload:")
    called = reader(fields, envelope.said)
    fields.end()
    return called


def _lot(fields: Fields) -> Input:
    """A lot that goes in: ``lot``, ``amount``, ``part`` off the label of one not on file, ``doubt`` as a share."""
    doubt = fields.text("doubt")
    share = None if not doubt else int(_share(doubt) * 10**9)
    return Input(fields.text("lot", needed=True), fields.amount("amount"), share, fields.text("part"))


def _share(text: str) -> Decimal:
    share = read_decimal(text)
    if not 0 <= share <= 1:
        raise Refused("not-a-number", "A share lies between 0 and 1, not %(text)s.", text=text)
    return share


def _lots(fields: Fields, name: str) -> list[Input]:
    lots = []
    for row in fields.rows(name):
        lots.append(_lot(row))
        row.end()
    return lots


def _weighed(fields: Fields) -> list[Input]:
    """Components of a pot: as any lot that goes in, each with the ``scale`` that it was weighed on."""
    lots = []
    for row in fields.rows("components"):
        lots.append(replace(_lot(row), scale=row.text("scale")))
        row.end()
    return lots


def _readings(fields: Fields) -> list[Read]:
    readings = []
    for row in fields.rows("readings"):
        name, reason = row.text("name", needed=True), row.text("reason", longest=20)
        value, unit = row.text("value", needed=not reason), row.text("unit", longest=8)
        readings.append(Read(name, value, unit, reason))
        row.end()
    return readings


def _shots(fields: Fields) -> list[steps.Shot]:
    """Lots that go in at a step: without an ``amount`` it is what the route says, else all that is left."""
    shots = []
    for row in fields.rows("shots"):
        amount = row.text("amount")
        shots.append(
            steps.Shot(row.text("lot", needed=True), read_quantity(amount) if amount else None, row.text("part"))
        )
        row.end()
    return shots


def _outcome(fields: Fields) -> str:
    outcome = fields.text("outcome") or OUTCOMES[0]
    if outcome not in OUTCOMES:
        raise Refused(MALFORMED, "outcome must be one of: %(these)s.", these=", ".join(OUTCOMES))
    return outcome


def _made(fields: Fields) -> steps.Made:
    return steps.Made(
        tools=fields.texts("tools"),
        station=fields.text("station"),
        head=fields.text("head", longest=20),
        readings=_readings(fields),
        began_at=fields.moment("began_at"),
        outcome=_outcome(fields),
        rules_seen=fields.text("rules_seen"),
    )


def _wind(fields: Fields, said: Said) -> Callable[[], object]:
    unit, part, spools, made = (
        fields.text("unit"),
        fields.text("part", needed=True),
        _lots(fields, "spools"),
        _made(fields),
    )
    return lambda: steps.wind(unit, part=part, spools=spools, made=made, said=said)


def _mould(fields: Fields, said: Said) -> Callable[[], object]:
    unit, part, made = fields.text("unit"), fields.text("part", needed=True), _made(fields)
    moulding = steps.Moulding(
        fields.texts("preforms"), _lots(fields, "fill"), _lots(fields, "inserts"), fields.texts("bladders")
    )
    return lambda: steps.mould(unit, part=part, moulding=moulding, made=made, said=said)


def _bond(fields: Fields, said: Said) -> Callable[[], object]:
    unit, part, made = fields.text("unit"), fields.text("part", needed=True), _made(fields)
    front, rear = fields.text("front", needed=True), fields.text("rear", needed=True)
    bonding = steps.Bonding(front, rear, _lots(fields, "adhesive"))
    return lambda: steps.bond(unit, part=part, bonding=bonding, made=made, said=said)


def _step(fields: Fields, said: Said) -> Callable[[], object]:
    unit, step = fields.text("unit", needed=True), fields.text("operation", needed=True)
    work = steps.Work(
        station=fields.text("station"),
        tools=fields.texts("tools"),
        readings=_readings(fields),
        began_at=fields.moment("began_at"),
        outcome=_outcome(fields),
        rules_seen=fields.text("rules_seen"),
        shots=_shots(fields),
        carrier=fields.text("carrier", longest=LONGEST),
    )
    return lambda: steps.log_step(unit, step=step, work=work, said=said)


def _measure(fields: Fields, said: Said) -> Callable[[], object]:
    unit, station = fields.text("unit", needed=True), fields.text("station")
    lines = []
    for row in fields.rows("lines", needed=True):
        readings = row.texts("readings")
        lines.append(Line(row.text("characteristic", needed=True), readings, row.text("gauge"), row.text("reason")))
        row.end()
    return lambda: record_sheet(unit, lines, station=station, said=said)


def _mix(fields: Fields, said: Said) -> Callable[[], object]:
    pot, mix, inputs = fields.text("pot"), fields.text("mix", needed=True), _weighed(fields)
    scales, station = tuple(fields.texts("scales")), fields.text("station")
    weighing = items.Weighing(scales, station, beside=fields.truth("beside"))
    said = _read_twice(fields, said)
    return lambda: items.mix_pot(pot, mix=mix, inputs=inputs, weighing=weighing, said=said)


def _meter(fields: Fields, said: Said) -> Callable[[], object]:
    """A pot of a machine: each component from its ``tank``, or as any lot that goes in."""
    pot, mix, station = fields.text("pot"), fields.text("mix", needed=True), fields.text("station")
    inputs = []
    for row in fields.rows("components", needed=True):
        tank = row.text("tank")
        inputs.append(Input(tank, row.amount("amount")) if tank else _lot(row))
        row.end()
    weighing, said = items.Weighing(station=station, beside=fields.truth("beside")), _read_twice(fields, said)
    return lambda: items.meter_masses(pot, mix=mix, inputs=inputs, weighing=weighing, said=said)


def _read_twice(fields: Fields, said: Said) -> Said:
    """The masses as read once more: sealed with the entry, for whoever doubts them."""
    again = fields.texts("again")
    return replace(said, told={**said.told, "read_again": again}) if again else said


def _hold(fields: Fields, said: Said) -> Callable[[], object]:
    made_by = fields.text("made_by")
    item = fields.text("item", needed=not made_by)
    reason, words = fields.text("reason", needed=True), fields.words("words")

    def held() -> Hold:
        code = item or _code_made_by(read_key(made_by))
        return items.place_hold(code, reason=reason, words=words, scope=Hold.Scope.ALL, said=said)

    return held


def _code_made_by(key: UUID) -> str:
    """Code of the unit that an earlier entry made: the tablet does not know it while it has no link."""
    made = Item.objects.filter(entry__key=key).select_related("state").first()
    if made is None:
        raise Refused("unknown", "The entry that made what is to be held is not on file. Scan it and hold it.")
    return made.code


def _charge(fields: Fields, said: Said) -> Callable[[], object]:
    tank, lot = fields.text("tank", needed=True), _lot(fields)
    return lambda: items.charge_tank(tank, lot=lot, said=said)


def _draw(fields: Fields, said: Said) -> Callable[[], object]:
    tank, into, quantity = fields.text("tank", needed=True), fields.text("into"), fields.amount("amount")
    return lambda: items.draw_tank(tank, into=into, quantity=quantity, all_the_same=said.done, said=said)


def _clean(fields: Fields, said: Said) -> Callable[[], object]:
    tank = fields.text("tank", needed=True)
    # A tablet without a link can't ask what is in it by its log: what it tells then is marked like an answer.
    return lambda: items.clean_tank(tank, all_the_same=True, said=said)


def _call(fields: Fields, said: Said) -> Callable[[], object]:
    station, unit = fields.text("station"), fields.text("about")
    return lambda: call_lead(station, unit=unit, said=said)


def _wait(fields: Fields, said: Said) -> Callable[[], object]:
    unit, minutes = fields.text("unit", needed=True), fields.whole("minutes", most=10**4)
    read = steps.Outside(
        fields.text("reading", needed=True),
        fields.text("value", needed=True),
        fields.text("of", longest=8),
        fields.text("operation"),
    )
    return lambda: steps.measure_again(unit, read=read, minutes=minutes, said=said)


def _hand_over(fields: Fields, said: Said) -> Callable[[], object]:
    """A hand-over: the lines as the page carried them; the lead who takes over is the one who signs beside."""
    text, words = fields.text("shown", needed=True, longest=LONGEST_SHOWN), fields.words("words")
    without_link = fields.truth("without_link")
    unsent = fields.whole("unsent", most=10**4) if without_link else None
    shown = read_shown(text, said.happened_at, WITHOUT_LINK if without_link else COUNTS_FOR)
    seen = Seen(shown.at, unsent)
    return lambda: hand_over(shown.lines, coming=said.second, words=words, seen=seen, said=said)


def _answer(fields: Fields, said: Said) -> Callable[[], object]:
    """What the lead answers to a call, which is named by the key of its entry."""
    of = read_key(fields.text("of", needed=True))
    says, words = fields.text("says", needed=True), fields.words("words")
    return lambda: answer_call(call_of(of), says=says, words=words, said=said)


def _voice(fields: Fields, said: Said) -> Callable[[], object]:
    """What was done by voice about a call or a hold, which is named by the key of its entry."""
    of = read_key(fields.text("of", needed=True))
    says, words = fields.text("says", needed=True), fields.words("words")
    return lambda: note_by_voice(entry_under(of), says=says, words=words, said=said)


def _undo(fields: Fields, said: Said) -> Callable[[], object]:
    of = read_key(fields.text("of", needed=True))
    return lambda: undo(of, said)


READERS: dict[str, Callable[[Fields, Said], Callable[[], object]]] = {
    "wind": _wind,
    "mould": _mould,
    "bond": _bond,
    "step": _step,
    "measure": _measure,
    "mix": _mix,
    "meter": _meter,
    "wait": _wait,
    "undo": _undo,
    "hold": _hold,
    **coming_and_going.READERS,
    "tank-charge": _charge,
    "tank-draw": _draw,
    "tank-clean": _clean,
    "call": _call,
    "hand-over": _hand_over,
    "voice": _voice,
    "answer": _answer,
}


def made_by(result: object) -> str:
    """Code of what an act has made, where it made a thing with a code."""
    return str(getattr(result, "code", ""))
