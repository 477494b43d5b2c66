"""Which columns of a table are the order, the readings and the subgroups, by rule and never by guess."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from zoneinfo import ZoneInfo

from records.ledger.refusals import Refused
from records.runs.reading.cells import is_blank, is_stamp
from records.spc.moments import told_moments
from records.spc.reading import Column, Problem, Table

TIME_WORDS = {"ambiguous-time": "comes twice", "no-such-time": "does not exist"}


@dataclass(frozen=True)
class Place:
    """One plotted place: what it is called, and the readings that belong to it, None where one is missing."""

    at: str
    readings: tuple[Decimal | None, ...]

    @property
    def known(self) -> tuple[Decimal, ...]:
        """The readings that are there."""
        return tuple(reading for reading in self.readings if reading is not None)


@dataclass(frozen=True)
class Chosen:
    """What is charted: columns of readings, the places in order, and what was wrong with their cells."""

    columns: tuple[Column, ...]
    places: tuple[Place, ...]
    problems: tuple[Problem, ...]
    timed: tuple[int, ...] = ()  # lines of the places where times name them

    def told_in(self, zone: ZoneInfo | None) -> Chosen:
        """The same with times told as RFC 3339, with offset where the zone is known."""
        if not self.timed:
            return self
        moments = told_moments([place.at for place in self.places], zone)
        places = tuple(replace(place, at=moment.told) for place, moment in zip(self.places, moments, strict=True))
        found = tuple(
            Problem(line, moment.trouble, f"Line {line}: {moment.told} {TIME_WORDS[moment.trouble]} in {zone}.")
            for line, moment in zip(self.timed, moments, strict=True)
            if moment.trouble
        )
        return Chosen(self.columns, places, _by_line(self.problems + found))


def single_readings(table: Table, *, column: str | None = None) -> Chosen:
    """One reading a place, from the column named or the only one of numbers.

    Refuses ``no-such-column``, ``no-numbers`` and ``several-columns``.
    """
    order = _order_column(table)
    if column:
        chosen = _called(table, column)
    else:
        chosen = _only(_candidates(table, order))
    labels = _labels(table, order, chosen)
    places = tuple(Place(at, (number,)) for at, number in zip(labels, chosen.numbers, strict=True))
    return Chosen((chosen,), places, _unreadable(table, (chosen,)), _timed(table, order))


def subgroups_across(table: Table, *, columns: Sequence[str] = ()) -> Chosen:
    """A subgroup a row, from the columns named or all of numbers that are left.

    Refuses ``no-such-column``, ``no-numbers`` and ``one-column``.
    """
    order = _order_column(table)
    chosen = tuple(_called(table, name) for name in columns) or tuple(_candidates(table, order))
    if not chosen:
        raise Refused("no-numbers", "The file has no column of numbers beside the order of the rows.")
    if len(chosen) == 1:
        raise Refused(
            "one-column",
            "Only one column (%(column)s) is left, so each subgroup would hold one reading; "
            "say how to form subgroups with --size or --group.",
            column=chosen[0].heading,
        )
    labels = _labels(table, order, chosen[0])
    rows = zip(labels, *(column.numbers for column in chosen), strict=True)
    places = tuple(Place(str(label), tuple(readings)) for label, *readings in rows)
    return Chosen(chosen, places, _unreadable(table, chosen), _timed(table, order))


def subgroups_by_size(table: Table, size: int, *, column: str | None = None) -> Chosen:
    """Subgroups of ``size`` readings that follow each other in one column."""
    single = single_readings(table, column=column)
    readings = [place.readings[0] for place in single.places]
    cut = [readings[start : start + size] for start in range(0, len(readings), size)]
    places = tuple(Place(str(number), tuple(row)) for number, row in enumerate(cut, 1))
    return Chosen(single.columns, places, single.problems)


def subgroups_by_group(table: Table, group: str, *, column: str | None = None) -> Chosen:
    """Subgroups of the readings with the same text in column ``group``, in the order in which they first appear."""
    by = _called(table, group)
    order = _order_column(table)
    chosen = _called(table, column) if column else _only([c for c in _candidates(table, order) if c is not by])
    groups: dict[str, list[Decimal | None]] = {}
    for name, number in zip(by.cells, chosen.numbers, strict=True):
        if name:
            groups.setdefault(name, []).append(number)
    places = tuple(Place(name, tuple(readings)) for name, readings in groups.items())
    return Chosen((chosen,), places, _unreadable(table, (chosen,)))


def _called(table: Table, name: str) -> Column:
    """The column that a person named; a heading as written goes before a name without its unit."""
    fits = [c for c in table.columns if c.is_called(name)]
    exact = [c for c in fits if c.heading == name.strip()]
    if len(exact or fits) == 1:
        return (exact or fits)[0]
    headings = ", ".join(c.heading for c in table.columns)
    if fits:
        raise Refused("several-columns", "More than one column is called %(name)s: %(all)s.", name=name, all=headings)
    raise Refused("no-such-column", "There is no column %(name)s; the columns are: %(all)s.", name=name, all=headings)


def _order_column(table: Table) -> Column | None:
    """A first column of whole numbers that rise by one, or of times; it must leave another column to be charted."""
    if len(table.columns) < 2:
        return None
    first = table.columns[0]
    cells = [cell for cell in first.cells if not is_blank(cell)]
    if cells and all(is_stamp(cell) for cell in cells):
        return first
    numbers = [(place, number) for place, number in enumerate(first.numbers) if number is not None]
    if len(numbers) < 2 or any(number != number.to_integral_value() for _, number in numbers):
        return None
    start_place, start = numbers[0]
    sound = len(numbers) == len(cells)
    return first if sound and all(number - start == place - start_place for place, number in numbers) else None


def _candidates(table: Table, order: Column | None) -> list[Column]:
    return [column for column in table.columns if column.is_numeric and column is not order]


def _only(columns: Sequence[Column]) -> Column:
    if not columns:
        raise Refused("no-numbers", "The file has no column of numbers beside the order of the rows.")
    if len(columns) > 1:
        raise Refused(
            "several-columns",
            "There are several columns of numbers: %(names)s. Name one with --column.",
            names=", ".join(column.heading for column in columns),
        )
    return columns[0]


def _labels(table: Table, order: Column | None, chosen: Column) -> list[str]:
    """What each place is called: the order, else a first column of texts that are all different, else its number."""
    if order is not None:  # times may come twice; a row that was set aside has none
        return [cell or f"line {line}" for cell, line in zip(order.cells, table.lines, strict=True)]
    first = table.columns[0]
    named = first is not chosen and not first.is_numeric
    if named and all(first.cells) and len(set(first.cells)) == len(first.cells):
        return list(first.cells)
    return [str(number) for number in range(1, len(table.lines) + 1)]


def _unreadable(table: Table, columns: Sequence[Column]) -> tuple[Problem, ...]:
    """A problem for each cell that holds something else than a number; an empty cell is a missing reading, no fault."""
    found = [
        Problem(
            line,
            "not-a-number",
            f"Line {line}: “{cell}” in {column.heading} is no number. Its place is left empty.",
        )
        for column in columns
        for line, cell, number in zip(table.lines, column.cells, column.numbers, strict=True)
        if number is None and cell
    ]
    return _by_line((*table.problems, *found))


def _by_line(problems: Sequence[Problem]) -> tuple[Problem, ...]:
    return tuple(sorted(problems, key=lambda problem: problem.line or 0))


def _timed(table: Table, order: Column | None) -> tuple[int, ...]:
    """Lines of the rows where the order is one of times."""
    return table.lines if order is not None and any(is_stamp(cell) for cell in order.cells) else ()
