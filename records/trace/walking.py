"""Where a thing is used and what it is made from: links read from the database, then labelled in memory.

Down, one array query a level brings all links out of the frontier, one more their later versions (a tiny partial
index, mostly empty). Up it is narrow and deep, so there all levels come in one statement. The walk opens the driver's
own cursor: Django's puts parameters in on the client.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import psycopg
from django.db import connection

from plant.catalogue.models import Tank
from records.items import deriving
from records.items.mixing import Worked, work_out
from records.items.models import Link, TankEntry
from records.ledger.marks import Mark
from records.ledger.models import Flag

from .labelling import BILLION, ENDED, POSSIBLE, Edge, Label, circles, label

DOWN, UP = ("parent_id", "child_id"), ("child_id", "parent_id")


@dataclass(frozen=True)
class Walk:
    """What was reached from the roots: a label for each item, and groups that are made from each other."""

    labels: dict[int, Label]
    loops: list[frozenset[int]] = field(default_factory=list)


def walk(roots: Sequence[int], *, down: bool, mark: Mark | None = None, ended: bool = False) -> Walk:
    """Everything that holds the roots (``down``), or that they are made from, as known at a mark.

    Withdrawn links are never followed; ended ones only when asked.
    """
    edges: dict[int, list[Edge]] = {}
    traces = TankTraces(down, mark)
    frontier = set(roots)
    while frontier:
        found = read_edges(frontier, DOWN, mark, ended) if down else read_all_above(frontier, mark, ended)
        for item, more in traces.of(frontier | found.keys()).items():
            found[item].extend(more)
        for item in frontier | found.keys():
            edges[item] = found.get(item, [])
        frontier = {edge.to for more in found.values() for edge in more} - edges.keys()
    labels = label(roots, edges, ENDED if ended else POSSIBLE)
    return Walk(labels, _loops_among({item: edges[item] for item in labels}, mark))


def read_edges(
    items: Iterable[int], ends: tuple[str, str], mark: Mark | None, ended: bool
) -> defaultdict[int, list[Edge]]:
    """Links out of items in one direction: the newest known version of each, two array queries."""
    near, far = ends
    wanted = list(items)
    newest = {
        number: (here, there, status, certainty, share)
        for here, there, number, status, certainty, share in _select(
            f"{near}, {far}, id, status, certainty, share_ppb", f"version = 1 and {near}", wanted, mark
        )
    }
    versions: dict[int, int] = {}
    later = _select("first_id, version, status, certainty, share_ppb", f"version > 1 and {near}", wanted, mark)
    for first, version, status, certainty, share in later:
        if version > versions.get(first, 1):
            versions[first] = version
            newest[first] = (*newest[first][:2], status, certainty, share)
    return _edges_of(newest.values(), ended)


def read_all_above(items: Iterable[int], mark: Mark | None, ended: bool) -> defaultdict[int, list[Edge]]:
    """The newest known version of every link on the ways up from items, one statement.

    Ways are followed along withdrawn links too, so more may be read than is reached. Every item met has its place.
    """
    newest: dict[int, tuple[int, tuple[int, int, int, int, int | None]]] = {}
    met: set[int] = set()
    columns = "child_id, parent_id, coalesce(first_id, id), version, status, certainty, share_ppb"
    for here, there, line, version, *said in _select_above(columns, list(items), mark):
        met |= {here, there}
        if line not in newest or version > newest[line][0]:
            newest[line] = (version, (here, there, *said))
    edges = _edges_of((row for _, row in newest.values()), ended)
    for item in met - edges.keys():
        edges[item] = []
    return edges


def _edges_of(links: Iterable[tuple[int, int, int, int, int | None]], ended: bool) -> defaultdict[int, list[Edge]]:
    """Edges of links that are followed, by the item that they lead from."""
    edges: defaultdict[int, list[Edge]] = defaultdict(list)
    for here, there, status, certainty, share in links:
        if status == Link.Status.WITHDRAWN or (status == Link.Status.ENDED and not ended):
            continue
        cls = ENDED if status == Link.Status.ENDED else certainty
        edges[here].append(Edge(there, cls, BILLION if share is None else share))
    return edges


def _select(columns: str, where: str, items: list[int], mark: Mark | None) -> list[tuple[Any, ...]]:
    """Rows of the links table whose end is among items, known at a mark."""
    among = "= any(%s::bigint[])" if _is_postgresql() else "in (select value from json_each(?))"
    return _rows(f"select {columns} from {Link._meta.db_table} where {where} {among}", items, mark)


def _select_above(columns: str, items: list[int], mark: Mark | None) -> list[tuple[Any, ...]]:
    """Rows of all links whose child is one of the items or something that they are made from, known at a mark."""
    table = Link._meta.db_table
    # PostgreSQL takes a set of which it knows the size for what it is; a join to it would read the whole table.
    first, among = (
        ("unnest(%s::bigint[])", "= any(array(select id from above))")
        if _is_postgresql()
        else ("value from json_each(?)", "in (select id from above)")
    )
    above = f"select {first} union select l.parent_id from above join {table} l on l.child_id = above.id"
    return _rows(
        f"with recursive above(id) as ({above}) select {columns} from {table} where child_id {among}", items, mark
    )


def _in_tank_logs(kind: int, items: list[int]) -> set[int]:
    """Which of the items any line of a kind was ever about: few are, and only of those the log is asked."""
    among = "= any(%s::bigint[])" if _is_postgresql() else "in (select value from json_each(?))"
    rows = _rows(f"select item_id from {TankEntry._meta.db_table} where kind = {int(kind)} and item_id {among}", items)
    return {item for (item,) in rows}


def _is_postgresql() -> bool:
    return connection.vendor == "postgresql"


def _rows(sql: str, items: list[int], mark: Mark | None = None) -> list[tuple[Any, ...]]:
    """What a statement with one array of items brings, as known at a mark; by the driver's own cursor."""
    connection.ensure_connection()
    values: list[Any]
    if _is_postgresql():
        values = [items]
        if mark is not None:
            sql += " and entry_id <= %s and entry_id <> all(%s::bigint[])"
            values = [items, mark.upto, list(mark.late)]
        with psycopg.Cursor(connection.connection) as cursor:
            return cursor.execute(sql, values, prepare=True, binary=True).fetchall()
    values = [json.dumps(items)]
    if mark is not None:
        sql += " and entry_id <= ? and entry_id not in (select value from json_each(?))"
        values = [json.dumps(items), mark.upto, json.dumps(mark.late)]
    return connection.connection.execute(sql, values).fetchall()


class TankTraces:
    """Lots of which a tank holds too little for a stored link, or nothing any more, but that was not cleaned out.

    They are possible in every draw up to the next cleaning, with the share worked out from the log, nought too.
    """

    def __init__(self, down: bool, mark: Mark | None) -> None:
        self._down = down
        self._mark = mark
        self._worked: dict[tuple[int, Any], Worked] = {}

    def of(self, items: Iterable[int]) -> dict[int, list[Edge]]:
        """Possible links out of items that only the logs tell of."""
        found: dict[int, list[Edge]] = defaultdict(list)
        kind = TankEntry.Kind.CHARGE if self._down else TankEntry.Kind.DRAW
        wanted = _in_tank_logs(kind, list(items))
        if not wanted:
            return found
        rows = TankEntry.objects.standing(self._mark).filter(item_id__among=wanted, kind=kind)
        times: dict[Tank, list[Any]] = defaultdict(list)
        for row in rows.select_related("tank"):
            times[row.tank].append(row.at)
        for tank, ats in times.items():
            for worked in self._stretches(tank, ats):
                self._collect(worked, wanted, found)
        return found

    def _stretches(self, tank: Tank, times: list[Any]) -> list[Worked]:
        """The parts of a tank's log between two cleanings that hold any of the times."""
        parts = {tuple(deriving.log_around(tank, at, self._mark)) for at in times}
        return [work_out(part) for part in parts]

    def _collect(self, worked: Worked, wanted: set[int], found: dict[int, list[Edge]]) -> None:
        for draw in worked.draws:
            for portion in draw.portions:
                near, far = (portion.lot, draw.line.item) if self._down else (draw.line.item, portion.lot)
                if near in wanted and not portion.stored:
                    found[near].append(Edge(far, POSSIBLE, portion.share_ppb))


def _loops_among(edges: dict[int, list[Edge]], mark: Mark | None) -> list[frozenset[int]]:
    """Loops that a walk met, found from the flags that stand on their links."""
    flagged = flagged_in_loops(mark) & edges.keys()
    if not flagged:
        return []
    plain = {item: [edge.to for edge in found if edge.cls <= POSSIBLE] for item, found in edges.items()}
    return circles(plain, flagged)


def flagged_in_loops(mark: Mark | None = None) -> set[int]:
    """Items whose links were flagged as closing a loop."""
    flags = Flag.objects.known(mark).filter(code="loop").values_list("facts", flat=True)
    return {json.loads(facts)["child"] for facts in flags}


def loops(mark: Mark | None = None) -> list[frozenset[int]]:
    """All groups of items that are made from each other, as known at a mark."""
    groups: set[frozenset[int]] = set()
    for item in flagged_in_loops(mark):
        groups |= set(walk([item], down=True, mark=mark).loops)
    return sorted(groups, key=sorted)
