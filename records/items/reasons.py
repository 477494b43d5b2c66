"""Why things are held or marked, in words. Codes stand in the records; people read these."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

from plant.speaking import in_language, word

PLACE = re.compile(r"%\((\w+)\)s")

# Chosen by a person who holds something.
CHOSEN: dict[str, str] = {
    "dimension": "a dimension",
    "cure": "a cure or vacuum run",
    "material": "material or its certificate",
    "surface": "surface or bond",
    "doubt": "a doubt about the record",
    "recall": "named in a recall",
    "other": "something else",
}


class Cause(NamedTuple):
    """A cause as a list names it, and as it is said after "because", with the facts of the one case."""

    word: str
    said: str = ""


# Causes that hold or mark by themselves, and reasons that acts give.
CAUSES: dict[str, Cause] = {
    "run-failed": Cause("a run outside its recipe", "the run was outside its recipe"),
    "measured-outside": Cause("a measure outside its band", "a measure lies outside its band"),
    "reading-outside": Cause("a reading outside its band", "%(name)s lies outside its band"),
    "leak-test-missing": Cause(
        "filled without a leak test on file", "no good %(step)s is on file since the mould was closed"
    ),
    "leak-test-lapsed": Cause("filled after its leak test had lapsed", "the %(step)s was good until %(until)s only"),
    "not-vented": Cause("opened before it was made safe", "no good %(step)s of %(unit)s is on file"),
    "too-early": Cause("gone on with before it had rested", "%(unit)s was to rest after %(after)s until %(until)s"),
    "no-pot": Cause("filled from a pot that nobody scanned", "nobody knows which pot it was"),
    "held": Cause("made from something that was held", "%(code)s was held at the time"),
    "expired": Cause("used past its end", "%(code)s was past its end"),
    "not-cleared": Cause("used before it was accepted", "%(code)s was not accepted yet"),
    "not-here": Cause("booked out at the time", "%(code)s was booked out at the time"),
    "scrapped": Cause("scrapped before", "%(code)s was scrapped before"),
    "already-used": Cause("in another unit already", "%(code)s is in another unit already"),
    "out-of-order": Cause("a step is not on file that comes first", "%(step)s of %(unit)s is not on file"),
    "not-qualified": Cause("done by somebody not on the list", "you are not on the list for %(operation)s"),
    "right-one-barred": Cause(
        "put right to one that might not be used", "%(code)s, which did go in, might not have been used then"
    ),
    "over-drawn": Cause("more taken than it should hold", "more was taken from %(code)s than it should hold: weigh it"),
    "not-booked-in": Cause("used and not booked in", "%(code)s is not booked in; Stores has been told to receive it"),
    "gauge-overdue": Cause("a gauge past its check", "the gauge was past its check. Take another one if you can"),
    "not-thawed": Cause("opened before it was thawed", "%(code)s was not thawed"),
    "not-acceptable": Cause("accepted against its certificate", "%(code)s was not acceptable: %(why)s"),
    "decided-before": Cause("decided on twice", "%(code)s was %(decision)s already"),
    "loop": Cause("made from itself by what was scanned", "a thing would be made from itself: look at the codes again"),
    "scale-too-coarse": Cause("a scale that can't judge the ratio", "this scale can't judge the ratio of %(part)s"),
    "off-ratio": Cause("mixed off its ratio", "%(part)s is off its ratio"),
    "gate-open": Cause("let go with a line of the gate open", "%(name)s of %(unit)s is %(verdict)s"),
    "not-released": Cause("shipped without a release", "%(unit)s was not released"),
    "bad-signature": Cause("a signature that does not fit", "its signature does not fit a key of this tablet"),
    "unsigned": Cause("not signed by its maker's key", "no key of its maker signed it"),
    "right-ended": Cause(
        "kept on a tablet before its maker’s badge or role was taken away",
        "its maker might do it then; the badge or the role was taken away before it went up",
    ),
    "tank-held": Cause("drawn from a tank that may hold what is held", "something held may be in %(tank)s"),
    "tank-barred": Cause(
        "drawn from a tank that may hold what is past its end or not accepted",
        "something past its end or not accepted may be in %(tank)s",
    ),
    "not-empty": Cause(
        "told to be clean while its log says that something is in it", "something was still in %(tank)s by its log"
    ),
    "told-alone": Cause(
        "taken off a barred lot by one alone", "nobody signed beside you that %(code)s, which is barred, is not in it"
    ),
    "second-person": Cause("without a second person", "no second person signed it"),
    "tablet-lost": Cause("a tablet that was lost", "it came from %(tablet)s, which is locked out"),
    "tablet-answered": Cause("it is known now what was done on a tablet that was lost"),
    "put-aside": Cause("put aside by the lead"),
    "labels-swapped": Cause("two labels were swapped"),
    "supplier-call": Cause("a call from the supplier"),
    "field-failure": Cause("a failure in use"),
    "conflict": Cause("sent twice with different content"),
    "not-heard": Cause("a call for the lead that nobody heard", "the call came in late: nobody heard it"),
    "time-unsure": Cause("a time that is unsure", "the tablet's clock was far off, so its time is unsure"),
    "paper-not-shown": Cause("an entry from paper without its photo", "the paper was not photographed: %(why)s"),
    "photo-left-out": Cause("a photo that was left out", "its photo %(mark)s was left out: %(why)s"),
    "typed-before": Cause("a line of paper typed in twice", "line %(line)s of %(sheet)s was typed in before"),
    "told": Cause("told by a person"),
    "not-prepared": Cause(
        "joined too long after it was prepared", "the %(step)s of %(unit)s was good until %(until)s only"
    ),
    "waits": Cause("done before it was measured again", "%(unit)s was to wait until %(until)s"),
    "wrong-carrier": Cause("another unit’s code on it", "it carries the code of %(found)s: look at both units"),
    "carried-twice": Cause("one code on two units", "%(found)s stands on %(other)s as well: look at both units"),
    "old-carrier": Cause("an old label on it", "label %(copy)s of %(unit)s is an old one: take it off"),
    "no-carrier": Cause("nothing that carries its code", "nothing that carries the code of %(unit)s was scanned"),
    "passing-carrier": Cause(
        "sent out without a carrier that outlives paint", "nothing that outlives paint carries the code of %(unit)s"
    ),
    "went-in": Cause("it went into another unit"),
    "came-out": Cause("it came out of its tool"),
    "carrier-lost": Cause("it is lost"),
    "worn": Cause("it is worn"),
    "burnt": Cause("it is burnt"),
    "painted-over": Cause("it is painted over"),
    "unreadable": Cause("it can’t be read any more"),
    "came-off": Cause("it came off"),
    "not-its-own": Cause("it was another unit’s"),
    "read-wrong": Cause("read wrong"),
    "wrong-unit": Cause("in a wrong unit of measure"),
    "wrong-frame": Cause("it belongs to another frame"),
    "gauge-fault": Cause("the gauge is at fault"),
    "not-read": Cause("it could not be read"),
    "cannot-reach": Cause("nobody could get at it"),
    "no-gauge": Cause("no gauge to hand"),
    "gauge-doubtful": Cause("the gauge is doubtful"),
    "surface-not-ready": Cause("the surface was not ready"),
}


def reason_words(code: str) -> str:
    """Words of a reason; a code that is not on the list is told as it stands.

    Examples
    --------
    >>> reason_words("run-failed"), reason_words("wet-floor")
    ('a run outside its recipe', 'wet floor')
    """
    cause = CAUSES.get(code)
    return CHOSEN.get(code) or (cause.word if cause else code.replace("-", " "))


def because(code: str, facts: Mapping[str, object]) -> str:
    """What is said of one case after "because"; a fact that is not at hand is called "it".

    Examples
    --------
    >>> because("expired", {"code": "RB-26-000042-7"}), because("expired", {})
    ('RB-26-000042-7 was past its end', 'it was past its end')
    """
    cause = CAUSES.get(code)
    if not (cause and cause.said):
        return word(reason_words(code))
    places = dict.fromkeys(PLACE.findall(cause.said), "it")
    return in_language(cause.said, {name: facts.get(name, it) for name, it in places.items()})
