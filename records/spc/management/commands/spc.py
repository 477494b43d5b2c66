"""Chart the readings of a file: limits, signals, spread and indices. Needs no database."""

from __future__ import annotations

from argparse import SUPPRESS, ArgumentParser, ArgumentTypeError
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from records.ledger.commands import BAD, GOOD, Answering, CannotAnswer, file_bytes
from records.ledger.refusals import Refused
from records.spc.capability import Band
from records.spc.columns import Chosen, single_readings, subgroups_across, subgroups_by_group, subgroups_by_size
from records.spc.reading import Table, read_table
from records.spc.report import answer_of, table_of
from records.spc.rules import DEFAULT_RULES, RULES, Rule
from records.spc.study import Study, Terms, study_individuals, study_subgroups
from records.spc.written import read_number, step_of

KINDS = ("individuals", "xbar-r")


def limit(text: str) -> Decimal:
    """A limit with decimal point or comma, exact as written."""
    number = read_number(text, ".")
    number = read_number(text, ",") if number is None else number
    if number is None:
        raise ArgumentTypeError(f"“{text}” is no number")
    return number


class Command(Answering):
    """``spc FILE --chart KIND``."""

    help = "Control chart of the readings in a text file: limits, signals, spread, and indices against a tolerance."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("file", metavar="FILE", help="text file (CSV) of readings")
        parser.add_argument("--chart", required=True, metavar="KIND", help=f"one of: {', '.join(KINDS)}")
        parser.add_argument("--column", action="append", default=[], metavar="NAME", help="column of the readings")
        parser.add_argument("--size", type=int, metavar="N", help="subgroups of N readings that follow each other")
        parser.add_argument("--group", metavar="NAME", help="subgroups of the rows with the same text in this column")
        parser.add_argument("--lower", type=limit, metavar="X", help="lower tolerance limit")
        parser.add_argument("--upper", type=limit, metavar="X", help="upper tolerance limit")
        parser.add_argument("--target", type=limit, metavar="X", help="value aimed at")
        parser.add_argument("--rules", metavar="LIST", help=f"rules by name, with commas: {', '.join(RULES)}")
        parser.add_argument("--freeze", type=int, metavar="N", help="limits from the first N points only")
        parser.add_argument("--zone", metavar="ZONE", help="time zone of times without offset, such as Europe/Rome")
        parser.add_argument("--count", help=SUPPRESS)

    def answer(self, **options: Any) -> tuple[dict[str, Any], int]:
        check_options(options)
        name = Path(options["file"]).name
        terms = terms_of(options)
        try:
            table = read_table(file_bytes(options["file"]), name)
            chosen = readings(table, options)
            study = study_of(chosen, options["chart"], terms)
        except Refused as refused:
            raise CannotAnswer(str(refused)) from refused
        aims = {side: options[side] for side in ("lower", "upper", "target")}
        answer = answer_of(study, chosen, name=name, aims=aims)
        is_bad = study.has_signal or answer["tolerance"]["outside"]
        return answer, BAD if is_bad else GOOD

    def table(self, answer: dict[str, Any]) -> str:
        return table_of(answer)


def check_options(options: dict[str, Any]) -> None:
    """Refuse options that don't go together or belong to a chart that isn't here."""
    kind = options["chart"]
    if kind not in KINDS:
        raise CannotAnswer(f"There is no chart of kind {kind} here; the kinds are: {', '.join(KINDS)}.")
    if options["count"] is not None:
        raise CannotAnswer("--count belongs to charts of counts, which are not here; leave it out.")
    if kind == "individuals" and (options["size"] is not None or options["group"]):
        raise CannotAnswer("--size and --group form subgroups; they belong to --chart xbar-r.")
    if options["size"] is not None and options["group"]:
        raise CannotAnswer("--size and --group both form subgroups; give one of them.")
    if options["size"] is not None and options["size"] < 2:
        raise CannotAnswer(f"A subgroup must hold at least 2 readings; --size is {options['size']}.")
    across = kind == "xbar-r" and options["size"] is None and not options["group"]
    if len(options["column"]) > 1 and not across:
        raise CannotAnswer("This chart takes its readings from one column; give --column once.")
    lower, upper = options["lower"], options["upper"]
    if lower is not None and upper is not None and lower >= upper:
        raise CannotAnswer(f"--lower must be below --upper; they are {lower} and {upper}.")


def terms_of(options: dict[str, Any]) -> Terms:
    """Band, rules and span of the limits as asked for."""
    lower, upper = (None if side is None else float(side) for side in (options["lower"], options["upper"]))
    return Terms(Band(lower, upper), rules_of(options["rules"]), options["freeze"])


def rules_of(listed: str | None) -> tuple[Rule, ...]:
    """Rules by name; without a list those that are the default."""
    if listed is None:
        return DEFAULT_RULES
    names = [name.strip() for name in listed.split(",") if name.strip()]
    unknown = [name for name in names if name not in RULES]
    if unknown or not names:
        raise CannotAnswer(
            f"There is no rule {', '.join(unknown) or 'in the list'}; the rules are: {', '.join(RULES)}."
        )
    return tuple(RULES[name] for name in dict.fromkeys(names))


def readings(table: Table, options: dict[str, Any]) -> Chosen:
    """The readings that the options mean, with times told in the zone asked for."""
    column = options["column"][0] if options["column"] else None
    if options["size"] is not None:
        chosen = subgroups_by_size(table, options["size"], column=column)
    elif options["group"]:
        chosen = subgroups_by_group(table, options["group"], column=column)
    elif options["chart"] == "xbar-r":
        chosen = subgroups_across(table, columns=options["column"])
    else:
        chosen = single_readings(table, column=column)
    return chosen.told_in(zone_of(options["zone"]))


def zone_of(name: str | None) -> ZoneInfo | None:
    """Time zone by its IANA name."""
    if name is None:
        return None
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as failure:
        raise CannotAnswer(f"There is no time zone {name}; write it like Europe/Rome.") from failure


def study_of(chosen: Chosen, kind: str, terms: Terms) -> Study:
    """The study of the readings; here their decimals become floats."""
    at = [place.at for place in chosen.places]
    known = [number for place in chosen.places for number in place.known]
    step = float(step_of(known))
    if kind == "individuals":
        values = [None if number is None else float(number) for place in chosen.places for number in place.readings]
        return study_individuals(values, at, step=step, terms=terms)
    rows = [[float(number) for number in place.known] for place in chosen.places]
    study = study_subgroups(rows, at, step=step, terms=terms)
    return replace(study, missing=sum(len(place.readings) for place in chosen.places) - len(known))
