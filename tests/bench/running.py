"""Which benches there are, how they are asked for and how they are shown."""

import json
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from dataclasses import asdict

from records.ledger.commands import columns
from tests.bench import act, tampering, verifying
from tests.bench.measuring import Row

BENCHES: dict[str, Callable[..., list[Row]]] = {
    "tampering": tampering.bench,
    "act": act.bench,
    "verify": verifying.bench,
}


def chosen(argv: list[str]) -> Namespace:
    """Options of the command line."""
    parser = ArgumentParser(prog="python -m tests.bench", description="Ours against a baseline, in one run.")
    parser.add_argument("--only", choices=BENCHES, action="append", dest="names", help="this one; may come again")
    parser.add_argument("--json", action="store_true", help="print one JSON list and nothing else")
    parser.add_argument("--tiny", action="store_true", help="so small that it only shows that a bench runs")
    asked = parser.parse_args(argv)
    asked.names = asked.names or list(BENCHES)
    return asked


def measured(name: str, *, tiny: bool) -> list[Row]:
    """Rows of one bench, in an empty database."""
    return BENCHES[name](tiny=tiny)


def as_table(rows: list[Row]) -> str:
    """The rows in columns."""
    cells = [
        (row.name, f"{row.ours:.4g}", f"{row.baseline:.4g}", row.unit, f"{row.ratio:.3g}", row.bar, row.verdict)
        for row in rows
    ]
    return columns(("name", "ours", "baseline", "unit", "ratio", "bar", "verdict"), cells)


def as_json(rows: list[Row]) -> str:
    """The rows as a JSON list."""
    return json.dumps([asdict(row) | {"verdict": row.verdict} for row in rows])
