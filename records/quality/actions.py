"""What can happen in Review: a departure is noted, decided, countersigned; two swapped labels are put right."""

from __future__ import annotations

from datetime import datetime, timedelta

from plant.catalogue.models import Part
from plant.codes import fold
from records.inspection.actions import move_measurements
from records.items.actions.labels import write_swap
from records.items.clearing import ALLOWED
from records.items.locking import lock_items
from records.items.making import next_code
from records.items.models import Evidence, Item, LabelSwap
from records.items.queries import item_by_code
from records.ledger.acts import Act, Free, Said, act
from records.ledger.clock import clock
from records.ledger.models import Flag
from records.ledger.refusals import Conflict, Refused
from records.ledger.words import keep_words
from records.steps.actions.working import move_steps
from records.steps.carrying import SWAPPED, end_carriers

from .models import Countersign, Disposition, FlagAnswer, Nonconformance, OwnerReport

# So many reports of one frame within a day are taken: more are no news. A choice of this project, no source.
MOST_REPORTS, WITHIN = 6, timedelta(days=1)


def note_departure(item: str, *, defect: str, words: str, said: Said) -> Nonconformance:
    """Note a departure from what was asked. Refuses ``unknown`` and ``no-reason``."""
    with act("departure noted", said, item=fold(item), defect=defect, words=Free(words)) as a:
        if a.made:
            return Nonconformance.objects.get(entry=a.entry)
        thing = item_by_code(item)
        if defect not in Nonconformance.Defect.values:
            raise Refused("unknown", "Choose what is wrong from the list.")
        return _departure(a, thing, defect, words)


def _departure(a: Act, thing: Item, defect: str, words: str) -> Nonconformance:
    if not words.strip():
        raise Refused("no-reason", "Write what you see, and where.")
    lock_items([thing])
    code = next_code(a, "NC")
    return a.write(Nonconformance(code=code, item=thing, defect=defect, words=keep_words(words), found_at=a.at))


def report_damage(item: str, *, words: str, contact: str = "", said: Said) -> Nonconformance:
    """Take what whoever has a frame tells of it without a badge; the program says it, and Review decides.

    It holds nothing: anybody with the frame in front of them may send it. Refuses ``unknown``, ``no-reason``, and
    ``too-many`` where a day brought enough of one frame.
    """
    stated = {"item": fold(item), "words": Free(words), "contact": Free(contact)}
    with act("damage reported", said, **stated) as a:
        if a.made:
            return Nonconformance.objects.get(entry=a.entry)
        thing = item_by_code(item)
        departure = _departure(a, thing, Nonconformance.Defect.REPORTED, words)
        ask_more_reports(thing)
        a.write(OwnerReport(departure=departure, contact=keep_words(contact)))
        return departure


def ask_more_reports(item: Item) -> None:
    """Whether one more report of a frame is news today. Refuses ``too-many``."""
    before = OwnerReport.objects.filter(departure__item=item, entry__taken_at__gt=clock.now() - WITHIN)
    if before.count() >= MOST_REPORTS:
        raise Refused("too-many", "This frame was reported several times today. Phone us instead.")


def nonconformance_by_code(code: str) -> Nonconformance:
    """Nonconformance by its code, newest version. Refuses ``unknown``."""
    found = Nonconformance.objects.newest().filter(code=fold(code)).first()
    if found is None:
        raise Refused("unknown", "No nonconformance %(code)s is on file.", code=fold(code))
    return found


def decide_departure(code: str, *, choice: str, words: str, said: Said) -> Disposition:
    """Decide what becomes of it. Allowing a unit as it is counts once another person countersigns.

    Refuses ``unknown``, ``no-reason``, and ``decided`` where it was decided before.
    """
    with act("departure decided", said, code=fold(code), choice=choice, words=Free(words)) as a:
        if a.made:
            return Disposition.objects.get(entry=a.entry)
        departure = nonconformance_by_code(code)
        if choice not in Disposition.Choice.values:
            raise Refused("unknown", "Choose what becomes of it from the list.")
        if not words.strip():
            raise Refused("no-reason", "Write why. The auditor will read it.")
        lock_items([departure.item])
        if Disposition.objects.filter(nonconformance=departure).exists():
            raise Conflict("decided", "%(code)s was decided already.", code=departure.code)
        return a.write(Disposition(nonconformance=departure, choice=choice, words=keep_words(words)))


def countersign_departure(code: str, *, said: Said) -> Countersign:
    """Agree as a second person. Refuses ``unknown``, ``second-person`` and ``decided``."""
    with act("departure countersigned", said, code=fold(code)) as a:
        if a.made:
            return Countersign.objects.get(entry=a.entry)
        decision = Disposition.objects.filter(nonconformance=nonconformance_by_code(code)).first()
        if decision is None:
            raise Refused("unknown", "%(code)s is not decided yet.", code=fold(code))
        if decision.entry.by_id == said.by.pk:
            raise Refused("second-person", "You decided this. Another person must sign beside you.")
        row = Countersign(disposition=decision, decider=decision.entry.by, signer=said.by)
        made = a.write_only(row, Conflict("decided", "%(code)s is countersigned already.", code=fold(code)))
        _tell_stores(a, decision)
        return made


def _tell_stores(a: Act, decision: Disposition) -> None:
    """A departure on a lot that two people allow is evidence for the gates below, which decide on lots."""
    departure = decision.nonconformance
    if decision.choice == Disposition.Choice.AS_IS and departure.item.kind == Part.Tracked.LOT:
        within = Evidence.Verdict.WITHIN
        a.write(Evidence(item=departure.item, what=ALLOWED, name=departure.defect, verdict=within, at=a.at))


def answer_flag(flag: Flag, *, found: str, words: str, said: Said) -> FlagAnswer:
    """Say what was found behind an entry that was kept and marked. Its holds stay until they are lifted.

    Refuses ``unknown``, ``no-reason``, and ``answered`` where somebody was faster.
    """
    with act("flag answered", said, flag=flag.pk, found=found, words=Free(words)) as a:
        if a.made:
            return FlagAnswer.objects.get(entry=a.entry)
        if found not in FlagAnswer.Found.values:
            raise Refused("unknown", "Choose what was found from the list.")
        if not words.strip():
            raise Refused("no-reason", "Write what you found. The auditor will read it.")
        overtaken = Conflict("answered", "Somebody has answered this one already.")
        if FlagAnswer.objects.filter(flag=flag).exists():
            raise overtaken
        return a.write_only(FlagAnswer(flag=flag, found=found, words=keep_words(words)), overtaken)


def swap_labels(one: str, other: str, *, since: datetime, words: str, said: Said) -> LabelSwap:
    """Two units carried each other's label since a moment: links, steps and readings since go over, in one act.

    What was recorded before stays; the old state is readable. Both are held until two people confirm, and nothing
    carries their codes until it is put on and read anew. Refuses
    ``unknown``, ``itself`` and ``wrong-kind`` for units of different parts.
    """
    stated = {"one": fold(one), "other": fold(other), "since": since, "words": Free(words)}
    with act("labels swapped", said, **stated) as a:
        if a.made:
            return LabelSwap.objects.get(entry=a.entry)
        swap = write_swap(a, one, other, since, words)
        move_steps(a, swap.one, swap.other, since)
        move_measurements(a, swap.one, swap.other, since)
        end_carriers(a, [swap.one, swap.other], SWAPPED)
        return swap
