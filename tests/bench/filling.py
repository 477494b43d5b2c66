"""A plant as rows, as the actions would have written them: entries, items, codes, states, links, the tank's log.

No payloads, steps or moves of a later day. An entry for each act, numbered by time; items and links likewise.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from django.db import transaction

from plant import codes
from plant.catalogue.models import MixRevision, Part, PartRevision, Tank
from plant.equipment.models import Station
from records.items.models import (
    CodeCounter,
    Item,
    ItemCode,
    ItemState,
    Link,
    LotDecision,
    Move,
    Place,
    Receipt,
    TankEntry,
    TankLock,
)
from records.items.queries import HERE, IN
from records.ledger.clock import clock
from records.ledger.models import Entry, PrivateWords, TreeHead
from records.ledger.words import commitment
from tests import builders
from tests.bench.bulk import analyse, or_nothing, put, reserve, times
from tests.bench.links import NOTHING, TAKEN_OUT_AFTER, Links, Numbered, slip_of
from tests.bench.plant import CHARGE, CLEAN, DRAW, HOUR, KILO, Numbers, Plant, Things, plant_of

PARTS = {
    "fibre": "FIB-UD",
    "binder": "BND-A",
    "resin": "RES-A",
    "hardener": "HRD-A",
    "hardware": "INS-BB",
    "adhesive": "ADH-A",
    "adhesive-hardener": "ADH-H",
    "spool": "FIB-UD",
    "tin": "BND-A",
    "insert": "INS-BB",
    "drawn": "RES-A",
    "pot": "MIX-A",
    "glue": "ADH-M",
    "preform": "TUBE",
    "front": "OSIER-F",
    "rear": "OSIER-R",
    "frame": "OSIER",
}
STATIONS = {"preform": "WIND-1", "front": "MOULD-1", "rear": "MOULD-1", "frame": "BOND-1"}
ACTS = {"pot": "pot mixed", "glue": "pot mixed", "drawn": "tank drawn"} | dict.fromkeys(STATIONS, "unit made")
POTS = {"pot": "MIX-A", "glue": "ADH-M"}
WHY = "the label of the one before was scanned"


def fill_plant(frames: int, seed: int = 9162) -> Plant:
    """An opened works and a plant in it that has bonded so many frames."""
    with clock.at(builders.LONG_AGO):
        builders.a_works()
    plant = plant_of(frames, seed)
    with transaction.atomic():
        Filling(plant).fill()
    analyse()
    return plant


def _act_of_birth(kind: str, things: Things) -> str:
    return "lot received" if things.delivered else ACTS.get(kind, "lot split")


class Acts:
    """Acts in order of time: every one has its entry."""

    def __init__(self) -> None:
        self._kinds: list[str] = []
        self._at: list[Numbers] = []
        self._names: list[str] = []
        self.entries: dict[str, Numbers] = {}

    def add(self, name: str, kind: str, at: Numbers) -> None:
        """Acts of one kind, under a name by which their entries are found."""
        self._names.append(name)
        self._kinds += [kind] * len(at)
        self._at.append(at)

    def write(self, rng: np.random.Generator) -> None:
        """Their entries; of acts at one moment those added first come first."""
        at = np.concatenate(self._at)
        order = np.argsort(at, kind="stable")
        numbers = np.empty_like(at)
        numbers[order] = reserve(Entry, len(at)) + np.arange(len(at))
        ends = np.cumsum([len(part) for part in self._at])[:-1]
        self.entries = dict(zip(self._names, np.split(numbers, ends), strict=True))
        moments = times(at[order])
        keys = rng.bytes(16 * len(at)).hex()
        columns = {
            "id": numbers[order],
            "key": [keys[n : n + 32] for n in range(0, len(keys), 32)],
            "kind": [self._kinds[n] for n in order],
            "by_id": builders.a_person().pk,
            "asked": bytes(32),
        }
        put(Entry, len(at), columns | dict.fromkeys(("made_at", "happened_at", "taken_at"), moments))


class Filling:
    """Writes the rows of a drawn plant."""

    def __init__(self, plant: Plant) -> None:
        self._plant = plant
        self._tank = Tank.objects.get(code="TK-1")
        self._rng = np.random.default_rng(1)
        self._acts = Acts()
        self._items: dict[str, Numbers] = {}

    def fill(self) -> None:
        """All of them, those that others point to first."""
        self._enter()
        self._number_items()
        lines = reserve(TankEntry, len(self._plant.tank.at)) + np.arange(len(self._plant.tank.at))
        self._links = Links(self._plant, Numbered(self._acts.entries, self._items, lines))
        self._write_places()
        self._write_items()
        self._write_codes()
        self._write_deliveries()
        self._write_tank(lines)
        self._write_links()
        self._write_states()
        self._write_head()

    def _enter(self) -> None:
        plant, acts = self._plant, self._acts
        for kind in PARTS:
            things = plant.things[kind]
            acts.add(kind, _act_of_birth(kind, things), things.born)
            if things.delivered:
                acts.add(f"accepted {kind}", "lot accepted", things.born + HOUR)
        acts.add("clean", "tank cleaned", plant.tank.at[plant.tank.kind == CLEAN])
        acts.add("charge", "tank charged", plant.tank.at[plant.tank.kind == CHARGE])
        for n, uses in enumerate(plant.uses):
            acts.add(slip_of(n), "link corrected", plant.things[uses.child].born[uses.of[uses.wrong]] + HOUR)
        out = plant.things["frame"].born[plant.fronts_out] + TAKEN_OUT_AFTER
        acts.add("out", "unit taken out", out)
        acts.write(self._rng)

    def _of_all(self, what: Callable[[str], np.ndarray]) -> np.ndarray:
        """One column over all things, in order of their numbers."""
        return np.concatenate([np.asarray(what(kind)) for kind in PARTS])[self._order]

    def _number_items(self) -> None:
        """Items have their numbers in the order of their entries."""
        entries = np.concatenate([self._acts.entries[kind] for kind in PARTS])
        self._order = np.argsort(entries)
        self._entries = entries[self._order]
        numbers = np.empty_like(entries)
        self._numbers = reserve(Item, len(entries)) + np.arange(len(entries))
        numbers[self._order] = self._numbers
        ends = np.cumsum([len(self._plant.things[kind].born) for kind in PARTS])[:-1]
        self._items = dict(zip(PARTS, np.split(numbers, ends), strict=True))
        self._born = self._of_all(lambda kind: self._plant.things[kind].born)

    def _each(self, told: Callable[[str], object]) -> list:
        """What is the same for all things of a kind, for each thing."""
        return self._of_all(lambda kind: np.full(len(self._plant.things[kind].born), told(kind))).tolist()

    def _write_items(self) -> None:
        parts = {part.number: part for part in Part.objects.all()}
        revisions = dict(PartRevision.objects.order_by("pk").values_list("part__number", "pk"))
        lives = dict(MixRevision.objects.values_list("part__number", "pot_life_ms"))
        life = np.array(self._each(lambda kind: lives[POTS[kind]] * 1000 if kind in POTS else 0))
        ends = [end if lives else None for end, lives in zip(times(self._born + life), life, strict=True)]
        columns = {
            "id": self._numbers,
            "entry_id": self._entries,
            "kind": self._each(lambda kind: parts[PARTS[kind]].tracked),
            "revision_id": self._each(lambda kind: revisions[PARTS[kind]]),
            "origin": self._each(lambda kind: Item.Origin.RECEIVED if self._is_delivered(kind) else Item.Origin.MADE),
            "born_at": times(self._born),
            "place_of_birth_id": or_nothing(self._place),
            "good_until": ends,
        }
        put(Item, len(self._numbers), columns)

    def _is_delivered(self, kind: str) -> bool:
        return self._plant.things[kind].delivered > 0

    def _write_places(self) -> None:
        """The stations as places, each written down by the first unit that came there."""
        stations = dict(Station.objects.values_list("code", "pk"))
        found = {}
        for code in dict.fromkeys(STATIONS.values()):
            entry = min(self._acts.entries[kind].min() for kind, at in STATIONS.items() if at == code)
            columns = {"station_id": stations[code], "code": code, "kind": Place.Kind.STATION, "entry_id": int(entry)}
            found[code] = reserve(Place, 1)
            put(Place, 1, columns | {"id": found[code]})
        self._place = np.array(self._each(lambda kind: found[STATIONS[kind]] if kind in STATIONS else NOTHING))
        placed = self._place >= 0
        columns = {
            "id": reserve(Move, placed.sum()) + np.arange(placed.sum()),
            "entry_id": self._entries[placed],
            "item_id": self._numbers[placed],
            "place_id": self._place[placed],
            "at": times(self._born[placed]),
        }
        self._moves = columns

    def _write_codes(self) -> None:
        """Codes of the house, numbered by birth in a prefix and a year; and the last of each."""
        prefixes = dict(Part.objects.values_list("number", "prefix"))
        years = self._born.astype("M8[us]").astype("M8[Y]").astype(int) + 1970
        last: dict[str, list[int]] = {}
        self._codes = []
        for prefix, year, entry in zip(
            self._each(lambda kind: prefixes[PARTS[kind]]), years.tolist(), self._entries.tolist(), strict=True
        ):
            counter = last.setdefault(f"{prefix}-{year % 100:02d}", [0, 0])
            counter[0], counter[1] = counter[0] + 1, entry
            self._codes.append(codes.house_code(prefix, year, counter[0]))
        columns = {
            "id": reserve(ItemCode, len(self._codes)) + np.arange(len(self._codes)),
            "entry_id": self._entries,
            "item_id": self._numbers,
            "code": self._codes,
            "why": ItemCode.Why.HOUSE,
            "alike": [codes.alike(code) for code in self._codes],
        }
        put(ItemCode, len(self._codes), columns)
        numbers, entries = (list(column) for column in zip(*last.values(), strict=True))
        put(CodeCounter, len(last), {"series": list(last), "number": numbers, "entry_id": entries})
        put(Move, len(self._moves["id"]), self._moves)

    def _write_deliveries(self) -> None:
        """Receipts of the lots that were delivered, and their acceptance an hour later."""
        for kind in filter(self._is_delivered, PARTS):
            things, count = self._plant.things[kind], len(self._items[kind])
            amount = things.delivered
            receipts = {
                "id": reserve(Receipt, count) + np.arange(count),
                "entry_id": self._acts.entries[kind],
                "item_id": self._items[kind],
                "supplier": "Fell Supply",
                "amount": amount,
                "written": f"{amount // KILO} kg" if amount >= KILO else f"{amount} pcs",
                "at": times(things.born),
            }
            put(Receipt, count, receipts)
            decisions = {
                "id": reserve(LotDecision, count) + np.arange(count),
                "entry_id": self._acts.entries[f"accepted {kind}"],
                "item_id": self._items[kind],
                "decision": LotDecision.Decision.ACCEPT,
                "at": times(things.born + HOUR),
            }
            put(LotDecision, count, decisions)

    def _write_tank(self, lines: Numbers) -> None:
        log = self._plant.tank
        entry, item = np.empty_like(lines), np.full_like(lines, NOTHING)
        for kind, name, things in ((CLEAN, "clean", ""), (CHARGE, "charge", "resin"), (DRAW, "drawn", "drawn")):
            entry[log.kind == kind] = self._acts.entries[name]
            if things:
                item[log.kind == kind] = self._items[things][log.item[log.kind == kind]]
        self._charged = {"item": item, "entry": entry}
        columns = {
            "id": lines,
            "entry_id": entry,
            "tank_id": self._tank.pk,
            "kind": log.kind,
            "item_id": or_nothing(item),
            "amount": log.amount,
            "at": times(log.at),
        }
        put(TankEntry, len(lines), columns)
        if len(lines):
            put(TankLock, 1, {"tank_id": self._tank.pk, "entry_id": int(entry[0])})

    def _write_links(self) -> None:
        links = self._links.columns
        count = len(links["child"])
        numbers = reserve(Link, count) + np.arange(count)
        told = np.flatnonzero(links["has_words"])
        words = np.full(count, NOTHING)
        words[told] = self._keep_words(len(told))
        columns = {
            "id": numbers,
            "entry_id": links["entry"],
            "first_id": or_nothing(np.where(links["first"] >= 0, numbers[links["first"]], NOTHING)),
            "version": links["version"],
            "status": links["status"],
            "child_id": links["child"],
            "parent_id": links["parent"],
            "at": times(links["at"]),
            "certainty": links["certainty"],
            "share_ppb": or_nothing(links["share"]),
            "least_ppb": or_nothing(links["least"]),
            "most_ppb": or_nothing(links["most"]),
            "amount": or_nothing(links["amount"]),
            "draw_id": or_nothing(links["draw"]),
            "reason": links["reason"],
            "words_id": or_nothing(words),
        }
        put(Link, count, columns)

    def _keep_words(self, count: int) -> Numbers:
        """Reasons in words, each in a row of its own."""
        salts = [self._rng.bytes(16) for _ in range(count)]
        columns = {
            "id": reserve(PrivateWords, count) + np.arange(count),
            "salt": salts,
            "text": WHY,
            "commitment": [commitment(salt, WHY) for salt in salts],
        }
        put(PrivateWords, count, columns)
        return columns["id"]

    def _write_states(self) -> None:
        """Where everything is and how much is left, as the rows before give it."""
        start, count = int(self._numbers[0]), len(self._numbers)
        entry = self._entries.copy()
        inside = np.full(count, NOTHING)
        for uses in self._plant.uses:
            if uses.amount is None:
                is_in = np.ones(len(uses.of), bool)
                if (uses.child, uses.parent) == ("frame", "front"):
                    is_in[self._plant.fronts_out] = False
                near = self._items[uses.parent][uses.it] - start
                inside[near[is_in]] = self._items[uses.child][uses.of[is_in]]
        links = self._links.columns
        np.maximum.at(entry, links["parent"][links["draw"] < 0] - start, links["entry"][links["draw"] < 0])
        is_charge = self._plant.tank.kind == CHARGE
        charged, at_entry = self._charged["item"][is_charge] - start, self._charged["entry"][is_charge]
        np.maximum.at(entry, charged, at_entry)
        place = np.where(inside >= 0, NOTHING, self._place)
        columns = {
            "item_id": self._numbers,
            "entry_id": entry,
            "code": self._codes,
            "where": np.where(inside >= 0, IN, HERE),
            "place_id": or_nothing(place),
            "inside_id": or_nothing(inside),
            "placed_at": [at if p >= 0 else None for at, p in zip(times(self._born), self._place, strict=True)],
            "remaining": self._remaining(start, count),
        }
        put(ItemState, count, columns)

    def _write_head(self) -> None:
        """A head as far as the worker would have sealed by now; its leaves are left out, for no trace reads one."""
        last = max(int(entries.max()) for entries in self._acts.entries.values() if len(entries))
        columns = {"size": last, "before": 0, "upto": last, "signed_at": clock.now(), "root": bytes(32)}
        put(TreeHead, 1, columns | {"signature": bytes(64)})

    def _remaining(self, start: int, count: int) -> list[int | None]:
        """What came into each lot less what went out; units have no amount."""
        left = self._of_all(lambda kind: np.full(len(self._items[kind]), self._plant.things[kind].delivered))
        links, counts = self._links.columns, self._links.counts
        np.subtract.at(left, links["parent"][counts] - start, links["amount"][counts])
        np.add.at(left, links["child"][counts] - start, links["amount"][counts])
        log = self._plant.tank
        for kind, sign in ((CHARGE, -1), (DRAW, 1)):
            np.add.at(left, self._charged["item"][log.kind == kind] - start, sign * log.amount[log.kind == kind])
        is_unit = self._place >= 0
        return [None if unit else amount for amount, unit in zip(left.tolist(), is_unit.tolist(), strict=True)]
