"""Where used, as somebody would write it by hand for this plant: joins of a fixed depth.

They respect corrections: the newest version of a link counts, a withdrawn or ended one leads nowhere. Of the forms
tried the fastest on each engine: SQLite is told the order of the joins, as without counts of its rows it starts from
the wrong end, sixty times slower. Shares, holds, loops and what only a tank's log tells they leave out.
"""

from __future__ import annotations

from django.db import connection

# A resin batch may be drawn from the tank first: then pot, triangle, frame.
DEPTH = 4
_ROOT = "level_0 as (select item_id as id, 0 as certainty from items_itemcode where code = %s)"
_STANDS = """l.status = 0 and not exists (
        select 1 from items_link n where n.first_id = coalesce(l.first_id, l.id) and n.version > l.version
    )"""
_REACHED = """
    level_{n} as (
        select distinct l.child_id as id from level_{before} b {join} items_link l on l.parent_id = b.id where {stands}
    )"""
_TOLD = """
    select s.item_id, s.code, p.number, s."where", h.code, u.code
    from ({reached}) r
    {join} items_itemstate s on s.item_id = r.id
    {join} items_item i on i.id = r.id
    {join} catalogue_partrevision v on v.id = i.revision_id
    {join} catalogue_part p on p.id = v.part_id
    left join items_place h on h.id = s.place_id
    left join items_itemstate u on u.item_id = s.inside_id"""
_WAYS = """
    level_{n} as (
        select l.child_id as id, {worse}(b.certainty, l.certainty) as certainty, {way}
        from level_{before} b {join} items_link l on l.parent_id = b.id where {stands}
    )"""
_BEST = """
    select s.item_id, s.code, w.number, s."where", h.code, u.code, w.certainty, w1.code, w2.code, w3.code
    from (
        select w.*, p.number, row_number() over (
            partition by w.id order by w.certainty, w.links, w.way_1, w.way_2, w.way_3
        ) as n
        from ({every}) w
        {join} items_item i on i.id = w.id
        {join} catalogue_partrevision v on v.id = i.revision_id
        {join} catalogue_part p on p.id = v.part_id and p.kind = 'frame'
    ) w
    {join} items_itemstate s on s.item_id = w.id
    left join items_place h on h.id = s.place_id
    left join items_itemstate u on u.item_id = s.inside_id
    left join items_itemstate w1 on w1.item_id = w.way_1
    left join items_itemstate w2 on w2.item_id = w.way_2
    left join items_itemstate w3 on w3.item_id = w.way_3
    where w.n = 1"""


def frames_by_joins(code: str) -> list[tuple]:
    """Number, code, part and place of every frame that holds the thing with a code, how sure it is, and the way."""
    worse = "greatest" if connection.vendor == "postgresql" else "max"
    levels = []
    for n in range(1, DEPTH + 1):
        steps = [*(f"b.way_{k}" for k in range(1, n - 1)), *(["b.id"] if n > 1 else [])]
        steps += ["cast(null as bigint)"] * (DEPTH - 1 - len(steps))
        way = ", ".join(f"{step} as way_{k}" for k, step in enumerate(steps, start=1))
        levels.append(_filled(_WAYS, n=n, before=n - 1, worse=worse, way=way))
    every = " union all ".join(f"select level_{n}.*, {n} as links from level_{n}" for n in range(1, DEPTH + 1))
    return _rows(levels, _filled(_BEST, every=every), code)


def things_by_joins(code: str) -> list[tuple]:
    """Number, code, part and place of everything that holds it: neither a way nor how sure it is."""
    levels = [_filled(_REACHED, n=n, before=n - 1) for n in range(1, DEPTH + 1)]
    reached = " union ".join(f"select id from level_{n}" for n in range(1, DEPTH + 1))
    return _rows(levels, _filled(_TOLD, reached=reached), code)


def _filled(text: str, **pieces: object) -> str:
    join = "join" if connection.vendor == "postgresql" else "cross join"
    return text.format(join=join, stands=_STANDS, **pieces)


def _rows(levels: list[str], told: str, code: str) -> list[tuple]:
    with connection.cursor() as cursor:
        cursor.execute(f"with {_ROOT}, {','.join(levels)} {told}", [code])
        return cursor.fetchall()
