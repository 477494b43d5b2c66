"""What entries that could not be placed may mean for a trace: until somebody settles one, it counts as possible.

Such an entry is no link: nobody knows whether it happened as it was sent. What it names as going in may be in what it
names as made; where that was never made, it may be in each of the units that it names, and in what another such entry
made of it. A tank stands for all lots that may be in it at the time; what was charged may be in all that was drawn
since. Settled, it counts no more: the entry that tells it right has links of its own. The same entry sent twice with
other content is placed: the first stands, and Review reads both.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet

from plant.catalogue.models import Part, Tank
from plant.codes import fold
from records.items.gates import LONGEST_CODE
from records.items.models import ItemCode
from records.items.tanks import contents_at, drawn_after
from records.ledger.asking import Asking
from records.ledger.marks import Mark
from records.ledger.models import PrivateWords, Unplaced, UnplacedSettled

from .labelling import BILLION, POSSIBLE, Way

# Kinds of entry by which something goes into something else, as the acts and as a tablet's entries name them.
_BY_DESK = (
    "unit made",
    "step done",
    "unit put in",
    "use told late",
    "pot mixed",
    "pot metered",
    "lot split",
    "lots merged",
    "tank drawn",
)
_BY_TABLET = ("wind", "mould", "bond", "step", "fill", "mix", "meter", "tank-draw")
CHARGES = ("tank charged", "tank-charge")
GOES_IN = (*_BY_DESK, *_BY_TABLET, *CHARGES)
NO_HEAD = "entry"  # kind under which a tablet's entry is kept whose head nobody could read: all of it is what was sent
# Kinds of a tablet's entries by which nothing goes in; what no head tells is taken for any other.
SAYS_NOTHING = (
    *("measure", "wait", "undo", "hold", "tank-clean", "call", "hand-over", "voice", "answer"),
    *("move", "carrier", "send-out", "come-back", "ship", "count", "label"),
)
SENT_TWICE = "conflict"
MADE = frozenset({"unit", "pot", "into", "item"})  # fields that name what something goes into


@dataclass
class Sent:
    """Codes that an entry names: what it made or worked on, and everything else; of which kind it is, and its time."""

    made: set[str] = field(default_factory=set)
    others: set[str] = field(default_factory=set)
    kind: str = ""
    at: datetime | None = None


class UnplacedTraces:
    """Possible links that only entries that were not placed tell of; read once for a walk."""

    def __init__(self, down: bool, mark: Mark | None) -> None:
        self._down = down
        self._ways: dict[int, list[Way]] | None = None
        self._mark = mark

    def of(self, items: Iterable[int]) -> dict[int, list[Way]]:
        """Possible links out of those among items that such an entry names."""
        if self._ways is None:
            self._ways = self._read()
        return {item: self._ways[item] for item in items if item in self._ways} if self._ways else {}

    def _read(self) -> dict[int, list[Way]]:
        ways: dict[int, list[Way]] = defaultdict(list)
        for near, far in pairs_of(open_entries(self._mark), self._mark):
            here, there = (near, far) if self._down else (far, near)
            ways[here].append((there, POSSIBLE, BILLION))
        return ways


def may_have_gone_in(kind: str, code: str, asked: Any) -> bool:
    """Whether something may have gone into something by an entry that was not placed, by its kind and why not."""
    return _kind_of(kind, asked) not in SAYS_NOTHING and kind in (*GOES_IN, NO_HEAD) and code != SENT_TWICE


def _kind_of(kind: str, asked: Any) -> str:
    """The kind that an entry tells itself, where its head could not be read; none where that is not to be read."""
    told = asked.get("kind") if kind == NO_HEAD and isinstance(asked, dict) else kind
    return told if isinstance(told, str) else ""


def open_entries(mark: Mark | None = None) -> list[Sent]:
    """Entries by which something went in that were not placed and, as known, not settled."""
    rows = list(_OPEN.rows(mark))
    told = opened([json.loads(raw)["asked"] for raw, _, _ in rows])
    found = [(asked, kind, at) for asked, (_, kind, at) in zip(told, rows, strict=True)]
    return [
        replace(sent_of(asked), kind=_kind_of(kind, asked), at=at)
        for asked, kind, at in found
        if may_have_gone_in(kind, "", asked)
    ]


def _open(mark: Mark | None) -> QuerySet:
    settled = UnplacedSettled.objects.known(mark).filter(unplaced=OuterRef("pk"))
    rows = Unplaced.objects.known(mark).filter(said_kind__in=(*GOES_IN, NO_HEAD)).exclude(code=SENT_TWICE)
    return rows.filter(~Exists(settled)).order_by("pk").values_list("raw", "said_kind", "said_at")


_OPEN = Asking(_open)


def opened(told: list[Any]) -> list[Any]:
    """What was asked, with what a tablet sent that nobody could read taken from the words that keep it."""
    kept = {one["payload"]["words"] for one in told if _is_kept(one)}
    texts = dict(PrivateWords.objects.filter(pk__in=kept).values_list("pk", "text")) if kept else {}
    return [_read(texts.get(one["payload"]["words"])) if _is_kept(one) else one for one in told]


def _is_kept(asked: Any) -> bool:
    return isinstance(asked, dict) and isinstance(asked.get("payload"), dict) and "words" in asked["payload"]


def _read(text: str | None) -> Any:
    try:
        return json.loads(text or "null")
    except ValueError:
        return None


def sent_of(asked: Any) -> Sent:
    """Everything in an entry that may be a code."""
    sent = Sent()
    for name, text in _texts(asked):
        code = fold(text)
        # What was sent may hold signs that no engine takes in a question; a trace must not break off at them.
        if code and len(code) <= LONGEST_CODE and code.isprintable():
            (sent.made if name in MADE else sent.others).add(code)
    return sent


def _texts(asked: Any) -> Iterator[tuple[str, str]]:
    """Texts with the name of the field that they stand under; what stands below a made thing is of it."""
    left = [("", asked)]
    while left:
        name, value = left.pop()
        match value:
            case str():
                yield name, value
            case dict():
                left += [(name if name in MADE else str(key), inner) for key, inner in value.items()]
            case list():
                left += [(name, inner) for inner in value]


@dataclass(frozen=True)
class OnFile:
    """What the codes of entries stand for: items with their kinds, tanks, and what else was made of unplaced things."""

    items: dict[str, tuple[int, str]]
    tanks: dict[str, Tank]
    makers: dict[str, list[Sent]]  # entries by what they made and nobody has on file
    mark: Mark | None

    def made(self, sent: Sent) -> set[int]:
        """Items that something may have gone into by an entry."""
        if sent.kind in CHARGES:
            tanks = (self.tanks[code] for code in sent.others if code in self.tanks)
            return {item for tank in tanks if sent.at for item in drawn_after(tank, sent.at, self.mark)}
        made = {self.items[code][0] for code in sent.made if code in self.items}
        found = (self.items[code] for code in sent.others if code in self.items)
        return made or {item for item, kind in found if kind == Part.Tracked.UNIT}

    def went_in(self, sent: Sent, behind: frozenset[str] = frozenset()) -> set[int]:
        """Items that may have gone in by an entry; ``behind`` are unplaced things looked at on the way here."""
        gone = {self.items[code][0] for code in sent.others if code in self.items}
        for code in sent.others - set(self.items):
            if code in self.tanks and sent.at and sent.kind not in CHARGES:
                gone |= set(contents_at(self.tanks[code], sent.at, self.mark))
            for maker in self.makers.get(code, ()) if code not in behind else ():
                gone |= self.went_in(maker, behind | {code})
        return gone


def pairs_of(entries: list[Sent], mark: Mark | None = None) -> Iterator[tuple[int, int]]:
    """Items that went in and what they may have gone into, by number."""
    wanted = {code for sent in entries for code in (*sent.made, *sent.others)}
    if not wanted:
        return
    rows = ItemCode.objects.filter(code__in=wanted).values_list("code", "item_id", "item__kind")
    items = {code: (item, kind) for code, item, kind in rows}
    tanks = {tank.code: tank for tank in Tank.objects.filter(code__in=wanted - set(items))}
    makers: dict[str, list[Sent]] = defaultdict(list)
    for sent in entries:
        for code in sent.made - set(items):
            makers[code].append(sent)
    on_file = OnFile(items, tanks, makers, mark)
    for sent in entries:
        targets = on_file.made(sent)
        gone = on_file.went_in(sent) if targets else ()
        yield from ((item, target) for item in gone for target in targets if item != target)
