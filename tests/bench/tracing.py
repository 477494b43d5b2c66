"""Traces in a plant of many frames against hand-written joins, key look-ups and a bare page.

All benches ask of the resin batch whose number of frames is nearest to 400, and of frames from the middle.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime

from django.db.models import Max
from django.http import HttpRequest, HttpResponse
from django.template import engines as template_engines
from django.test import RequestFactory

from plant.people.models import Works
from records.items.models import Item, ItemCode, Link
from records.ledger.marks import mark_at
from records.trace.queries import Asked, made_from, where_used
from records.trace.views import lot_to_frames
from records.trace.walking import walk
from tests import builders
from tests.bench.filling import fill_plant
from tests.bench.joins import frames_by_joins, things_by_joins
from tests.bench.measuring import Row, row_of_pairs, seconds_in_turn

REPETITIONS = 7
SOUGHT = 400
FRAMES = Asked(only=("frame",))
# A row of a list on our page; the cell after the head of a bundle is a number.
ROW = re.compile(r'<th scope="row"><a class="code"[^>]*>([^<]+)</a>.*</th>\n<td>')
BARE_ROW = re.compile(r"<tr><td>([^<]+)</td>")
TABLE = """<!doctype html><title>Where used</title><table>
{% for row in rows %}<tr><td>{{ row.1 }}</td><td>{{ row.2 }}</td><td>{{ row.3 }}</td><td>{{ row.4|default:"" }}</td>
<td>{{ row.5|default:"" }}</td></tr>
{% endfor %}</table>"""


def whereused(*, tiny: bool, frames: int) -> list[Row]:
    """Every frame of a batch with the way to it, how sure it is and where it is, against joins that tell the same.

    The trace reads records, the joins the state that is kept of them; it looks for shares, holds, loops and what only
    a tank's log tells besides.
    """
    code = batch(frames)
    found, joined = where_used(code, FRAMES).frames, frames_by_joins(code)
    ours = {(frame.code, frame.cls, frame.between, frame.part, frame.at) for frame in found}
    if ours != {(row[1], row[6], tuple(filter(None, row[7:])), row[2], row[5] or row[4]) for row in joined}:
        raise AssertionError("the joins and the trace differ")
    pairs = paired(tiny, lambda: where_used(code, FRAMES), lambda: frames_by_joins(code))
    return [in_ms(f"where used, {len(found)} frames", pairs, "<= 3")]


def asknown(*, tiny: bool, frames: int) -> list[Row]:
    """The same question as known on a day after the batch was used up, against as known now."""
    code = batch(frames)
    day = after(code)
    then, now = (where_used(code, asked).frames for asked in (as_known(day), FRAMES))
    if {frame.code for frame in then} != {frame.code for frame in now}:
        raise AssertionError("nothing was told of the batch later, and the answers differ")
    pairs = paired(tiny, lambda: where_used(code, as_known(day)), lambda: where_used(code, FRAMES))
    return [in_ms(f"where used, {len(then)} frames, as known then", pairs, "<= 1.2")]


def madefrom(*, tiny: bool, frames: int) -> list[Row]:
    """What a frame is made from, walked and told whole, against one row read by its key; both through Django."""
    batch(frames)
    every = ItemCode.objects.filter(item__revision__part__kind="frame").order_by("item_id")
    middle = every.count() // 2
    some = list(every.values_list("item_id", "code")[middle : middle + (1 if tiny else 10)])

    def look_up() -> None:
        for number, _ in some:
            Item.objects.get(pk=number)

    walked = paired(tiny, lambda: [walk([number], down=False) for number, _ in some], look_up)
    told = paired(tiny, lambda: [made_from(code) for _, code in some], look_up)
    share = 1 / len(some)
    return [
        in_ms("made from, one frame, the walk", walked, "<= 5", share),
        in_ms("made from, one frame, the whole answer", told, "<= 5", share),
    ]


def page(*, tiny: bool, frames: int) -> list[Row]:
    """The page of a batch against a view that prints the same things as a plain table.

    Every frame stands on the page, one row each, and everything else that holds the batch. The bare table lacks the
    way, how sure it is and whether it is held: less work, so the bar is the higher for it.
    """
    code = batch(frames)
    request = RequestFactory().get("/")
    request.user = builders.a_person()
    ours, bare = lot_to_frames(request, code), bare_page(request, code)
    listed = ROW.findall(ours.content.decode())
    if not sorted(listed) == sorted(BARE_ROW.findall(bare.content.decode())) != []:
        raise AssertionError("the pages have other rows")
    pairs = paired(tiny, lambda: lot_to_frames(request, code), lambda: bare_page(request, code))
    return [in_ms("page of a batch", pairs, "<= 3")]


def bare_page(request: HttpRequest, code: str) -> HttpResponse:
    """Everything that holds a thing, as a table and nothing else."""
    context = {"rows": things_by_joins(code)}
    return HttpResponse(template_engines["django"].from_string(TABLE).render(context, request))


def batch(frames: int) -> str:
    """Code of the resin batch with the most usual number of frames; the plant is filled where it is not there yet."""
    if not Works.objects.exists():
        fill_plant(frames)
    batches = ItemCode.objects.filter(item__revision__part__kind="resin", item__origin=Item.Origin.RECEIVED)
    codes = list(batches.order_by("item_id").values_list("code", flat=True))
    middle = codes[len(codes) // 3 :][:3]  # those of one tank between two cleanings
    return min(middle, key=lambda code: abs(len(frames_by_joins(code)) - SOUGHT))


def after(code: str) -> datetime:
    """A moment after everything that was ever told of the frames of a batch."""
    frames = [row[0] for row in frames_by_joins(code)]
    return Link.objects.filter(child_id__in=frames).aggregate(last=Max("entry__taken_at"))["last"]


def as_known(day: datetime) -> Asked:
    """Frames as known on a day, asked by its time as a person does."""
    return Asked(mark_at(day), only=FRAMES.only)


def paired(tiny: bool, ours: Callable[[], object], baseline: Callable[[], object]) -> list[tuple[float, float]]:
    """Both in turn, after each has run once."""
    seconds_in_turn(ours, baseline, 1)
    return seconds_in_turn(ours, baseline, 1 if tiny else REPETITIONS)


def in_ms(name: str, pairs: list[tuple[float, float]], bar: str, share: float = 1) -> Row:
    """A row in milliseconds, of a share of what was timed."""
    return row_of_pairs(name, [(ours * 1000 * share, other * 1000 * share) for ours, other in pairs], "ms", bar)
