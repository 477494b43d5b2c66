"""What the two trace commands have in common."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Any, ClassVar

from plant.catalogue.models import Part
from plant.people.queries import works_zone
from plant.times import read_time
from records.ledger.commands import GOOD, Answering, CannotAnswer
from records.ledger.marks import mark_at
from records.ledger.refusals import Refused
from records.trace.finding import code_of
from records.trace.queries import Answer, Asked
from records.trace.telling import told_answer, told_table


class Tracing(Answering):
    """A trace of one code, as known now or on a past moment."""

    name: ClassVar[str]

    def trace(self, code: str, asked: Asked) -> Answer:
        """The trace that the command makes."""
        raise NotImplementedError

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("code", metavar="CODE", help="any code of the house, old numbers too")
        parser.add_argument("--as-of", metavar="T", help="as known then: RFC 3339, or the works' clock")
        parser.add_argument("--ended", action="store_true", help="follow links that ended too")
        parser.add_argument(
            "--only", action="append", default=[], metavar="KIND", help="only this kind; lot: every lot"
        )
        parser.add_argument("--cut-off", metavar="SHARE", help="smallest share listed, else the works' setting")

    def answer(self, **options: Any) -> tuple[dict[str, Any], int]:
        try:
            told = options["as_of"]
            mark = None if told is None else mark_at(read_time(told, works_zone()))
            asked = Asked(mark, options["ended"], kinds_of(options["only"]), share_of(options["cut_off"]))
            answer = self.trace(code_of(options["code"]), asked)
        except Refused as refused:
            raise CannotAnswer(str(refused)) from refused
        return told_answer(self.name, answer, told), GOOD

    def table(self, answer: dict[str, Any]) -> str:
        return told_table(answer)


def kinds_of(named: Sequence[str]) -> tuple[str, ...]:
    """Kinds of part that are asked for. Raises ``CannotAnswer`` for a slip, which else would find nothing at all."""
    known = ("lot", *Part.Kind.values)
    for kind in named:
        if kind not in known:
            raise CannotAnswer(f"{kind} is no kind of part; write one of {', '.join(known)}.")
    return tuple(named)


def share_of(text: str | None) -> int | None:
    """A share between 0 and 1 in parts per billion. Raises ``CannotAnswer``."""
    if text is None:
        return None
    try:
        share = Decimal(text.replace(",", "."))
    except InvalidOperation:
        share = Decimal("nan")
    if not share.is_finite():
        raise CannotAnswer(f"{text} is no share; write it as 0.01.")
    if not 0 <= share <= 1:
        raise CannotAnswer(f"{text} is no share; it lies between 0 and 1.")
    return int(share * 10**9)
