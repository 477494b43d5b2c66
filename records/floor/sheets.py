"""Emergency sheets: which are out, and what became of each line."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Count, Exists, OuterRef, QuerySet

from plant.catalogue.models import Operation
from plant.codes import fold
from records.ledger.acts import Said
from records.ledger.models import FromPaper
from records.ledger.refusals import Refused

from .models import EmergencySheet, SheetLine


def sheet_by_code(code: str) -> EmergencySheet:
    """Sheet by its number. Refuses ``unknown``."""
    sheet = EmergencySheet.objects.filter(code=fold(code)).select_related("station", "entry").first()
    if sheet is None:
        raise Refused("unknown", "No sheet %(code)s was printed here. Look at its head again.", code=fold(code))
    return sheet


def sheets_out() -> QuerySet[EmergencySheet]:
    """Sheets that are not back, the oldest first, with how many lines each has."""
    rows = EmergencySheet.objects.out().annotate(many=Count("lines"))
    return rows.select_related("station", "entry__by__name_words")


def sheets_by_station() -> dict[str, list[str]]:
    """Numbers of the sheets that lie at each station, the newest first."""
    found: dict[str, list[str]] = defaultdict(list)
    for station, code in EmergencySheet.objects.out().order_by("-pk").values_list("station__code", "code"):
        found[station].append(code)
    return dict(found)


def entered_counts(sheets: list[EmergencySheet]) -> dict[str, int]:
    """How many lines of each sheet are typed in."""
    rows = FromPaper.objects.filter(sheet__in=[sheet.code for sheet in sheets])
    return dict(rows.values_list("sheet").annotate(Count("line", distinct=True)).order_by())


@dataclass(frozen=True)
class LineHere:
    """A line of a sheet, whether its step makes a new unit, and the entries that were typed in from it."""

    line: SheetLine
    makes: bool
    entries: tuple[FromPaper, ...]


def lines_of(sheet: EmergencySheet) -> list[LineHere]:
    """Lines of a sheet in order; the same number of queries whatever theirs."""
    typed: dict[int, list[FromPaper]] = defaultdict(list)
    rows = FromPaper.objects.filter(sheet=sheet.code).order_by("pk")
    for row in rows.select_related("entry__by__name_words", "maker__name_words"):
        typed[row.line].append(row)
    route, n = OuterRef("operation__route_revision"), OuterRef("operation__n")
    before = Operation.objects.filter(route_revision=route, n__lt=n)
    lines = sheet.lines.annotate(is_later=Exists(before)).order_by("n")
    lines = lines.select_related("operation__route_revision__part", "unit__state", "unit__revision__part")
    return [LineHere(line, line.unit is None and not line.is_later, tuple(typed[line.n])) for line in lines]


def doubts_of_paper(said: Said) -> list[Refused]:
    """What is wrong with the line of paper that an entry was typed in from: somebody typed it in before."""
    if said.paper is None:
        return []
    rows = FromPaper.objects.filter(sheet=said.paper.sheet, line=said.paper.line).exclude(entry__key=said.key)
    words = "Line %(line)s of %(sheet)s was typed in before. Look at the sheet's page."
    facts = {"line": said.paper.line, "sheet": said.paper.sheet}
    return [Refused("typed-before", words, **facts)] if rows.exists() else []
