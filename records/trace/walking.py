"""Where a thing is used and what it is made from: links read from the database, then labelled in memory.

Down, one array query a level brings all links out of the frontier. Up it is narrow and deep, so there all levels come
in one statement. The walk opens the driver's own cursor: Django's puts parameters in on the client.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

import psycopg
from django.db import connection

from records.items.models import Link
from records.ledger.asking import Asking, as_array
from records.ledger.marks import Mark
from records.ledger.models import Flag

from .labelling import BILLION, ENDED, POSSIBLE, Label, Way, circles, label
from .traces import TankTraces
from .unplaced import UnplacedTraces

WITHDRAWN = Link.Status.WITHDRAWN.value


@dataclass(frozen=True)
class Walk:
    """What was reached from the roots: a label for each item, and groups that are made from each other."""

    labels: dict[int, Label]
    loops: list[frozenset[int]] = field(default_factory=list)


def walk(roots: Sequence[int], *, down: bool, mark: Mark | None = None, ended: bool = False) -> Walk:
    """Everything that holds the roots (``down``), or that they are made from, as known at a mark.

    Withdrawn links are never followed; ended ones only when asked.
    """
    edges: dict[int, list[Way]] = {}
    traces, unplaced = TankTraces(down, mark), UnplacedTraces(down, mark)
    frontier = set(roots)
    while frontier:
        before = len(edges)
        while frontier:
            found = read_below(frontier, mark, ended) if down else read_all_above(frontier, mark, ended)
            # A later reading may come by an item again that traces and entries have told more ways of.
            for item in (frontier | found.keys()) - edges.keys():
                edges[item] = found.get(item) or []
            frontier = {to for more in found.values() for to, _, _ in more} - edges.keys()
        for told in (traces, unplaced):
            for item, more in told.of([*islice(edges, before, None)]).items():
                edges[item].extend(more)
                frontier.update(to for to, _, _ in more if to not in edges)
    labels = label(roots, edges, ENDED if ended else POSSIBLE)
    return Walk(labels, _loops_among(labels, edges, mark))


def read_below(items: Iterable[int], mark: Mark | None, ended: bool) -> defaultdict[int, list[Way]]:
    """The newest known version of every link to what items went into, one array query."""
    among = "= any(%s::bigint[])" if _is_postgresql() else "in (select value from json_each(%s))"
    links = _rows(f"select parent_id, child_id, {_SAID} from {_LINKS} where parent_id {among}", items, mark)
    return _edges_of(_newest(links), ended)


def read_all_above(items: Iterable[int], mark: Mark | None, ended: bool) -> defaultdict[int, list[Way]]:
    """The newest known version of every link on the ways up from items, one statement.

    Ways are followed along withdrawn links too, so more may be read than is reached. Every item met has its place.
    """
    # PostgreSQL takes a set of which it knows the size for what it is; a join to it would read the whole table.
    first, among = (
        ("unnest(%s::bigint[])", "= any(array(select id from above))")
        if _is_postgresql()
        else ("value from json_each(%s)", "in (select id from above)")
    )
    above = f"select {first} union select l.parent_id from above join {_LINKS} l on l.child_id = above.id"
    reading = f"select child_id, parent_id, {_SAID} from {_LINKS} where child_id {among}"
    links = _rows(f"with recursive above(id) as ({above}) {reading}", items, mark)
    edges = _edges_of(_newest(links), ended)
    for child, parent, *_ in links:
        edges.setdefault(child, [])
        edges.setdefault(parent, [])
    return edges


_LINKS = Link._meta.db_table
_SAID = "status, certainty, share_ppb, version, coalesce(first_id, id)"


def _newest(links: list[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    """The links without those that a later version of their line replaces: few lines have one."""
    later = sorted((link for link in links if link[5] > 1), key=lambda link: link[5])
    if not later:
        return links
    newest = {link[6]: link for link in later}
    return [link for link in links if newest.get(link[6], link) is link]


def _edges_of(links: Iterable[tuple[Any, ...]], ended: bool) -> defaultdict[int, list[Way]]:
    """Edges of links that are followed, by the item that they lead from."""
    edges: defaultdict[int, list[Way]] = defaultdict(list)
    for here, there, status, certainty, share, _, _ in links:
        if status:
            if status == WITHDRAWN or not ended:
                continue
            certainty = ENDED
        edges[here].append((there, certainty, BILLION if share is None else share))
    return edges


def _is_postgresql() -> bool:
    return connection.vendor == "postgresql"


def _rows(sql: str, items: Iterable[int], mark: Mark | None = None) -> list[tuple[Any, ...]]:
    """What a statement with one array of items brings, as known at a mark; by the driver's own cursor."""
    connection.ensure_connection()
    vendor = connection.vendor
    values: list[Any] = [as_array(items, vendor)]
    if mark is not None:
        sql += " and entry_id <= %s"
        values.append(mark.upto)
    if mark is not None and mark.late:
        late = "<> all(%s::bigint[])" if _is_postgresql() else "not in (select value from json_each(%s))"
        sql += f" and entry_id {late}"
        values.append(as_array(mark.late, vendor))
    if _is_postgresql():
        with psycopg.Cursor(connection.connection) as cursor:
            return cursor.execute(sql, values, prepare=True, binary=True).fetchall()
    return connection.connection.execute(sql.replace("%s", "?"), values).fetchall()


def _loops_among(labels: Iterable[int], edges: Mapping[int, Sequence[Way]], mark: Mark | None) -> list[frozenset[int]]:
    """Loops that a walk met, found from the flags that stand on their links."""
    flagged = flagged_in_loops(mark)
    reached = flagged and flagged.intersection(labels)
    if not reached:
        return []
    plain = {item: [to for to, cls, _ in edges[item] if cls <= POSSIBLE] for item in labels}
    return circles(plain, reached)


def flagged_in_loops(mark: Mark | None = None) -> set[int]:
    """Items whose links were flagged as closing a loop."""
    return {json.loads(facts)["child"] for (facts,) in _LOOPS.rows(mark)}


_LOOPS = Asking(lambda mark: Flag.objects.known(mark).filter(code="loop").values_list("facts"))


def loops(mark: Mark | None = None) -> list[frozenset[int]]:
    """All groups of items that are made from each other, as known at a mark."""
    groups: set[frozenset[int]] = set()
    for item in flagged_in_loops(mark):
        groups |= set(walk([item], down=True, mark=mark).loops)
    return sorted(groups, key=sorted)
