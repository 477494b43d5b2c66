"""What was put right about units and what went into them: what was told before and what is told since."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from django.db.models import Q

from plant.quantities import print_share
from records.items.models import Link, Receipt
from records.items.queries import names_of
from records.items.reasons import reason_words
from records.ledger.marks import Mark
from records.ledger.patterns import Version
from records.steps.models import StepRecord
from records.trace.history import Correction, Measured


@dataclass(frozen=True)
class Corrected:
    """One correction: what it is about, with both values."""

    about: str
    correction: Correction


def corrections_of(
    units: Iterable[int], inside: Iterable[int], measured: list[Measured], mark: Mark
) -> list[Corrected]:
    """Everything that was put right, in order of time; a fixed number of queries."""
    found = [Corrected(f"{row.name} of {row.code}", change) for row in measured for change in row.corrections]
    found += _links({*units, *inside}, mark)
    found += _steps(list(units), mark)
    found += _receipts(list(inside), mark)
    return sorted(found, key=lambda one: (one.correction.at, one.about, one.correction.after))


def _links(children: set[int], mark: Mark) -> Iterator[Corrected]:
    rows = Link.objects.known(mark).filter(child__in=children)
    changed = rows.filter(version__gt=1).values("first_id")
    rows = rows.filter(Q(pk__in=changed) | Q(first__in=changed)).select_related("words", "entry__by__name_words")
    lines = _lines(rows)
    names = names_of({end for versions in lines for link in versions for end in (link.child_id, link.parent_id)}, mark)
    for versions in lines:
        for old, new in pairwise(versions):
            about = f"{names[new.child_id].code} made from {names[new.parent_id].code}"
            why = reason_words(new.reason) if new.reason else ""
            yield Corrected(about, _correction(_link_words(old), _link_words(new), why, new, new.words))


def _link_words(link: Link) -> str:
    if link.status == Version.Status.WITHDRAWN:
        return "withdrawn: it was never so"
    if link.status == Version.Status.ENDED:
        return "taken out: it was so until then"
    sure = "has it" if link.certainty == Link.Certainty.CONFIRMED else "can’t be ruled out"
    return sure if link.share_ppb is None else f"{sure}, share {print_share(link.share_ppb)}"


def _steps(units: list[int], mark: Mark) -> Iterator[Corrected]:
    rows = StepRecord.objects.known(mark).filter(unit__in=units)
    changed = rows.filter(version__gt=1).values("first_id")
    rows = rows.filter(Q(pk__in=changed) | Q(first__in=changed))
    rows = rows.select_related("operation", "unit__state", "entry__by__name_words")
    for versions in _lines(rows):
        for old, new in pairwise(versions):
            about = f"Step {new.operation.name} of {new.unit.code}"
            yield Corrected(about, _correction(_step_words(old), _step_words(new), "", new, None))


def _step_words(step: StepRecord) -> str:
    return "withdrawn" if step.status == Version.Status.WITHDRAWN else step.get_outcome_display()


def _receipts(lots: list[int], mark: Mark) -> Iterator[Corrected]:
    rows = Receipt.objects.known(mark).filter(item__in=lots)
    changed = rows.filter(version__gt=1).values("first_id")
    rows = rows.filter(Q(pk__in=changed) | Q(first__in=changed)).select_related(
        "item__state", "words", "entry__by__name_words"
    )
    for versions in _lines(rows):
        for old, new in pairwise(versions):
            before, after = _receipt_words(old), _receipt_words(new)
            yield Corrected(f"Delivery of {new.item.code}", _correction(before, after, "", new, new.words))


def _receipt_words(receipt: Receipt) -> str:
    if receipt.status == Version.Status.WITHDRAWN:
        return "withdrawn"
    good = f"good to {receipt.expires_on.isoformat()}" if receipt.expires_on else ""
    told = (receipt.written, receipt.supplier, receipt.supplier_lot, good)
    return ", ".join(word for word in told if word)


def _lines(rows: Iterable) -> list[list]:
    """Versions of each line, the first first."""
    lines: dict[int, list] = defaultdict(list)
    for row in sorted(rows, key=lambda row: (row.version, row.pk)):
        lines[row.line].append(row)
    return list(lines.values())


def _correction(before: str, after: str, why: str, row: Version, words: object) -> Correction:
    told = "; ".join(word for word in (why, str(words or "")) if word)
    at: datetime = row.entry.happened_at
    return Correction(before, after, told, row.entry.by.name, at)
