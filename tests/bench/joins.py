"""Where used, as somebody would write it by hand for this plant: joins of a fixed depth, distinct at each level.

They respect corrections (the newest version of a link counts, a withdrawn or ended one leads nowhere) and tell
neither the way nor how sure it is. Of the forms tried the fastest on each engine: SQLite is told the order of the
joins, as without counts of its rows it starts from the wrong end, sixty times slower.
"""

from __future__ import annotations

from django.db import connection

# A resin batch may be drawn from the tank first: then pot, triangle, frame.
DEPTH = 4
_LEVEL = """
    level_{n} as {kept} (
        select distinct l.child_id as id from level_{before} b {join} items_link l on l.parent_id = b.id
        where l.status = 0 and not exists (
            select 1 from items_link n where n.first_id = coalesce(l.first_id, l.id) and n.version > l.version
        )
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


def frames_by_joins(code: str) -> list[tuple]:
    """Number, code, part and place of every frame that holds the thing with a code."""
    return _told(code, "materialized", "where p.kind = 'frame'")


def things_by_joins(code: str) -> list[tuple]:
    """The same of everything that holds it."""
    return _told(code, "", "")


def _told(code: str, kept: str, which: str) -> list[tuple]:
    join = "join" if connection.vendor == "postgresql" else "cross join"
    levels = [f"level_0 as {kept} (select item_id as id from items_itemcode where code = %s)"]
    levels += [_LEVEL.format(n=n, before=n - 1, kept=kept, join=join) for n in range(1, DEPTH + 1)]
    reached = " union ".join(f"select id from level_{n}" for n in range(1, DEPTH + 1))
    with connection.cursor() as cursor:
        cursor.execute(f"with {','.join(levels)} {_TOLD.format(reached=reached, join=join)} {which}", [code])
        return cursor.fetchall()
