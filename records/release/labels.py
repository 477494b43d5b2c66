"""Labels of lots and units: what stands on one, and which copies there are."""

from __future__ import annotations

from plant.catalogue.models import Part
from plant.papers.label import LabelFacts
from plant.people.models import Works
from plant.people.queries import works_zone
from plant.scans import label_message
from plant.times import written_out
from records.items.lots import lot_page
from records.items.models import Item

from .models import LabelPrint


def prints_of(item: Item) -> list[LabelPrint]:
    """Labels printed for the newest code of an item, the first first."""
    rows = LabelPrint.objects.filter(item_code__item=item, item_code__code=item.code)
    return list(rows.select_related("entry__by__name_words", "item_code").order_by("copy"))


def label_of(printed: LabelPrint) -> LabelFacts:
    """What stands on a label that was printed."""
    item, code = printed.item_code.item, printed.item_code.code
    part, is_unit, last = item.part, item.kind == Part.Tracked.UNIT, ""
    lines = [f"{part.name or part.get_kind_display().capitalize()}, {part.number}"]
    if not is_unit:
        day = lot_page(item).last_day
        last = f"{day:%Y%m%d}" if day else ""
        if item.good_until:
            lines.append(f"good until {written_out(item.good_until, works_zone())}")
        elif day:
            lines.append(f"last good day {day.day} {day:%b %Y}")
    works = Works.current()
    return LabelFacts(
        message=label_message(code, is_unit=is_unit, part=part.number, copy=printed.copy, good_until=last),
        code=code,
        lines=tuple(lines),
        foot=f"{works.name if works else ''}, label {printed.copy}",
        has_figure=is_unit,
    )
