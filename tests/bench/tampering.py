"""Random changes behind the program's back, one at a time: verification must name every one."""

import random
import sys

from records.ledger.sealing import seal_all
from tests.bench.measuring import Row
from tests.records.ledger.filling import fill
from tests.records.ledger.tampering import hand


def bench(*, tiny: bool) -> list[Row]:
    """Changes named among changes made, in a book with rows in every table."""
    fill()
    seal_all()
    made = 5 if tiny else 1000
    named = 0
    with hand(random.Random(9162)) as owner_at_work:
        for change, faults in owner_at_work.changes(made):
            if change.is_named(faults):
                named += 1
            else:
                sys.stderr.write(f"not named: {change}, only {faults[:3]}\n")
    return [Row("tampering", named, made, "changes named / made", named / made, ">= 1")]
