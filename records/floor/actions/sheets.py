"""Emergency sheets are printed under a number, and come back."""

from __future__ import annotations

from plant.equipment.queries import station_by_code
from records.floor.models import EmergencySheet, SheetLine, SheetReturn
from records.floor.queries import lines_for_sheet
from records.items.making import next_code
from records.ledger.acts import Free, Said, act
from records.ledger.refusals import Conflict, Refused
from records.ledger.words import keep_words


def print_sheet(station: str, *, said: Said) -> EmergencySheet:
    """Print a numbered sheet for a station: the units that wait there, and its steps for any other unit.

    Refuses ``unknown``, and ``no-steps`` where no operation in force is done there.
    """
    with act("sheet printed", said, station=station.strip().casefold()) as a:
        if a.made:
            return EmergencySheet.objects.get(entry=a.entry)
        place = station_by_code(station)
        lines = lines_for_sheet(place)
        if not lines:
            raise Refused("no-steps", "No step in force is done at %(station)s.", station=place.code)
        sheet = a.write(EmergencySheet(code=next_code(a, "ES"), station=place, printed_at=a.at))
        a.write_all(
            SheetLine(sheet=sheet, n=n, operation=line.operation, unit=line.unit)
            for n, line in enumerate(lines, start=1)
        )
        return sheet


def return_sheet(sheet: EmergencySheet, *, lines: int, words: str = "", said: Said) -> SheetReturn:
    """A sheet is back, with so many lines used. Refuses ``too-many``, and ``returned`` where it was back before."""
    with act("sheet returned", said, sheet=sheet.pk, lines=lines, words=Free(words)) as a:
        if a.made:
            return SheetReturn.objects.get(entry=a.entry)
        most = sheet.lines.count()
        if not 0 <= lines <= most:
            raise Refused("too-many", "The sheet has %(most)s lines. Count those that are filled in.", most=most)
        overtaken = Conflict("returned", "%(code)s is back already.", code=sheet.code)
        if SheetReturn.objects.filter(sheet=sheet).exists():
            raise overtaken
        return a.write_only(SheetReturn(sheet=sheet, lines=lines, words=keep_words(words)), overtaken)
